"""Screens of looking: what is due, a look written down, what became of a formula's batches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from labbook.evidence.failure import GROUPS, condition_key
from labbook.evidence.outcomes import in_condition
from labbook.model.results.looking import (
    CYCLES,
    FAILED,
    BatchOutcome,
    Due,
    DueLook,
    Looked,
    OutcomeRow,
    OutcomeTable,
)
from labbook.show.layout import Column, Screen
from labbook.show.next_batch import lesson_part
from labbook.show.outcomes import (
    ROOM,
    by_condition,
    cell_words,
    condition_outcome,
    due_point,
    interval_words,
    listed,
    noticed_words,
)
from labbook.show.parts import then

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MODES = tuple(mode for modes in GROUPS.values() for mode in modes)
"""The modes in the order in which they are numbered for the number pad."""

GRADES = "0 nothing seen, 1 a trace, 2 slight, 3 clear, 4 broken"


# Due ---------------------------------------------------------------------------------------------


def due_screen(result: Due, screen: Screen) -> str:
    """`due`."""
    weekday = WEEKDAYS[result.day.weekday()]
    screen.title("Jars to look at", f"{weekday} {result.day.isoformat()}")
    screen.blank()
    _now(screen, "overdue", result.overdue)
    _now(screen, "today", result.today)
    if result.coming:
        screen.row("coming")
        for line in _coming(result.coming):
            screen.row("", line)
    if not (result.now or result.coming):
        screen.row("", "Nothing is due today or in the coming week.")
    if result.without_protocol:
        names = ", ".join(result.without_protocol)
        screen.row("unknown", f"no protocol, so nothing falls due by itself: {names}")
    then(screen, result.then)
    return screen.text()


def _now(screen: Screen, word: str, looks: Sequence[DueLook]) -> None:
    if not looks:
        return
    screen.row(word)
    told: set[str] = set()
    width = max(10, *(len(look.condition) for look in looks)) + 2
    for look in looks:
        version = "" if look.batch in told else look.of
        told.add(look.batch)
        screen.row(f"  {look.name}", _due_line(look, version, width))


def _due_line(look: DueLook, version: str, width: int) -> str:
    since = f"since {look.day:%a} {look.day.isoformat()}" if look.state == "overdue" else ""
    said = [look.note, look.why, f"{look.missed} earlier missed" if look.missed else ""]
    tail = "  ".join([part for part in (version, "; ".join(s for s in said if s)) if part])
    return f"{look.condition:<{width}}{due_point(look):<9}{since:<23}{tail}".rstrip()


def _coming(looks: Sequence[DueLook]) -> Iterator[str]:
    """One line per day, batch and point: `Thu 04-23   7K.1 7K.2 7K.3      day 14`."""
    day = None
    for key, group in groupby(looks, key=lambda one: (one.day, one.batch, due_point(one), one.why)):
        date = f"{key[0]:%a %m-%d}" if key[0] != day else ""
        day = key[0]
        names = " ".join(look.name for look in group)
        yield f"{date:<12}{names:<20}{key[2]:<12}{key[3]}".rstrip()


# A look ------------------------------------------------------------------------------------------


def looked_screen(result: Looked, screen: Screen) -> str:
    """After `look 7k.1 0`, a correction, or a jar that was moved."""
    screen.title(f"{result.jar}  {result.said}", result.entry)
    if result.state:
        screen.row("so far", result.state)
    for number, remark in enumerate(result.remarks):
        screen.row("note" if not number else "", remark)
    for number, caution in enumerate(result.cautions):
        screen.row("caution" if not number else "", caution)
    if result.lesson is not None:
        screen.blank()
        lesson_part(result.lesson, screen)
    return screen.text()


def modes_table(screen: Screen) -> str:
    """The modes by their numbers, for the number pad."""
    number = 0
    for group, modes in GROUPS.items():
        told = []
        for mode in modes:
            number += 1
            told.append(f"{number} {mode}")
        screen.row(group, ", ".join(told))
    return screen.text()


# Outcomes ----------------------------------------------------------------------------------------


def outcomes_screen(result: OutcomeTable, screen: Screen) -> str:
    """`outcomes HC`: batches or jars by condition, as intervals."""
    screen.title(f"{result.code}  {result.title}: what became of it", result.day.isoformat())
    screen.blank()
    if not result.versions:
        screen.row("", "No batch yet.")
        then(screen, [f"labbook make {result.code}"])
        return screen.text()
    cycles = _in_cycles(result)
    rows = []
    for number, batches in result.versions:
        margin = f"@{number}" if number else "trial"
        for row in batches:
            for cells in _cells(row, result):
                rows.append((margin, cells))
                margin = ""
    heads = [Column("jar" if result.by_jar else "batch"), Column("age", "right")]
    screen.table([*heads, *(Column(name) for name in result.conditions)], rows)
    screen.blank()
    units = "Days from filling" + (f"; {' and '.join(cycles)} in cycles" if cycles else "")
    screen.row("", f"{units}. Intact until the look named, failed between the two named.")
    _remarks(screen, result)
    then(screen, result.then)
    return screen.text()


def _in_cycles(result: OutcomeTable) -> list[str]:
    rows = [row for _, batches in result.versions for row in batches]
    found = [o.condition for row in rows for o in row.outcomes if o.unit == CYCLES]
    return list(dict.fromkeys(found))


def _cells(row: OutcomeRow, result: OutcomeTable) -> list[list[str]]:
    age = f"{row.age} d"
    if not result.by_jar:
        told = by_condition(row.outcomes)
        mine = {condition_key(name): one for name, one in told.items()}
        cells = [cell_words(mine.get(condition_key(name))) for name in result.conditions]
        return [[row.short, age, *cells]]
    found = []
    for jar in dict.fromkeys(one.jar for outcome in row.outcomes for one in outcome.by_jar):
        cells = [_jar_cell(row, jar, condition) for condition in result.conditions]
        found.append([f"{row.short}.{jar}", age, *cells])
    return found or [[row.short, age, *("" for _ in result.conditions)]]


def _jar_cell(row: OutcomeRow, jar: str, condition: str) -> str:
    """One jar in one condition over all groups: its first failure, else how long it held."""
    its = in_condition(row.outcomes, condition)
    mine = [one for outcome in its for one in outcome.by_jar if one.jar == jar]
    failed = [one for one in mine if one.first_failed is not None]
    if failed:
        return cell_words(min(failed, key=lambda one: one.first_failed or 0.0))
    intact = [one for one in mine if one.last_intact is not None]
    return cell_words(max(intact, key=lambda one: one.last_intact or 0.0)) if intact else ""


def _failures(row: OutcomeRow) -> list[BatchOutcome]:
    """The failures of a batch by condition; one while making is told once for all of them."""
    found = [one for one in by_condition(row.outcomes).values() if one.state == FAILED]
    return found[:1] if found and found[0].while_making else found


def _remarks(screen: Screen, result: OutcomeTable) -> None:
    """How each failure looked, what no limit judges, which batches are too young, what is split."""
    rows = [row for _, batches in result.versions for row in batches]
    for row in rows:
        word = row.short
        for one in _failures(row):
            room = condition_key(one.condition) == ROOM or one.while_making
            screen.row(word, ("" if room else f"{one.condition} ") + interval_words(one))
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


# Calendar ----------------------------------------------------------------------------------------


def calendar(result: Due) -> str:
    """The looks as an iCalendar file (RFC 5545), one all-day event per day and batch.

    Overdue looks stand on the day of the list. Names of jars only: nothing of what is in them.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//labbook//due//EN"]
    dated = [(result.day if one.state == "overdue" else one.day, one) for one in _all(result)]
    dated.sort(key=lambda pair: (pair[0], pair[1].batch))
    for (day, batch), group in groupby(dated, key=lambda pair: (pair[0], pair[1].batch)):
        told = ", ".join(f"{one.name} {one.condition} {due_point(one)}" for _, one in group)
        lines += [
            "BEGIN:VEVENT",
            f"UID:{day:%Y%m%d}-{batch}@labbook.invalid",
            f"DTSTAMP:{result.day:%Y%m%d}T000000Z",
            f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
            f"SUMMARY:{_escaped(f'Look at {told}')}",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _all(result: Due) -> tuple[DueLook, ...]:
    return result.overdue + result.today + result.coming


def _escaped(text: str) -> str:
    """TEXT of RFC 5545, 3.3.11; control characters are left out."""
    for char in "\\;,":
        text = text.replace(char, f"\\{char}")
    return "".join(c for c in text if c.isprintable())


def _folded(line: str) -> Iterator[str]:
    """Lines of at most 75 octets, RFC 5545, 3.1; a character is never cut in two."""
    part = ""
    for char in line:
        if len((part + char).encode("utf-8")) > 75:
            yield part
            part = " "
        part += char
    yield part
