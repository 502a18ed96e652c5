"""The screen of `outcomes`: intervals in a table, and how much they can say."""

from __future__ import annotations

from math import ceil, floor

from labbook.evidence.failure import condition_key
from labbook.evidence.outcomes import in_condition
from labbook.evidence.runs import NEVER
from labbook.evidence.statistics.exact import none_of
from labbook.model.formula import Limit
from labbook.model.results.looking import (
    CYCLES,
    FAILED,
    RUN,
    BatchOutcome,
    Count,
    OutcomeRow,
    OutcomeTable,
)
from labbook.show.layout import Column, Screen
from labbook.show.outcomes import (
    ROOM,
    by_condition,
    cell_words,
    condition_outcome,
    interval_words,
    listed,
    noticed_words,
    point_words,
)
from labbook.show.parts import plural, then


def outcomes_screen(result: OutcomeTable, screen: Screen) -> str:
    """`outcomes HC`: batches or jars by condition, as intervals."""
    screen.title(f"{result.code}  {result.title}: what became of it", result.day.isoformat())
    screen.blank()
    if not result.groups:
        screen.row("", "No batch yet.")
        then(screen, [f"labbook make {result.code}"])
        return screen.text()
    cycles = _in_cycles(result)
    rows = []
    for group in result.groups:
        margin = group.name
        for row in group.rows:
            for cells in _cells(row, result):
                rows.append((margin, cells))
                margin = ""
    heads = [Column("jar" if result.by_jar else "batch"), Column("age", "right")]
    screen.table([*heads, *(Column(name) for name in result.conditions)], rows)
    screen.blank()
    units = "Days from filling" + (f"; {' and '.join(cycles)} in cycles" if cycles else "")
    screen.row("", f"{units}. Intact until the look named, failed between the two named.")
    if result.accelerated:
        many = "are tests" if len(result.accelerated) > 1 else "is a test"
        screen.row(
            "",
            f"{listed(result.accelerated)} {many} beside real time: no day there stands for a day"
            " in the room.",
        )
    if any(row.runs for row in _rows(result)):
        screen.row("", NEVER)
    for number, limit in enumerate(result.asked_for):
        screen.row("asked for" if not number else "", limit_words(limit))
    _counted(screen, result)
    _remarks(screen, result)
    _kept(screen, result)
    then(screen, result.then)
    return screen.text()


def _in_cycles(result: OutcomeTable) -> list[str]:
    its = [o for group in result.groups for row in group.rows for o in row.outcomes]
    found = {condition_key(one.condition) for one in its if one.unit == CYCLES}
    return [name for name in result.conditions if condition_key(name) in found]


def _cells(row: OutcomeRow, result: OutcomeTable) -> list[list[str]]:
    age = f"{row.age} d"
    if not result.by_jar:
        told = by_condition(row.outcomes)
        mine = {condition_key(name): one for name, one in told.items()}
        cells = [cell_words(mine.get(condition_key(name))) for name in result.conditions]
        return [[row.short, age, *cells]]
    found = []
    jars = [one.jar for outcome in row.outcomes for one in outcome.by_jar]
    for jar in dict.fromkeys(jars) if not row.jar else (row.jar,):
        cells = [_jar_cell(row, jar, condition) for condition in result.conditions]
        if any(cells):
            found.append([f"{row.short}.{jar}", age, *cells])
    return found or ([] if row.jar else [[row.short, age, *("" for _ in result.conditions)]])


def _jar_cell(row: OutcomeRow, jar: str, condition: str) -> str:
    """One jar in one condition over all groups: its first failure, else how long it held."""
    its = in_condition(row.outcomes, condition)
    mine = [one for outcome in its for one in outcome.by_jar if one.jar == jar]
    failed = [one for one in mine if one.first_failed is not None]
    if failed:
        return cell_words(min(failed, key=lambda one: one.first_failed or 0.0))
    intact = [one for one in mine if one.last_intact is not None]
    return cell_words(max(intact, key=lambda one: one.last_intact or 0.0)) if intact else ""


def _rows(result: OutcomeTable) -> list[OutcomeRow]:
    """The batches of a table, once each, though they stand in several groups or jar by jar."""
    found = {row.batch: row for group in result.groups for row in group.rows}
    return list(found.values())


def _failures(row: OutcomeRow, result: OutcomeTable) -> list[BatchOutcome]:
    """The failures of a batch by condition; one while making is told once for all of them."""
    shown = {condition_key(name) for name in result.conditions}
    told = by_condition(row.outcomes).values()
    found = [
        o
        for o in told
        if o.state == FAILED and condition_key(o.condition) in shown and o.unit != RUN
    ]
    return found[:1] if found and found[0].while_making else found


