"""What failed batches share and intact ones lack: single features and pairs, with four counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from labbook.evidence.book import Book
from labbook.evidence.factors.features import Feature
from labbook.evidence.factors.formula import counted, gathered
from labbook.evidence.factors.types import Event, Seen

MOST_FEATURES = 60
"""Features that are tried in pairs; the ones that single out failure best go first."""


@dataclass(frozen=True, slots=True)
class Common:
    """One thing that a batch has or lacks: what it is about, and the value."""

    key: tuple[str, ...]
    what: str
    text: str
    sheets: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedBy:
    """A feature, or two together, with the failed and intact batches that have it or not.

    `unknown` are the units of which it can't be said. `alike` are other features (or pairs) that
    are so of exactly the same units.
    """

    parts: tuple[Common, ...]
    bad_with: tuple[str, ...]
    bad_without: tuple[str, ...]
    good_with: tuple[str, ...]
    good_without: tuple[str, ...]
    unknown: tuple[str, ...] = ()
    alike: tuple[tuple[Common, ...], ...] = ()

    @property
    def counts(self) -> tuple[int, int, int, int]:
        """Failed with, failed without, intact with, intact without."""
        return (
            len(self.bad_with),
            len(self.bad_without),
            len(self.good_with),
            len(self.good_without),
        )

    @property
    def clean(self) -> bool:
        """Whether all failed ones have it and no intact one has."""
        return not self.bad_without and not self.good_with


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """What goes with failure over all batches of a formula, best first."""

    event: Event
    singles: tuple[SharedBy, ...]
    pairs: tuple[SharedBy, ...]
    rows: tuple[Seen, ...]
    left_out: tuple[tuple[str, str], ...]
    later: tuple[str, ...]
    tried: int
    codes: tuple[str, ...] = ()
    modes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Bits:
    """A feature over the units: those that have it and those that lack it, as bits."""

    parts: tuple[Common, ...]
    has: int
    lacks: int


def shared(
    book: Book,
    code: str,
    *,
    until: float | None = None,
    condition: str = "",
    group: str = "",
    pairs: bool = True,
) -> Shared:
    """What the failed batches of a formula and its kin share, and the intact ones lack.

    Args:
        book: the notebook.
        code: the formula's.
        until: the horizon in days (or cycles); None chooses it.
        condition: where; empty takes the one in which most failed.
        group: the group of failure; empty takes the one in which most failed there.
        pairs: also two features together, where they say more than either alone.

    Raises:
        UnknownName: no formula of that code.
        Unclear: none of its batches failed, or none by then.
    """
    found = gathered(book, code, until, condition, group)
    features, rows, twins = counted(book, found)
    units = [row.unit for row in rows]
    bad = _mask(row.state == "failed" for row in rows)
    good = _mask(row.state == "intact" for row in rows)
    bits = [_bits(one, units) for one in features]
    singles = sorted(
        (one for one in bits if _gain(one, bad, good) > 0), key=lambda one: _order(one, bad, good)
    )
    both = _pairs(singles[:MOST_FEATURES], bad, good) if pairs else []
    return Shared(
        event=found.event,
        singles=_told(singles, bad, good, units),
        pairs=_told(both, bad, good, units),
        rows=tuple(rows),
        left_out=(*found.left_out, *twins),
        later=found.later,
        tried=len(bits),
        codes=tuple(sorted({book.batches[row.batch].formula.code for row in rows})),
        modes=found.modes,
    )


def _mask(flags: Iterable[bool]) -> int:
    return sum(1 << i for i, flag in enumerate(flags) if flag)


def _bits(feature: Feature, units: Sequence[str]) -> _Bits:
    sides = [feature.sides[unit].side for unit in units]
    common = Common(feature.key, feature.diff.what, feature.text, feature.diff.sheets)
    return _Bits(
        (common,), _mask(s is True for s in sides), _mask(s is False for s in sides)
    )  # fmt: skip


def _gain(one: _Bits, bad: int, good: int) -> float:
    """Share of the failed that have it, less the share of the intact that have it."""
    return _share(one, bad) - _share(one, good)


def _share(one: _Bits, which: int) -> float:
    known = ((one.has | one.lacks) & which).bit_count()
    return (one.has & which).bit_count() / known if known else 0.0


def _order(one: _Bits, bad: int, good: int) -> tuple[float, int, tuple[tuple[str, ...], ...]]:
    known = ((one.has | one.lacks) & (bad | good)).bit_count()
    return (-_gain(one, bad, good), -known, tuple(part.key for part in one.parts))


def _pairs(singles: Sequence[_Bits], bad: int, good: int) -> list[_Bits]:
    """Two features together that single out failure better than either of them alone."""
    found = []
    for one, other in combinations(singles, 2):
        if one.parts[0].key[:2] == other.parts[0].key[:2]:
            continue
        both = _Bits((*one.parts, *other.parts), one.has & other.has, one.lacks | other.lacks)
        alone = max(_gain(one, bad, good), _gain(other, bad, good))
        if _gain(both, bad, good) > alone + 1e-9:
            found.append(both)
    return sorted(found, key=lambda one: _order(one, bad, good))


def _told(
    found: Sequence[_Bits], bad: int, good: int, units: Sequence[str]
) -> tuple[SharedBy, ...]:
    """Features of the same units as one, the first of them in front."""
    groups: dict[tuple[int, int], list[_Bits]] = {}
    for one in found:
        groups.setdefault((one.has & (bad | good), one.lacks & (bad | good)), []).append(one)

    def names(mask: int) -> tuple[str, ...]:
        return tuple(unit for i, unit in enumerate(units) if mask >> i & 1)

    return tuple(
        SharedBy(
            parts=group[0].parts,
            bad_with=names(has & bad),
            bad_without=names(lacks & bad),
            good_with=names(has & good),
            good_without=names(lacks & good),
            unknown=names((bad | good) & ~(has | lacks)),
            alike=tuple(one.parts for one in group[1:]),
        )
        for (has, lacks), group in groups.items()
    )
