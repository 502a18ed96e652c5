"""How two methods differ, step by step and set point by set point, and how two sets of targets do.

Steps are matched by their id, then by what they say. Which of them changed places is told by
aligning the order of the two methods; the same steps are named whichever method comes first.
Times and temperatures are compared as such: 60 min is 1 h.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, fields
from difflib import SequenceMatcher
from fractions import Fraction
from typing import Any, Literal, TypeVar

from labbook.model.fields import key_of
from labbook.model.formula import Step, Target
from labbook.model.quantities import Quantity

StepChangeWord = Literal["added", "removed", "moved", "changed"]
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class KeyChange:
    """One key with the text before and after; None where the key isn't there."""

    key: str
    before: str | None
    after: str | None

    def to_plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {"key": self.key, "from": self.before, "to": self.after}


@dataclass(frozen=True, slots=True, kw_only=True)
class StepChange:
    """A step that differs; places count from 1. A step that moved may have changed as well."""

    change: StepChangeWord
    step: str
    do: str
    keys: tuple[KeyChange, ...] = ()
    from_place: int | None = None
    to_place: int | None = None
    content: Step | None = None

    def to_plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "change": self.change,
            "step": self.step,
            "do": self.do,
            "keys": [key.to_plain() for key in self.keys],
            "from_place": self.from_place,
            "to_place": self.to_place,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetChange:
    """A target that differs."""

    change: Literal["added", "removed", "changed"]
    of: str
    reading: str
    keys: tuple[KeyChange, ...] = ()

    def to_plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "change": self.change,
            "of": self.of,
            "reading": self.reading,
            "keys": [key.to_plain() for key in self.keys],
        }


def values_of(record: Step | Target, *, without: Iterable[str] = ()) -> dict[str, Any]:
    """The keys that a record has, in the order of the format; set points one by one (`set A`)."""
    left_out = {*without}
    found: dict[str, Any] = {}
    for field in fields(record):
        value, key = getattr(record, field.name), key_of(field.name)
        if value is None or key in left_out:
            continue
        if isinstance(value, dict):
            found |= {f"{key} {name}": one for name, one in value.items()}
        else:
            found[key] = value
    return found


def meaning(value: Any) -> Hashable:
    """A value in a form that is equal where the meaning is: 60 min and 1 h, 4.8 and 4.80."""
    if isinstance(value, Quantity):
        return value.base
    if isinstance(value, int | float) or hasattr(value, "as_tuple"):
        return Fraction(value)
    return str(value)


def changed_keys(before: dict[str, Any], after: dict[str, Any]) -> tuple[KeyChange, ...]:
    """The keys whose meaning differs, in the order of the format."""
    keys = [
        key for key in before if key not in after or meaning(before[key]) != meaning(after[key])
    ]
    keys += (key for key in after if key not in before)
    return tuple(KeyChange(key, _text(before.get(key)), _text(after.get(key))) for key in keys)


def _text(value: Any) -> str | None:
    if value is None:
        return None
    return f"{value:f}" if hasattr(value, "as_tuple") else str(value)


# Steps -------------------------------------------------------------------------------------------


def method_difference(before: Sequence[Step], after: Sequence[Step]) -> tuple[StepChange, ...]:
    """The steps that differ, in the order of the later method; removed ones where they stood."""
    pairs = matched_steps(before, after)
    moved = _moved(pairs, before, after)
    found = [_paired(before[i], after[j], i, j, moved=(i, j) in moved) for i, j in pairs]
    old, new = {i for i, _ in pairs}, {j for _, j in pairs}
    changes = [one for one in found if one]
    changes += (_alone("removed", s, i, None) for i, s in enumerate(before) if i not in old)
    changes += (_alone("added", s, None, j) for j, s in enumerate(after) if j not in new)
    return tuple(sorted(changes, key=lambda c: (c.to_place or c.from_place or 0, not c.to_place)))


