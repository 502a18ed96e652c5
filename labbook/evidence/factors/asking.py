"""Asks a pair: which failure, which good batch, what differs, and where every batch stands."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from labbook.evidence.book import Book
from labbook.evidence.factors.building import built
from labbook.evidence.factors.event import (
    RUN,
    Fate,
    best_horizon,
    failures,
    fate_of,
    furthest,
    jar_unit,
    point_words,
    seen_failed_on,
    state_at,
    unit_of,
    usual_condition,
)
from labbook.evidence.factors.nearest import Candidate, chosen, jars_in, traits_of_jars
from labbook.evidence.factors.profile import profile_of
from labbook.evidence.factors.trade import Trade
from labbook.evidence.factors.types import Event, Question
from labbook.evidence.failure import condition_key
from labbook.evidence.sightings import BULK
from labbook.model.batch import Batch
from labbook.model.errors import Unclear, UnknownName
from labbook.model.moments import in_order
from labbook.model.results.looking import DAYS, BatchOutcome


@dataclass(frozen=True, slots=True)
class Named:
    """A batch, or one of its jars."""

    batch: Batch
    jar: str = ""

    @property
    def unit(self) -> str:
        """The unit that it is."""
        return jar_unit(self.batch, self.jar) if self.jar else self.batch.id


def ask(
    book: Book,
    failed: str = "",
    good: str = "",
    *,
    until: float | None = None,
    condition: str = "",
    group: str = "",
) -> Question:
    """Which differences can be the cause of one failure, with every batch that says something.

    Args:
        book: the notebook.
        failed: id of the failed batch (of a jar: id, point, jar); empty takes the latest failure
            that isn't of a batch made to answer an earlier question.
        good: id of the good one; empty takes the nearest that was watched long enough. Two named
            ones are taken in either order.
        until: the horizon in days (or cycles); None chooses it.
        condition: where; empty takes the first in which the failed batch failed.
        group: the group of failure; empty takes the one that failed first there.

    Raises:
        UnknownName: a batch that the book doesn't hold, or a dropped one.
        Unclear: nothing failed, no good batch was watched long enough, or the horizon is before
            the failure.
    """
    names = [_named(book, one) for one in (failed, good) if one]
    if len(names) == 2 and names[0].unit == names[1].unit:
        raise Unclear("A batch can't be held against itself.", mend="Name another good batch.")
    orders: list[tuple[Named, Named | None]] = []
    if len(names) == 2:
        orders = [(names[0], names[1]), (names[1], names[0])]
    if not orders:
        bad = names[0] if failed else Named(_latest(book, condition, group))
        orders = [(bad, names[0] if good else None)]
    why = ""
    for bad, fine in orders:
        for outcome in _outcomes(book, bad.batch, condition, group):
            where = _where(book, bad.batch, outcome, condition)
            found, why_not = _try(book, bad, fine, where, outcome.group, until)
            if found is not None:
                return found
            why = why or why_not
    bad = orders[0][0]
    raise Unclear(
        why or f"{bad.batch.short} hasn't failed{f' in {condition}' if condition else ''}.",
        mend=f"What was seen: labbook outcomes {bad.batch.formula.code}",
    )


def _named(book: Book, typed: str) -> Named:
    batch = book.batches.get(typed)
    jar = ""
    if batch is None:
        name, _, jar = typed.rpartition(".")
        batch = book.batches.get(name)
    if batch is None:
        raise UnknownName(f"The notebook has no batch {typed}.", mend="See all: labbook batch list")
    if batch.dropped:
        raise UnknownName(
            f"{batch.short} was dropped: {batch.dropped.why}.",
            mend=f"What it holds: labbook show {batch.short.lower()}",
        )
    return Named(batch, jar)


def _outcomes(book: Book, batch: Batch, condition: str, group: str) -> list[BatchOutcome]:
    """A batch's failures that are meant, the first to be told of first."""
    key = condition_key(condition)
    return [
        one
        for one in failures(book, batch)
        if (not group or one.group == group)
        and (not key or condition_key(one.condition) == key or one.while_making)
    ]


