"""How many of a kind failed until an age, and what that can say of all of that kind.

The unit is the batch, and batches that were split from one bulk are one; for a container or a place
it is the jar. Only what was made long enough ago is eligible, failed ones too: else an early
failure would count while its young sisters are left out. What is old enough and was not looked at
on the right days widens the bounds, as if it had held and as if it had failed: whether a look tells
depends on when it failed, so leaving it out would lean to one side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from labbook.evidence.statistics.exact import at_most_share, least_share, share
from labbook.evidence.statistics.intervals import Interval, interval
from labbook.model.batch import Batch
from labbook.model.results.looking import (
    DAYS,
    FAILED,
    NOT_WATCHED,
    BatchOutcome,
    Count,
    JarOutcome,
)


@dataclass(frozen=True, slots=True)
class Unit:
    """What counts once: a bulk or a jar, when it failed, and how long ago it was made (days)."""

    name: str
    fate: Interval | None
    age: float


def bulk_of(batch: Batch, batches: Mapping[str, Batch]) -> str:
    """The batch that a batch was split from, through all splits; itself where it was not split."""
    seen = {batch.id}
    while True:
        split = next((one.batch for one in batch.from_ if one.how == "split"), "")
        if not split or split in seen or split not in batches:
            return split if split and split not in seen else batch.id
        seen.add(split)
        batch = batches[split]


def units_of(outcomes: Iterable[tuple[str, float, BatchOutcome | JarOutcome]]) -> list[Unit]:
    """One unit for each key: of several outcomes under it the earliest failure, the shortest watch.

    Args:
        outcomes: the key (a bulk, a jar), the age in days, and what became of it.
    """
    held: dict[str, list[tuple[float, BatchOutcome | JarOutcome]]] = {}
    for key, age, outcome in outcomes:
        held.setdefault(key, []).append((age, outcome))
    found = []
    for key, mine in held.items():
        watched = [one for _, one in mine if one.state != NOT_WATCHED]
        failed = min((o.first_failed for o in watched if o.first_failed is not None), default=None)
        lows = [o.last_intact for o in watched if o.last_intact is not None]
        known = lows if len(lows) == len(watched) else []
        low = min((x for x in known if failed is None or x < failed), default=None)
        fate = interval(low, failed, key)
        found.append(Unit(key, fate, max(age for age, _ in mine)))
    return found


def count(
    units: Sequence[Unit], *, what: str, condition: str, group: str, unit: str, least: float = 0.0
) -> Count | None:
    """How many failed by the age at which most of them are decided; None where nobody looked.

    Args:
        units: what is counted.
        what: `batches` or `jars`.
        condition: where they stood.
        group: the group of failure; empty for any.
        unit: days, cycles, or a run in a centrifuge.
        least: an age that is not undercut where a unit was watched that long, so that one young
            batch doesn't make the others look as young.
    """
    fates = [one.fate for one in units if one.fate is not None]
    ages = {end for one in fates for end in (one.low, one.high) if end is not None}
    if not ages:
        return None
    late = {age for age in ages if age >= least} or ages

    def decided(age: float) -> tuple[int, float]:
        told = _told_apart(units, age, unit)
        return (len(told.failed) + len(told.survived) - len(told.open), age)

    until = max(late, key=decided)
    told = _told_apart(units, until, unit)
    failed, survived = told.failed, told.survived
    apart = {*told.open, *told.young}
    of = len(failed) + len(survived)
    if not of:
        return None
    low, high = _bounds(len(failed), of, len(told.open))
    later = [one.name for one in survived if one.fate is not None and one.fate.failed]
    return Count(
        condition=condition,
        group=group,
        unit=unit,
        what=what,
        until=until,
        failed=len(failed),
        of=of,
        low=low,
        high=high,
        undecided=tuple(one.name for one in units if one in apart),
        widened=len(told.open),
        later=tuple(later),
    )


@dataclass(frozen=True, slots=True)
class _Told:
    """Units at an age: failed by then, held until then, old enough but not known, and the rest."""

    failed: list[Unit]
    survived: list[Unit]
    open: list[Unit]
    young: list[Unit]


def _told_apart(units: Sequence[Unit], until: float, unit: str) -> _Told:
    told = _Told([], [], [], [])
    for one in units:
        if one.fate is None or (unit == DAYS and one.age < until):
            told.young.append(one)
        elif one.fate.high is not None and one.fate.high <= until:
            told.failed.append(one)
        elif one.fate.low >= until:
            told.survived.append(one)
        else:
            told.open.append(one)
    return told


def _bounds(failed: int, of: int, open_: int) -> tuple[float, float]:
    """One-sided bounds where none or all failed, else two that hold together; at 95 %.

    Those that are not known count as intact for the lower one and as failed for the upper one.
    """
    every = of + open_
    if failed == 0:
        return 0.0, at_most_share(open_, every)
    if failed == of:
        return least_share(failed, every), 1.0
    return share(failed, every).low, share(failed + open_, every).high


def failing_groups(outcomes: Iterable[BatchOutcome]) -> tuple[str, ...]:
    """The groups in which any of the outcomes failed, in the order of groups."""
    return tuple(dict.fromkeys(one.group for one in outcomes if one.state == FAILED))