def matched_steps(before: Sequence[Step], after: Sequence[Step]) -> list[tuple[int, int]]:
    """Places of the same step in both methods: by id, then by content under another id."""
    pairs = _by_key(before, after, range(len(before)), range(len(after)), lambda step: step.id)
    old, new = {i for i, _ in pairs}, {j for _, j in pairs}
    rest_old = [i for i in range(len(before)) if i not in old]
    rest_new = [j for j in range(len(after)) if j not in new]
    return sorted(pairs + _by_key(before, after, rest_old, rest_new, _content))


def _content(step: Step) -> Hashable:
    values = values_of(step, without=("id", "note"))
    return frozenset((key, meaning(value)) for key, value in values.items())


def _by_key(
    before: Sequence[_T],
    after: Sequence[_T],
    old: Iterable[int],
    new: Iterable[int],
    key: Callable[[_T], Hashable],
) -> list[tuple[int, int]]:
    """Places with the same key; the first with the first where a key stands several times."""
    waiting: dict[Hashable, list[int]] = {}
    for j in new:
        waiting.setdefault(key(after[j]), []).append(j)
    return [(i, found.pop(0)) for i in old if (found := waiting.get(key(before[i])))]


def _moved(
    pairs: Sequence[tuple[int, int]], before: Sequence[Step], after: Sequence[Step]
) -> set[tuple[int, int]]:
    """The pairs that stand in another order; the same ones when the methods change places."""
    first = sorted(pairs)
    second = sorted(pairs, key=lambda pair: pair[1])
    ways = (_out_of_order(first, second), _out_of_order(second, first))

    def canonical(moved: set[tuple[int, int]]) -> tuple[int, list[list[str]]]:
        return len(moved), sorted(sorted((before[i].id, after[j].id)) for i, j in moved)

    return min(ways, key=canonical)


def _out_of_order(
    first: Sequence[tuple[int, int]], second: Sequence[tuple[int, int]]
) -> set[tuple[int, int]]:
    """What has to move to turn the first order into the second."""
    matcher = SequenceMatcher(None, first, second, autojunk=False)
    stayed = {
        pair for block in matcher.get_matching_blocks() for pair in first[block.a :][: block.size]
    }
    return set(first) - stayed


def _paired(before: Step, after: Step, i: int, j: int, *, moved: bool) -> StepChange | None:
    keys = changed_keys(values_of(before, without=("note",)), values_of(after, without=("note",)))
    if not keys and not moved:
        return None
    return StepChange(
        change="moved" if moved else "changed",
        step=after.id,
        do=after.do,
        keys=keys,
        from_place=i + 1,
        to_place=j + 1,
        content=after,
    )


def _alone(change: StepChangeWord, step: Step, i: int | None, j: int | None) -> StepChange:
    keys = tuple(
        KeyChange(key, _text(value) if j is None else None, _text(value) if i is None else None)
        for key, value in values_of(step, without=("id", "do", "note")).items()
    )
    return StepChange(
        change=change,
        step=step.id,
        do=step.do,
        keys=keys,
        from_place=None if i is None else i + 1,
        to_place=None if j is None else j + 1,
        content=step,
    )


# Targets -----------------------------------------------------------------------------------------


def _numbered(targets: Sequence[Target]) -> dict[tuple[str, str, int], Target]:
    """Targets by what they are of and the reading; a number tells repeated ones apart."""
    seen: Counter[tuple[str, str]] = Counter()
    found = {}
    for target in targets:
        key = (target.of, target.reading)
        found[(*key, seen[key])] = target
        seen[key] += 1
    return found


def target_difference(
    before: Sequence[Target], after: Sequence[Target]
) -> tuple[TargetChange, ...]:
    """The targets that differ, those that are gone last."""
    olds, news = _numbered(before), _numbered(after)
    found = []
    for key in [*news, *(key for key in olds if key not in news)]:
        old, new = olds.get(key), news.get(key)
        keys = changed_keys(
            values_of(old, without=("of", "reading")) if old else {},
            values_of(new, without=("of", "reading")) if new else {},
        )
        word: Literal["added", "removed", "changed"] = "changed"
        if old is None or new is None:
            word = "added" if old is None else "removed"
        elif not keys:
            continue
        found.append(TargetChange(change=word, of=key[0], reading=key[1], keys=keys))
    return tuple(found)
