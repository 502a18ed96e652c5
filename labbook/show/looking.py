"""Screens of looking: what is due, a look written down, what became of a formula's batches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from labbook.evidence.failure import GROUPS
from labbook.model.results.looking import (
    Due,
    DueLook,
    Looked,
)
from labbook.show.layout import WIDEST, Screen, columns_of
from labbook.show.next_batch import lesson_part
from labbook.show.outcomes import (
    due_point,
)
from labbook.show.parts import then

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MODES = tuple(mode for modes in GROUPS.values() for mode in modes)
"""The modes in the order in which they are numbered for the number pad."""


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
    _said(screen, f"{result.jar}  {result.said}", result.entry)
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


def _said(screen: Screen, said: str, entry: str) -> None:
    """What was written, in the first line; too much for it goes on below its place."""
    if columns_of(said) + columns_of(entry) + 2 <= min(screen.width, WIDEST - 2):
        screen.title(said, entry)
        return
    place, _, seen = said.partition(": ")
    screen.title(place, entry)
    screen.row("", seen)


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
