"""The screen after a reaction was written down: what to do now, in the order of its urgency.

Usual cautions; whom to see and whom to tell is for a doctor and the law where it is.
"""

from __future__ import annotations

from labbook.model.results.reactions import Reacted
from labbook.show.layout import Screen
from labbook.show.parts import plural, then

DOCTOR = (
    "If it lasts, spreads or gets worse: a doctor, with the list of ingredients and the jar. A"
    " swollen face or throat, trouble with breathing, or something in an eye: help at once."
)
STOP = "Stop using it, and hand out nothing more of that bulk until it is understood."
KEEP = (
    "Keep the jar as it is: closed, cool, with its label. Don't open it to look or smell, don't try"
    " it on yourself or on anybody."
)
LAW = (
    "If any of it was sold, reporting a reaction can be a duty, within days: look up the law of the"
    " place where it was sold."
)
PRIVATE = "It is never published, nor exported; in git it goes wherever the notebook is pushed."
UNKNOWN = (
    "One reaction says nothing about a cause. Write down what else was new on the skin, and for how"
    " long."
)


def reacted_screen(result: Reacted, screen: Screen) -> str:
    """After `batch reaction 7k.1 "..."`."""
    name = f"{result.short}  {result.of}"
    screen.title(f"{name}  {result.kind} {result.entry} written down", result.batch)
    screen.blank()
    if result.kind == "reaction":
        screen.row("first", DOCTOR)
    screen.row("stop" if result.kind == "reaction" else "now", STOP)
    screen.row("keep", KEEP)
    _bulk(result, screen)
    if result.earlier:
        screen.row("earlier", f"{plural(result.earlier, 'other entry', 'other entries')} about it")
    screen.row("law", LAW)
    if result.kind == "reaction":
        screen.row("unknown", UNKNOWN)
    screen.row("private", PRIVATE)
    short = result.short.lower()
    then(screen, [f"labbook trace {short} --recall", f"labbook batch show {short}"])
    return screen.text()


def _bulk(result: Reacted, screen: Screen) -> None:
    """Where the bulk went: jars that somebody has, jars that are here, batches made from it."""
    if result.given:
        screen.row("given away", f"{', '.join(result.given)}: tell whoever has them")
    if result.here:
        screen.row("here", f"{', '.join(result.here)}: set aside, marked")
    if result.batches:
        screen.row("went into", ", ".join(result.batches))
    if result.potted:
        screen.row("no jars", f"written down for {', '.join(result.potted)}: look in the pot")
    if result.lots:
        screen.row("it holds", f"{plural(result.lots, 'lot')}, which other batches may hold too")
