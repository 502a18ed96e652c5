"""What failed, in which condition, and until when the other batches are watched.

The horizon is `--until`, else the latest age that the pair allows at which most batches are decided
(failed, or seen intact that long); of equal ones the earliest. It is at least the failed batch's
first failed look, at most the good one's last intact look, the acceptance time and the age of both.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from labbook.evidence.book import Book
from labbook.evidence.factors.types import Event, Seen
from labbook.evidence.failure import GROUPS, condition_key
from labbook.evidence.outcomes import in_condition, in_order_of_telling
from labbook.evidence.sightings import BULK, combined_at
from labbook.model.batch import Batch
from labbook.model.moments import day_of
from labbook.model.results.looking import CYCLES, DAYS, FAILED, INTACT, BatchOutcome

RUN = "run"
TOO_YOUNG, NOT_WATCHED = "too young", "not watched"
_RUNS = ("centrifuge",)


@dataclass(frozen=True, slots=True)
class Fate:
    """One unit in one condition, for one group: last intact, first failed, how, and its age."""

    unit: str
    batch: str
    last_intact: float | None
    first_failed: float | None
    modes: tuple[str, ...] = ()
    making: bool = False
    age: float = 0.0
    ended_by: str = ""
    wanted: float | None = None


def unit_of(condition: str, outcome: BatchOutcome | None) -> str:
    """What time is counted in: days, cycles, or nothing for a run of a centrifuge."""
    if condition_key(condition).startswith(_RUNS):
        return RUN
    return outcome.unit if outcome is not None else DAYS


def fate_of(book: Book, batch: Batch, condition: str, group: str, jar: str = "") -> Fate | None:
    """What became of a batch, or one jar of it; None where nobody watched it in that condition.

    A failure while making counts at time 0, in every condition.
    """
    all_ = book.outcomes_in(batch, condition)
    here = [one for one in in_condition(all_, condition) if one.group == group]
    making = next((o for o in all_ if o.group == group and o.while_making), None)
    outcome = here[0] if here else making
    age = float(max(0, (book.today - day_of(combined_at(batch))).days))
    if making is not None and not jar:
        return Fate(batch.id, batch.id, None, 0.0, making.modes, True, age)
    if outcome is None:
        return None
    if jar:
        mine = next((one for one in outcome.by_jar if one.jar == jar), None)
        if mine is None or mine.state not in (FAILED, INTACT):
            return None
        return Fate(jar_unit(batch, jar), batch.id, mine.last_intact, mine.first_failed,
                    mine.modes, False, age, mine.ended_by, outcome.wanted_until)  # fmt: skip
    if outcome.state not in (FAILED, INTACT):
        return None
    ended = next((one.ended_by for one in outcome.by_jar if one.ended_by), "")
    return Fate(batch.id, batch.id, outcome.last_intact, outcome.first_failed, outcome.modes,
                False, age, ended, outcome.wanted_until)  # fmt: skip


def jar_unit(batch: Batch, jar: str) -> str:
    """The unit that one jar is: `SBC-260109-4M.1`."""
    return f"{batch.id}.{jar}"


def failures(book: Book, batch: Batch) -> tuple[BatchOutcome, ...]:
    """A batch's failures, in the order of telling: by condition, then by age and group."""
    if not book.may_have_failed(batch):
        return ()
    failed = [one for one in book.outcomes(batch) if one.state == FAILED]
    order = [condition_key(c) for c in in_order_of_telling(one.condition for one in failed)]
    groups = tuple(GROUPS)
    return tuple(
        sorted(
            failed,
            key=lambda one: (
                order.index(condition_key(one.condition)),
                one.first_failed or 0.0,
                groups.index(one.group),
            ),
        )
    )


def seen_failed_on(book: Book, outcome: BatchOutcome) -> date:
    """When a failure was first seen; the day of the look where its condition counts in days."""
    batch = book.batches[outcome.batch]
    start = day_of(combined_at(batch))
    if outcome.unit != DAYS:
        days = [jar.last_look for jar in outcome.by_jar if jar.last_look and jar.first_failed]
        return max(days, default=start)
    return date.fromordinal(start.toordinal() + int(outcome.first_failed or 0))


def usual_condition(book: Book, batches: Iterable[Batch]) -> str:
    """The condition that speaks for these batches: the first in the order of telling."""
    names = [one.condition for batch in batches for one in book.outcomes(batch)]
    return next((n for n in in_order_of_telling(names) if n != BULK), BULK)


# Until when --------------------------------------------------------------------------------------


def furthest(failed: Fate, good: Fate | None, unit: str) -> float:
    """The furthest horizon that a pair allows."""
    least = failed.first_failed or 0.0
    ends = []
    if good is not None and good.last_intact is not None:
        ends.append(good.last_intact)
    ends += [one.wanted for one in (failed, good) if one is not None and one.wanted is not None]
    if unit == DAYS:
        ends += [one.age for one in (failed, good) if one is not None]
    return max(least, min(ends, default=least))


def best_horizon(fates: Sequence[Fate], failed: Fate, most: float, unit: str) -> float:
    """The age between the failed batch's and the furthest at which most batches are decided."""
    least = failed.first_failed or 0.0
    points = {f.first_failed for f in fates if f.first_failed is not None} | {least}
    allowed = sorted(p for p in points if least <= p <= most)

    def decided(horizon: float) -> int:
        event = Event(group="", condition="", unit=unit, horizon=horizon)
        return sum(1 for f in fates if state_at(f, event) in (FAILED, INTACT))

    return max(allowed, key=lambda p: (decided(p), -p))


def state_at(fate: Fate, event: Event) -> str:
    """`failed`, `intact`, `later` (failed after the horizon), `too young` or `undecided`."""
    horizon = event.horizon
    if event.unit == RUN:
        return FAILED if fate.first_failed is not None else INTACT
    if event.unit == DAYS and fate.age < horizon:
        return TOO_YOUNG
    if fate.first_failed is not None:
        if fate.first_failed <= horizon:
            return FAILED
        return "later" if (fate.last_intact or 0.0) >= horizon else "undecided"
    if fate.last_intact is not None and fate.last_intact >= horizon:
        return INTACT
    if event.unit == DAYS and fate.age <= horizon and not fate.ended_by:
        return TOO_YOUNG
    return "undecided"


# In words ----------------------------------------------------------------------------------------


def point_words(point: float, unit: str) -> str:
    """`day 7`, `cycle 2`, `5 hours`."""
    if unit == CYCLES:
        return f"cycle {point:g}"
    if 0 < point < 1:
        return f"{point * 24:.0f} hours"
    return f"day {point:g}"


def fate_words(fate: Fate, event: Event) -> str:
    """What became of a unit, in a few words."""
    if fate.making:
        return "failed while it was made"
    if event.unit == RUN:
        return "failed" if fate.first_failed is not None else "passed the run without a change"
    unit, low = event.unit, fate.last_intact
    if fate.first_failed is not None:
        by = point_words(fate.first_failed, unit)
        return f"failed between {point_words(low, unit)} and {by}" if low else f"failed by {by}"
    words = f"intact on {point_words(low or 0.0, unit)}"
    return f"{words}, then {fate.ended_by} ended the watching" if fate.ended_by else words


def seen(fate: Fate, event: Event) -> Seen:
    """A unit that counts."""
    state = state_at(fate, event)
    return Seen(
        fate.unit,
        fate.batch,
        "failed" if state == FAILED else "intact" if state == INTACT else "undecided",
        fate_words(fate, event),
    )