def _latest(book: Book, condition: str, group: str) -> Batch:
    """The batch whose failure was seen last; of those made to answer a question only if no other.

    A trial that failed, or the repeat beside it, is an answer to the question that stands already.
    """
    suspects = sorted(book.suspects(), reverse=True)
    for asked in (False, True):
        if (found := _last_of(book, suspects, condition, group, asked=asked)) is not None:
            return found
    raise Unclear("No batch has failed.", mend="What was seen so far: labbook outcomes CODE")


def _last_of(
    book: Book, suspects: list[tuple[date, str]], condition: str, group: str, *, asked: bool
) -> Batch | None:
    """The one whose failure was seen last, among those made to answer a question or the others."""
    best: tuple[date, datetime, str] | None = None
    for latest, id_ in suspects:
        if best is not None and latest < best[0]:
            break
        batch = book.batches[id_]
        if batch.dropped or bool(batch.asks) != asked:
            continue
        for outcome in _outcomes(book, batch, condition, group)[:1]:
            found = (seen_failed_on(book, outcome), in_order(batch.made), id_)
            best = found if best is None else max(best, found)
    return None if best is None else book.batches[best[2]]


def _where(book: Book, batch: Batch, outcome: BatchOutcome, condition: str) -> str:
    """The condition of the question; what failed in the pot is asked about where others stand."""
    if condition:
        return condition
    if outcome.while_making and condition_key(outcome.condition) == BULK:
        return usual_condition(book, book.kin(book.lineage(None, batch.formula.id)))
    return outcome.condition


def _try(
    book: Book, bad: Named, fine: Named | None, condition: str, group: str, until: float | None
) -> tuple[Question | None, str]:
    """The question for one condition and group; else why it can't be asked there."""
    fate = fate_of(book, bad.batch, condition, group, bad.jar)
    if fate is None or fate.first_failed is None:
        return None, f"{bad.batch.short} hasn't failed in {condition}."
    here = next((o for o in book.outcomes(bad.batch) if o.group == group
                 and condition_key(o.condition) == condition_key(condition)), None)  # fmt: skip
    unit = unit_of(condition, here)
    least = fate.first_failed
    if unit != RUN and until is not None and until < least:
        by = point_words(least, unit)
        return None, f"{bad.batch.short} failed by {by}, later than {point_words(until, unit)}."
    if unit == DAYS and until is not None and until > fate.age:
        when = point_words(until, unit)
        return None, f"{bad.batch.short} is {fate.age:.0f} days old, younger than {when}."
    wanted = least if until is None else until
    kin = book.kin(book.lineage(None, bad.batch.formula.id))
    trade = Trade(book, bad.batch, group)
    candidates = _candidates(book, bad, fine, kin, condition, group, wanted, unit)
    if not candidates:
        who = fine.batch.short if fine else "No other batch"
        was = "was not watched" if fine else "was watched"
        until_when = "" if unit == RUN else f" until {point_words(wanted, unit)}"
        return None, f"{who} {was} intact in {condition}{until_when}."
    best = chosen(book, Candidate(bad.batch, bad.jar, fate), candidates, trade, condition)
    fates = [f for b in kin if (f := fate_of(book, b, condition, group)) is not None]
    most = furthest(fate, best.good.fate, unit)
    horizon = 0.0 if unit == RUN else until if until is not None else best_horizon(
        fates, fate, most, unit
    )  # fmt: skip
    event = Event(group=group, condition=condition, unit=unit, horizon=horizon)
    question = Question(event=event, failed=bad.unit, good=best.good.unit,
                        runner_up=best.runner_up, until_most=most, modes=fate.modes)  # fmt: skip
    return _answered(book, question, best.good, bad, kin, trade), ""


