"""The screen of `stability plan`."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.results.planning import (
    COMING,
    DONE,
    DUE,
    ENDED,
    MISSED,
    OVERDUE,
    OffPlan,
    PlannedJar,
    PlannedLook,
    StabilityPlan,
)
from labbook.show.layout import Screen
from labbook.show.outcomes import point_words
from labbook.show.parts import then

ORDER = (DONE, MISSED, OVERDUE, DUE, COMING, ENDED)
WORDS = {DUE: "today"}


def plan_screen(result: StabilityPlan, screen: Screen) -> str:
    """The looks of a batch: each jar with what is done, due, coming."""
    name = f"protocol {result.protocol}" if result.protocol else "no protocol"
    screen.title(f"{result.short}  {result.of}, {name}", result.day.isoformat())
    screen.blank()
    if result.protocol:
        screen.row("by", f"{result.title}; named by the {result.named_by}")
    else:
        screen.row("by", "no protocol, so nothing falls due by itself")
    if result.before or result.written:
        screen.row("until now", result.before or "no protocol")
    screen.blank()
    for jar in result.jars:
        _jar(screen, jar)
    for number, remark in enumerate(result.remarks):
        screen.row("note" if not number else "", remark)
    then(screen, result.then)
    return screen.text()


def _jar(screen: Screen, jar: PlannedJar) -> None:
    none = "" if jar.looks else "; no looks are asked for there"
    screen.row(jar.name, f"{jar.condition}, since {jar.since.isoformat()}{none}")
    for state in ORDER:
        mine = [look for look in jar.looks if look.state == state]
        if mine:
            screen.row(f"  {WORDS.get(state, state)}", _looks(state, mine))
    if jar.off_plan and jar.looks:
        screen.row("  off plan", ", ".join(_off_plan(look) for look in jar.off_plan))


def _off_plan(look: OffPlan) -> str:
    aside = f"; {look.note}" if look.note else ""
    return f"{point_words(look.point, look.unit)} ({look.day}{aside})"


def _looks(state: str, looks: Sequence[PlannedLook]) -> str:
    told = ", ".join(_look(state, look) for look in looks)
    return f"{told}; the jar is done" if state == ENDED else told


def _look(state: str, look: PlannedLook) -> str:
    point = _point(look)
    if state in (DONE, MISSED, ENDED):
        return point
    aside = f"; {look.note}" if look.note else ""
    when = f"since {look.day:%a} {look.day}" if state == OVERDUE else f"{look.day:%a} {look.day}"
    return f"{point}{aside}" if state == DUE else f"{point} ({when}{aside})"


def _point(look: PlannedLook) -> str:
    if look.cycle is not None:
        return f"cycle {look.cycle}"
    return point_words(float(look.point.exact("d")), "") if look.point is not None else ""
