"""Closed batches through history: what each held when it was closed, and what changed since.

A closed batch changes by corrections only, and corrections only grow.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from labbook.model.batch import Batch, Correction
from labbook.model.codec import to_json
from labbook.work.stories import Stage, flat

FREE = frozenset({"corrections", "dropped", "public"})
"""Fields that a closed batch may still gain or change."""

_LISTS = ("weighings", "readings", "deviations", "remarks", "steps", "lines", "corrections")
_ENTRY = {"lines": "line", "steps": "step"} | {key: key.removesuffix("s") for key in _LISTS[:4]}

Path = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """A value of a closed batch that is no longer what it was when it was closed.

    `steps` is the path of keys to it in the file of today (to its place where it was taken out).
    """

    steps: tuple[str | int, ...]
    what: str
    was: str
    now: str
    commit: str
    when: str


def since_closing(stages: list[Stage]) -> list[Stage]:
    """The stages from the one that closed the batch on; empty while it is open."""
    for index, stage in enumerate(stages):
        if isinstance(stage.record, Batch) and stage.record.state == "closed":
            return stages[index:]
    return []


def _guarded(record: Batch) -> dict[Path, str]:
    """The guarded content as flat JSON data, the order of each list included."""
    data = {key: value for key, value in to_json(record).items() if key not in FREE}
    found = dict(flat(data))
    for key in _LISTS:
        found[key, "", "order"] = ", ".join(entry["id"] for entry in data.get(key, ()))
    return found


def changes_of(stages: list[Stage], now: Batch | None) -> list[Change]:
    """What is different today from the batch as it was closed, with the commit that did it.

    Args:
        stages: the stages since closing.
        now: the batch as its file says today; None where the file is gone or unreadable.
    """
    if not stages or stages[0].record is None or now is None:
        return []
    closed, today = _guarded(stages[0].record), _guarded(now)
    found = []
    for path in _different(closed, today):
        was, is_ = _value(closed, path), _value(today, path)
        commit, when = _who_changed(stages, path, was, is_)
        found.append(Change(_steps(now, path), _words(path), was, is_, commit, when))
    found.extend(_lost_corrections(stages, now))
    return found


def _different(closed: dict[Path, str], today: dict[Path, str]) -> Iterator[Path]:
    """Paths that differ; an entry that is there on one side only is one path, not many."""
    told: set[Path] = set()
    for path in sorted(closed.keys() | today.keys()):
        if closed.get(path) == today.get(path):
            continue
        entry = path[:2]
        if path[0] in _LISTS and len(path) > 2:
            if path[1] == "":
                if _only_order(closed, today, path):
                    yield path
                continue
            if ((*entry, "id") in closed) != ((*entry, "id") in today):
                if entry not in told:
                    told.add(entry)
                    yield entry
                continue
        yield path


def _only_order(closed: dict[Path, str], today: dict[Path, str], path: Path) -> bool:
    return sorted(closed[path].split(", ")) == sorted(today[path].split(", "))


def _value(data: dict[Path, str], path: Path) -> str:
    """The text at a path; of a whole entry what it says, without its id and its surroundings."""
    if len(path) != 2 or path[0] not in _LISTS:
        return data.get(path, "")
    told = [
        text
        for key, text in data.items()
        if key[:2] == path and key[2:] not in (("id",), ("line",), ("time",), ("balance",))
    ]
    return ", ".join(told) or ("there" if (*path, "id") in data else "")


def _who_changed(stages: list[Stage], path: Path, was: str, now: str) -> tuple[str, str]:
    """The commit in which a value got what it is today; empty: not committed."""
    commit, when, before = "", "", was
    for stage in stages[1:]:
        if stage.record is None:
            continue
        value = _value(_guarded(stage.record), path)
        if value != before:
            commit, when = stage.commit, stage.when
        before = value
    return (commit, when) if before == now else ("", "")


def _first_corrections(stages: list[Stage]) -> dict[str, tuple[int, Correction]]:
    """Each correction as it was first written, with the stage that brought it."""
    found: dict[str, tuple[int, Correction]] = {}
    for index, stage in enumerate(stages):
        for correction in stage.record.corrections if stage.record else ():
            found.setdefault(correction.id, (index, correction))
    return found


def _lost_corrections(stages: list[Stage], now: Batch) -> Iterator[Change]:
    present = {c.id: (index, c) for index, c in enumerate(now.corrections)}
    contents = {_bare(c) for c in now.corrections}
    for id_, (index, first) in _first_corrections(stages).items():
        at, kept = present.get(id_, (None, None))
        # Where two machines had used one id, a merge gave one of the two another.
        if kept == first or _bare(first) in contents:
            continue
        commit, when = "", ""
        for stage in stages[index + 1 :]:
            if stage.record is None:
                continue
            then = next((c for c in stage.record.corrections if c.id == id_), None)
            # The last commit that brought what stands there today.
            if then == kept:
                commit, when = (commit, when) if commit else (stage.commit, stage.when)
            else:
                commit, when = "", ""
        told = "changed" if kept else "taken out"
        steps = ("corrections",) if at is None else ("corrections", at)
        yield Change(steps, f"correction {id_}", first.now or "", told, commit, when)


def _bare(correction: Correction) -> Correction:
    """A correction but for what it is called."""
    return replace(correction, id="c0")


def _steps(record: Batch, path: Path) -> tuple[str | int, ...]:
    """The path of keys in the file: ids become positions, field names become keys."""
    if path[2:] == ("order",):
        return (path[0],)
    steps: list[str | int] = []
    holder: Any = record
    for part in path:
        if isinstance(holder, tuple):
            index = next(
                (i for i, e in enumerate(holder) if getattr(e, "id", str(i)) == part), None
            )
            if index is None:
                break
            steps.append(index)
            holder = holder[index]
            continue
        steps.append(part)
        holder = holder.get(part) if isinstance(holder, dict) else getattr(holder, part, None)
    return tuple(steps)


def _words(path: Path) -> str:
    if path[2:] == ("order",):
        return f"the order of its {path[0]}"
    shown = [part.rstrip("_").replace("_", " ") for part in path]
    if len(shown) > 1 and path[0] in _ENTRY:
        return ", ".join([f"{_ENTRY[path[0]]} {path[1]}", *filter(None, [" ".join(shown[2:])])])
    return " ".join(shown)


def last_sound(stages: list[Stage]) -> Stage | None:
    """The newest stage that holds what the closing did, and every correction as first written."""
    if not stages or stages[0].record is None:
        return None
    closed = _guarded(stages[0].record)
    first = _first_corrections(stages)
    for index, stage in reversed(list(enumerate(stages))):
        if stage.record is None or _guarded(stage.record) != closed:
            continue
        held = {_bare(c) for c in stage.record.corrections}
        if all(_bare(one) in held for at, one in first.values() if at <= index):
            return stage
    return None
