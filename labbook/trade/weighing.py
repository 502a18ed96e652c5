"""What was really weighed into a batch, read from its entries with corrections applied.

Not weighed is not zero: a line without a weighing is None in every figure. All masses are in g,
exactly, whatever unit was written.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from labbook.model.batch import Batch, BatchLine, Correction, Weighing
from labbook.model.quantities import QuantityError, parse_quantity
from labbook.trade.composition import Finding
from labbook.trade.standing import standing

_WORDS = frozenset({"line", "ingredient", "phase", "lot", "batch", "balance", "struck", "note"})


@dataclass(frozen=True, slots=True)
class Entry:
    """A weighing as it stands after corrections. `mass` is None where a correction can't be read.

    `corrections` are the ids of what changed it; `first` is the entry as written at the bench.
    `later` marks a weight that only a correction tells: nothing was written down at the bench.
    """

    now: Weighing
    first: Weighing
    mass: Fraction | None
    corrections: tuple[str, ...] = ()
    later: bool = False

    @property
    def counts(self) -> bool:
        """Whether it went into the vessel: a struck weighing did not."""
        return self.now.struck is None


@dataclass(frozen=True, slots=True)
class Weighed:
    """What lies in the vessel, in g.

    `lines` has every line of the batch by its id, None where nothing that counts was weighed.
    `unplanned` are entries that no line foresaw. `corrected` names the lines whose mass, or whether
    it counts, rests on a correction; `as_target` those that were taken as the target, not read.
    """

    lines: Mapping[str, Fraction | None]
    unplanned: tuple[Entry, ...]
    corrected: frozenset[str]
    as_target: frozenset[str]
    problems: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """A line's mass against its target, in g; `over` is below zero for too little.

    None where there is no target or nothing was weighed. What an adjuster really took is no
    departure: `expected_only` marks it, and the q.s. line, which balances it, is measured against
    the nearer end between its target and what the adjusters left of it.
    """

    line: str
    ingredient: str
    target: Fraction | None
    mass: Fraction | None
    over: Fraction | None
    expected_only: bool = False


def entries(batch: Batch) -> tuple[tuple[Entry, ...], tuple[Finding, ...]]:
    """All weighings, struck ones too, as they stand after the batch's corrections, in order.

    A correction names the weighing (`of`), the key and what it is `now`; the last one holds. Its
    `now` may leave the unit out, then it is g. An empty `now` takes a strike or another word away.
    """
    found: list[Entry] = []
    problems: list[Finding] = []
    told = {correction.id for correction in batch.corrections}
    for weighing in standing(batch).weighings:
        own = [one for one in batch.corrections if one.of == weighing.id and one.key]
        late = (weighing.id,) if weighing.id in told else ()
        entry = Entry(weighing, weighing, weighing.mass.exact("g"), late, later=bool(late))
        for correction in own:
            entry, problem = _corrected(entry, correction)
            problems += problem
        found.append(entry)
    return tuple(found), tuple(problems)


def _corrected(entry: Entry, correction: Correction) -> tuple[Entry, list[Finding]]:
    """The entry after one correction; a mass that can't be read leaves the mass unknown."""
    ids = (*entry.corrections, correction.id)
    now = (correction.now or "").strip()
    if correction.key in _WORDS:
        change: dict[str, Any] = {correction.key: now or None}
        return replace(entry, now=replace(entry.now, **change), corrections=ids), []
    if correction.key != "mass":
        return entry, []
    try:
        mass = parse_quantity(now, "mass", default="g")
    except QuantityError as error:
        what = f"correction {correction.id} of {entry.now.id}: {error}"
        mend = "write the mass that was meant, like 12.40 g"
        problem = Finding("correction-unreadable", what, mend=mend)
        return replace(entry, mass=None, corrections=ids), [problem]
    weighing = replace(entry.now, mass=mass, as_target=None)
    return replace(entry, now=weighing, mass=mass.exact("g"), corrections=ids), []


def weighed(batch: Batch) -> Weighed:
    """The masses of a batch: per line the sum of its weighings that aren't struck."""
    found, problems = entries(batch)
    known = {line.id for line in batch.lines}
    counting = [entry for entry in found if entry.counts]
    lost = [e for e in counting if e.now.line is not None and e.now.line not in known]
    touched = [e for e in found if e.corrections and _changes_mass(e)]
    return Weighed(
        lines={line.id: _sum_of(line.id, counting) for line in batch.lines},
        unplanned=tuple(entry for entry in counting if entry.now.line not in known),
        corrected=frozenset(
            line
            for e in touched
            for line in (e.now.line, e.first.line)
            if line is not None and line in known
        ),
        as_target=frozenset(e.now.line for e in counting if e.now.as_target and e.now.line),
        problems=(*problems, *map(_lost_line, lost)),
    )


def _changes_mass(entry: Entry) -> bool:
    """Whether corrections changed what a line holds."""
    first, now = entry.first, entry.now
    return (
        entry.later
        or entry.mass != first.mass.exact("g")
        or now.line != first.line
        or (now.struck is None) != (first.struck is None)
    )


def _lost_line(entry: Entry) -> Finding:
    what = f"weighing {entry.now.id} is of line {entry.now.line}, which the batch doesn't have"
    mend = "name one of the batch's lines, or the ingredient if no line foresaw it"
    return Finding("weighing-of-unknown-line", what, mend=mend)


def _sum_of(line: str, counting: Iterable[Entry]) -> Fraction | None:
    masses = [entry.mass for entry in counting if entry.now.line == line]
    known = [mass for mass in masses if mass is not None]
    return sum(known, Fraction()) if masses and len(known) == len(masses) else None


def differences(batch: Batch) -> tuple[Difference, ...]:
    """Each line's mass against its target, in the order of the batch."""
    masses = weighed(batch).lines
    plain = [_difference(line, masses[line.id]) for line in batch.lines]
    surplus = sum((one.over or Fraction() for one in plain if one.expected_only), Fraction())
    filling = {line.id for line in batch.lines if line.qs}
    return tuple(_balanced(one, surplus) if one.line in filling else one for one in plain)


def _difference(line: BatchLine, mass: Fraction | None) -> Difference:
    target = None if line.target is None else line.target.exact("g")
    over = None if target is None or mass is None else mass - target
    return Difference(line.id, line.ingredient, target, mass, over, line.adjust is not None)


def _balanced(filling: Difference, surplus: Fraction) -> Difference:
    """The q.s. line, where the adjusters took `surplus` more than expected in all.

    A maker who held some back used that much less of it, one who didn't used it all; what lies
    between the two is as meant.
    """
    if filling.over is None:
        return filling
    low, high = min(Fraction(), -surplus), max(Fraction(), -surplus)
    over = filling.over
    if low <= over <= high:
        return replace(filling, over=Fraction())
    return replace(filling, over=over - (high if over > high else low))
