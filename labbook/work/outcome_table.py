"""`outcomes HC`: what became of a formula's batches, grouped, with how much that can say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from labbook.evidence import grouping
from labbook.evidence.counting import Unit, bulk_of, count, failing_groups, units_of
from labbook.evidence.failure import condition_key
from labbook.evidence.outcomes import accelerated, in_condition, in_order_of_telling
from labbook.evidence.statistics.comparison import LEAST_PER_GROUP, Comparison, compare
from labbook.model.batch import Batch
from labbook.model.errors import UnknownName
from labbook.model.materials import FUNCTIONS
from labbook.model.moments import day_of
from labbook.model.results.common import Next
from labbook.model.results.looking import (
    DAYS,
    FAILED,
    INTACT,
    NOT_WATCHED,
    BatchOutcome,
    Count,
    JarOutcome,
    OutcomeGroup,
    OutcomeRow,
    OutcomeTable,
)
from labbook.show.outcomes import headline, leading
from labbook.work.bench import Bench
from labbook.work.outcomes import (
    batches_of,
    departures_for,
    noticed_for,
    outcomes_for,
)

Horizon = dict[tuple[str, str], float]


@dataclass(frozen=True, slots=True)
class _Counting:
    """What the counts are about: one condition in one unit, and the bulks of the formula."""

    bench: Bench
    condition: str
    unit: str
    least: float
    by: str


def outcomes(
    bench: Bench, typed: str, *, by: str = "", condition: str = "", by_jar: bool = False
) -> OutcomeTable:
    """What became of a formula's batches, version by version or by something else, newest first.

    A batch is marked as too young where it holds so far, but was not watched as long as it took
    another batch of the formula to fail in that condition.

    Args:
        bench: the notebook.
        typed: the formula.
        by: `version`, `lot`, `device`, `session`, a function, an ingredient, `container`, `place`.
        condition: the only one to tell of, and to count in; empty tells of all and counts in the
            first.
        by_jar: a row for each jar.

    Raises:
        UnknownName: no such formula, condition, or thing to group by.
    """
    formula = bench.formula(typed)
    by = by.strip() or grouping.VERSION
    found = [(batch, outcomes_for(bench, batch)) for batch in batches_of(bench, formula.id)]
    every = [one for _, its in found for one in its]
    shown = in_order_of_telling(one.condition for one in every if one.state != NOT_WATCHED)
    if condition:
        shown = (_named(condition, shown),)
    horizon = _horizon([its for _, its in found])
    main = shown[0] if shown else ""
    there = [one for one in in_condition(every, main) if one.state != NOT_WATCHED]
    unit = there[0].unit if there else DAYS
    least = max((o.first_failed for o in there if o.first_failed is not None), default=0.0)
    counting = _Counting(bench, main, unit, least, by)
    rows = {batch.id: _row(bench, batch, its, horizon) for batch, its in reversed(found)}
    groups = _grouped(counting, [batch for batch, _ in reversed(found)], rows)
    failed = [batch for batch, its in found if _failed(its)]
    then = [Next(f"labbook why {failed[-1].short.lower()}")] if failed else []
    return OutcomeTable(
        code=formula.code,
        title=formula.title,
        day=bench.today,
        conditions=shown,
        groups=groups,
        by=by,
        by_jar=by_jar or by in grouping.OF_JARS,
        counted_in=main,
        accelerated=tuple(name for name in shown if accelerated(name)),
        asked_for=tuple(
            limit
            for limit in formula.acceptance
            if not condition or condition_key(limit.condition) == condition_key(condition)
        ),
        left_out=tuple(
            (batch.short, batch.dropped.why)
            for batch in bench.snapshot.batches.values()
            if batch.formula.id == formula.id and batch.dropped
        ),
        compared=_compared(counting, groups),
        then=(*then, Next(f"labbook log {formula.code}")),
    )


def _named(condition: str, shown: Sequence[str]) -> str:
    found = next((one for one in shown if condition_key(one) == condition_key(condition)), "")
    if not found:
        raise UnknownName(
            f"No jar of it was looked at in {condition!r}.",
            mend=f"They were in: {', '.join(shown) or 'no condition yet'}",
        )
    return found


def _failed(its: tuple[BatchOutcome, ...]) -> bool:
    lead = leading(its)
    return lead is not None and lead.state == FAILED


def _horizon(found: list[tuple[BatchOutcome, ...]]) -> Horizon:
    """For each condition and unit the latest age by which a failed batch had failed."""
    horizon: Horizon = {}
    for its in found:
        lead = leading(its)
        for one in its:
            mine = lead is not None and condition_key(one.condition) == condition_key(
                lead.condition
            )
            if mine and one.state == FAILED and one.first_failed is not None:
                key = (condition_key(one.condition), one.unit)
                horizon[key] = max(horizon.get(key, 0.0), one.first_failed)
    return horizon


def _row(bench: Bench, batch: Batch, its: tuple[BatchOutcome, ...], horizon: Horizon) -> OutcomeRow:
    lead = leading(its)
    young = lead is None or lead.state == NOT_WATCHED
    if lead is not None and lead.state == INTACT:
        wanted = horizon.get((condition_key(lead.condition), lead.unit), 0.0)
        young = (lead.last_intact or 0.0) < wanted
    looks = bench.snapshot.stability.get(batch.id)
    noticed = noticed_for(bench, batch)
    unseen = batch.state == "open" and all(one.state == NOT_WATCHED for one in its)
    return OutcomeRow(
        batch=batch.id,
        short=batch.short,
        made=day_of(batch.made).isoformat(),
        age=max(0, (bench.today - day_of(batch.made)).days),
        headline=batch.state if unseen else headline(its, noticed),
        outcomes=its,
        noticed=noticed,
        departures=departures_for(bench, batch),
        young=young,
        corrections=len(batch.corrections) + (len(looks.corrections) if looks else 0),
    )


# Groups ------------------------------------------------------------------------------------------


def _grouped(
    counting: _Counting, batches: list[Batch], rows: dict[str, OutcomeRow]
) -> tuple[OutcomeGroup, ...]:
    if counting.by in grouping.OF_JARS:
        named = _jars_grouped(counting, batches, rows)
    else:
        snapshot = counting.bench.snapshot
        known = grouping.Known(snapshot.sheets, snapshot.equipment, snapshot.lots)
        try:
            held = grouping.groups(batches, counting.by, known)
        except ValueError as error:
            words = ", ".join((*grouping.OF_BATCHES, *grouping.OF_JARS))
            raise UnknownName(
                f"There is nothing to group by that is called {counting.by!r}.",
                mend=f"By: {words}, an ingredient, or a function: {', '.join(FUNCTIONS[:5])} ...",
            ) from error
        if counting.by == grouping.VERSION:
            held = dict(sorted(held.items(), key=lambda one: -one[1][0].formula.version))
        named = {name: [rows[batch.id] for batch in mine] for name, mine in held.items()}
    return tuple(
        OutcomeGroup(name=name, rows=tuple(mine), counts=_counts(counting, mine))
        for name, mine in named.items()
    )


def _jars_grouped(
    counting: _Counting, batches: list[Batch], rows: dict[str, OutcomeRow]
) -> dict[str, list[OutcomeRow]]:
    """A row for each jar that was looked at, under its container or place."""
    found: dict[str, list[OutcomeRow]] = {}
    for batch in batches:
        row = rows[batch.id]
        jars = counting.bench.snapshot.jars.get(batch.id)
        for jar in dict.fromkeys(one.jar for o in row.outcomes for one in o.by_jar):
            name = grouping.jar_group(batch, jars, jar, counting.by)
            found.setdefault(name, []).append(replace(row, jar=jar))
    return found


def _fates(counting: _Counting, rows: Sequence[OutcomeRow], group: str) -> list[Unit]:
    """The bulks, or the jars, of some rows with what became of them for one group of failure."""
    batches = counting.bench.snapshot.batches
    found: list[tuple[str, float, BatchOutcome | JarOutcome]] = []
    for row in rows:
        for one in in_condition(row.outcomes, counting.condition):
            if one.group != group:
                continue
            if row.jar:
                jars = [jar for jar in one.by_jar if jar.jar == row.jar]
                found += [(f"{row.short}.{row.jar}", row.age, jar) for jar in jars]
            else:
                bulk = bulk_of(batches[row.batch], batches).rsplit("-", 1)[-1]
                found.append((bulk, row.age, one))
    return units_of(found)


def _counts(counting: _Counting, rows: Sequence[OutcomeRow]) -> tuple[Count, ...]:
    """A count for each group of failure that occurred, else one of no failure at all."""
    its = [o for row in rows for o in in_condition(row.outcomes, counting.condition)]
    failed = failing_groups(its)
    if counting.by in grouping.OF_JARS:
        jars = {(row.batch, row.jar) for row in rows}
        failed = tuple(
            g for g in failed
            if any(j.state == FAILED and (o.batch, j.jar) in jars
                   for o in its if o.group == g for j in o.by_jar)
        )  # fmt: skip
    what = "jars" if counting.by in grouping.OF_JARS else "batches"
    found = []
    for group in failed or (_watched_group(its),):
        one = count(
            _fates(counting, rows, group),
            what=what,
            condition=counting.condition,
            group=group if failed else "",
            unit=counting.unit,
            least=counting.least,
        )
        found += [one] if one is not None else []
    return tuple(found)


def _watched_group(its: Sequence[BatchOutcome]) -> str:
    """The group whose looks say how long nothing failed: separation, mostly."""
    watched = [one.group for one in its if one.state != NOT_WATCHED]
    return next(iter(watched), "separation")


# Two groups --------------------------------------------------------------------------------------


def _compared(counting: _Counting, groups: Sequence[OutcomeGroup]) -> str:
    """What exactly two groups tell against each other; empty for any other number of them."""
    every = [
        o for g in groups for r in g.rows for o in in_condition(r.outcomes, counting.condition)
    ]
    failed = failing_groups(every)
    if len(groups) != 2 or not failed:
        return ""
    first, second = (
        [one.fate for one in _fates(counting, group.rows, failed[0]) if one.fate is not None]
        for group in groups
    )
    if not first or not second:
        return ""
    names = (groups[0].name, groups[1].name)
    return _words(compare(first, second, names=names), failed[0], counting)


def _words(found: Comparison, group: str, counting: _Counting) -> str:
    what = "jars" if counting.by in grouping.OF_JARS else "batches"
    head = f"{found.first.name} against {found.second.name}, {group}: "
    if found.p is None:
        return (
            f"{head}{found.first.of} and {found.second.of} {what} carry no test, which takes"
            f" {LEAST_PER_GROUP} and {LEAST_PER_GROUP}; even the clearest result of so few could"
            f" be chance {_chance(found.smallest_p)}"
        )
    sooner = found.first.name if found.score > 0 else found.second.name
    return f"{head}{sooner} failed sooner; chance alone does as much {_chance(found.p)}"


def _chance(p: float) -> str:
    """`1 in 6`, `less than 1 in 1000`."""
    if p >= 0.95:
        return "nearly always"
    return f"1 time in {round(1 / p)}" if p >= 0.001 else "less than 1 time in 1000"