def _remarks(screen: Screen, result: OutcomeTable) -> None:
    """How each failure looked, what no limit judges, which batches are too young, what is split."""
    rows = _rows(result)
    for row in rows:
        word = row.short
        for one in _failures(row, result):
            room = condition_key(one.condition) == ROOM or one.while_making
            screen.row(word, ("" if room else f"{one.condition} ") + interval_words(one))
            word = ""
        for run in row.runs:
            screen.row(word, f"spun at {run}")
            word = ""
        for seen in row.noticed:
            screen.row(word, noticed_words(seen))
            word = ""
        for said in row.departures:
            screen.row(word, said)
            word = ""
        lead = condition_outcome(row.outcomes)
        if lead is not None and lead.split_from:
            screen.row(word, f"split from {', '.join(lead.split_from)}: they share what was before")
    young = [row.short for row in rows if row.young]
    if young:
        many = "were" if len(young) > 1 else "was"
        told = f"{listed(young)} {many} not watched as long as it took another one to fail"
        screen.row("too young", told)


# How much that can say ---------------------------------------------------------------------------


def limit_words(limit: Limit) -> str:
    """An acceptance limit: `room until day 90, separation at grade 1 at most`."""
    parts = [limit.condition]
    if limit.until is not None:
        parts[0] += f" until {point_words(float(limit.until.exact('d')), '')}"
    if limit.cycles is not None:
        parts[0] += f" for {plural(limit.cycles, 'cycle')}"
    if limit.worst_grade is not None:
        modes = " and ".join(limit.modes) or "any failure"
        parts.append(f"{modes} at grade {limit.worst_grade} at most")
    if limit.reading:
        ends = [
            f"{word} {end:f}" for word, end in (("from", limit.from_), ("to", limit.to))
            if end is not None
        ]  # fmt: skip
        parts.append(" ".join([limit.reading, *ends]))
    return ", ".join(parts)


def _counted(screen: Screen, result: OutcomeTable) -> None:
    counts = [(group.name, one) for group in result.groups for one in group.counts]
    if not counts:
        return
    screen.blank()
    groups = {one.group for _, one in counts if one.group}
    place = result.counted_in
    place = f"the {place}" if condition_key(place) == ROOM else place
    what = next(iter(groups)) if len(groups) == 1 else "any failure"
    screen.row("", f"Counted in {place}, {what}; bounds at 95 %:")
    word = ""
    for name, one in counts:
        screen.row(name if name != word else "", count_words(one, several=len(groups) > 1))
        word = name
    for name, said in result.failing:
        screen.row(name, said)
    if result.compared:
        screen.row("compared", result.compared)
    screen.blank()


def count_words(one: Count, *, several: bool = False) -> str:
    """`0 of 3 batches failed by day 28: the true share may be up to 63 %`.

    Args:
        one: the count.
        several: it stands among counts of other groups of failure, so its own is named.
    """
    head, _, none = none_of(one.of, one.what).partition(": ")
    if one.failed == 0 and one.widened:
        bound = f"the true share may be up to {ceil(one.high * 100)} %"
    elif one.failed == 0:
        bound = none.replace("may still be", "may be")
    elif one.failed == one.of:
        bound = f"the true share may be down to {floor(one.low * 100)} %"
    else:
        bound = f"the true share may be {floor(one.low * 100)} to {ceil(one.high * 100)} %"
    if one.widened:
        bound += ", whatever became of those not watched"
    how = f", {one.group}" if one.group and several else ""
    by = "in the run" if one.unit == RUN else f"by {point_words(one.until, one.unit)}"
    told = f"{one.failed}{head[1:]} failed {by}{how}: {bound}"
    if one.later:
        told += f"; {listed(one.later)} failed after that"
    if one.undecided and one.unit == RUN:
        told += f"; not spun: {', '.join(one.undecided)}"
    elif one.undecided:
        told += f"; not watched until then: {', '.join(one.undecided)}"
    return told


def _kept(screen: Screen, result: OutcomeTable) -> None:
    """What was corrected, and what was dropped."""
    corrected = [row for row in _rows(result) if row.corrections]
    if corrected:
        told = [f"{row.short} {plural(row.corrections, 'time')}" for row in corrected]
        screen.row("corrected", f"{listed(told)}; outcomes use what was corrected")
    for number, (short, why) in enumerate(result.left_out):
        screen.row("left out" if not number else "", f"{short}, dropped: {why}")
