"""What the table of outcomes counts: groups of batches or jars, and how much they can say."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from labbook.evidence import grouping
from labbook.evidence.counting import Unit, bulk_of, count, failing_groups, units_of
from labbook.evidence.outcomes import in_condition
from labbook.evidence.runs import Run, run_of
from labbook.evidence.sightings import Sighting, sightings
from labbook.evidence.statistics.comparison import compare
from labbook.evidence.statistics.weibull import Weibull, weibull
from labbook.model.batch import Batch
from labbook.model.errors import UnknownName
from labbook.model.materials import FUNCTIONS
from labbook.model.results.looking import (
    DAYS,
    FAILED,
    NOT_WATCHED,
    RUN,
    BatchOutcome,
    Count,
    JarOutcome,
    OutcomeGroup,
    OutcomeRow,
)
from labbook.show.outcome_words import comparison_words, weibull_words
from labbook.show.outcomes import how_words
from labbook.work.bench import Bench
from labbook.work.outcomes import formula_of


@dataclass(frozen=True, slots=True)
class Counting:
    """What the counts are about: one condition in one unit, and the bulks of the formula."""

    bench: Bench
    condition: str
    unit: str
    least: float
    by: str

    @property
    def what(self) -> str:
        """What is counted once: batches, or jars."""
        return "jars" if self.by in grouping.OF_JARS else "batches"


def counting_in(
    bench: Bench, condition: str, by: str, found: Iterable[tuple[BatchOutcome, ...]]
) -> Counting:
    """What is counted in a condition, from all outcomes of the formula."""
    here = in_condition((one for its in found for one in its), condition)
    there = [one for one in here if one.state != NOT_WATCHED]
    unit = there[0].unit if there else DAYS
    failed = sorted(o.first_failed for o in there if o.first_failed is not None)
    least = failed[len(failed) // 2] if failed else 0.0
    return Counting(bench, condition, unit, least, by)


def runs_for(bench: Bench, batch: Batch) -> tuple[Run, ...]:
    """The runs of samples of a batch in a centrifuge."""
    return tuple(run_of(one.look) for one in _spun(bench, batch))


def run_words(bench: Bench, batch: Batch) -> tuple[str, ...]:
    """The runs of a batch with what each showed: `1006 g for 30 min: failed, oil on top`."""
    found = []
    for one in _spun(bench, batch):
        how = how_words(one.look.modes, one.look.grade)
        state = FAILED if one.verdict.failed else ""
        told = ", ".join(part for part in (state, how, one.look.extent) if part)
        found.append(f"{run_of(one.look).words}: {told}")
    return tuple(found)


def _spun(bench: Bench, batch: Batch) -> list[Sighting]:
    jars, looks = bench.snapshot.jars.get(batch.id), bench.snapshot.stability.get(batch.id)
    seen = sightings(batch, jars, looks, formula_of(bench, batch))
    return [one for one in seen if one.unit == RUN]


# Groups ------------------------------------------------------------------------------------------


def grouped(
    counting: Counting, batches: list[Batch], rows: dict[str, OutcomeRow]
) -> tuple[OutcomeGroup, ...]:
    """The rows of a table in groups, each with its counts.

    Raises:
        UnknownName: there is nothing of that name to group by.
    """
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
    counting: Counting, batches: list[Batch], rows: dict[str, OutcomeRow]
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


def _fates(counting: Counting, rows: Sequence[OutcomeRow], group: str) -> list[Unit]:
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


def _counts(counting: Counting, rows: Sequence[OutcomeRow]) -> tuple[Count, ...]:
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
    found = []
    for group in failed or (_watched_group(its),):
        one = count(
            _fates(counting, rows, group),
            what=counting.what,
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


def compared(counting: Counting, groups: Sequence[OutcomeGroup]) -> str:
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
    return comparison_words(compare(first, second, names=names), failed[0], counting.what)


def failing(counting: Counting, groups: Sequence[OutcomeGroup]) -> tuple[tuple[str, str], ...]:
    """How failures come with age, of each group that has enough of them."""
    found = []
    for group in groups:
        its = [o for r in group.rows for o in in_condition(r.outcomes, counting.condition)]
        for kind in failing_groups(its):
            fates = [one.fate for one in _fates(counting, group.rows, kind)]
            fitted = weibull(fate for fate in fates if fate is not None)
            if isinstance(fitted, Weibull):
                found.append((group.name, f"{kind}: {weibull_words(fitted, counting.unit)}"))
    return tuple(found)