def _candidates(
    book: Book, bad: Named, fine: Named | None, kin: tuple[Batch, ...], condition: str, group: str,
    wanted: float, unit: str,
) -> list[Candidate]:  # fmt: skip
    """The good batches (and other jars of the failed one) that were watched long enough."""
    named = [(fine.batch, fine.jar)] if fine else []
    if not fine:
        named = [(b, "") for b in kin if b.id != bad.batch.id]
        named += [(bad.batch, jar) for jar in _other_jars(book, bad, condition, group)]
    found = []
    for batch, jar in named:
        fate = fate_of(book, batch, condition, group, jar)
        if fate is None or fate.making:
            continue
        held = fate.last_intact is not None and fate.last_intact >= wanted
        if held or (unit == RUN and fate.first_failed is None):
            found.append((fate.first_failed is not None, Candidate(batch, jar, fate)))
    return [one for failed, one in found if not failed] or [one for _, one in found]


def _other_jars(book: Book, bad: Named, condition: str, group: str) -> list[str]:
    """Jars of the failed batch that held, and of which something else is known than of those."""
    fate = fate_of(book, bad.batch, condition, group, bad.jar)
    own = traits_of_jars(book, Candidate(bad.batch, bad.jar, fate), condition, failed=True)
    found = []
    for jar in jars_in(book, bad.batch, condition):
        traits = traits_of_jars(book, Candidate(bad.batch, jar), condition, failed=False)
        if any(key in own and own[key].name != trait.name for key, trait in traits.items()):
            found.append(jar)
    return found


def _answered(
    book: Book, question: Question, good: Candidate, bad: Named, kin: tuple[Batch, ...],
    trade: Trade,
) -> Question:  # fmt: skip
    """The question with its factors and with every unit that counts."""
    event = question.event
    fates: list[Fate] = []
    left_out: list[tuple[str, str]] = []
    later: list[str] = []
    parted = {parent.batch for batch in kin for parent in batch.from_ if parent.how == "split"}
    own_jar = good.fate if good.jar and good.batch.id != bad.batch.id else None
    for batch in _with_named(kin, good.batch):
        fate = fate_of(book, batch, event.condition, event.group)
        fate = own_jar if own_jar is not None and batch.id == good.batch.id else fate
        if fate is None:
            if batch.id not in parted:  # its parts speak for it
                left_out.append((batch.id, f"not watched in {event.condition}"))
            continue
        state = state_at(fate, event)
        if state == "too young":
            left_out.append((batch.id, state))
        elif state == "later":
            later.append(batch.id)
        else:
            fates.append(fate)
    profiles = {f.batch: profile_of(book, book.batches[f.batch], bad.batch) for f in fates}
    for one in (bad.batch, good.batch):
        profiles.setdefault(one.id, profile_of(book, one, bad.batch))
    own = fate_of(book, bad.batch, event.condition, event.group, bad.jar)
    pair = (Candidate(bad.batch, bad.jar, own), good)
    found = built(book, event, pair, fates, profiles, trade)
    return replace(
        question,
        factors=found.factors,
        unrecorded=found.paired.unrecorded,
        follows=tuple(diff.item() for diff in found.paired.follows),
        rows=found.rows,
        left_out=(*left_out, *found.left_out),
        later=tuple(later),
        nothing=not any(factor.kind != "session" for factor in found.factors),
        codes=tuple(sorted({book.batches[row.batch].formula.code for row in found.rows})),
    )


def _with_named(kin: tuple[Batch, ...], good: Batch) -> tuple[Batch, ...]:
    return kin if any(batch.id == good.id for batch in kin) else (*kin, good)


def horizons(book: Book, question: Question) -> tuple[float, ...]:
    """The other ages at which the same pair can be asked about, in order: looks of their kin.

    From the failed batch's first failed look to the furthest that the pair allows; ages at which
    no batch's state changes are left out.
    """
    event = question.event
    if event.unit == RUN or not question.failed:
        return ()
    bad = _named(book, question.failed)
    fate = fate_of(book, bad.batch, event.condition, event.group, bad.jar)
    if fate is None or fate.first_failed is None:
        return ()
    ids = book.lineage(None, bad.batch.formula.id)
    points: set[float] = set()
    for batch in book.kin(ids):
        other = fate_of(book, batch, event.condition, event.group)
        if other is not None:
            points |= {p for p in (other.last_intact, other.first_failed) if p is not None}
    low, high = fate.first_failed, question.until_most
    return tuple(sorted(p for p in points if low <= p <= high and p != event.horizon))
