"""What can stand for an ingredient, as a screen."""

from __future__ import annotations

from labbook.model.results.materials import Candidate, OwnSwap, Swaps
from labbook.show.layout import Column, Screen
from labbook.show.parts import then


def swaps_screen(found: Swaps, screen: Screen) -> str:
    """The screen of `ingredient swaps`."""
    screen.title(f"{found.name} and {found.other}" if found.other else f"In place of {found.name}")
    screen.blank()
    if found.used_in:
        screen.row("used in", ", ".join(found.used_in))
    for number, own in enumerate(found.own):
        _own(screen, own, first=not number)
    if not found.own:
        screen.row("so far", "Nobody has swapped it in this notebook.")
    screen.blank()
    if found.rows:
        columns = (Column(), Column(found.name), Column(found.other))
        screen.table(columns, [(word, [what, a, b]) for word, what, a, b in found.rows])
    for number, one in enumerate(found.candidates):
        _candidate(screen, one, first=not number)
    if found.more:
        screen.row("", f"and {found.more} more that do the same")
    for text in found.remarks:
        screen.row("mind", text)
    screen.row("", "Sheets tell what it is. How it does in your formula only a batch tells.")
    screen.blank()
    if not found.other and found.candidates:
        then(screen, [f"labbook ingredient swaps {found.name} {found.candidates[0].name}"])
    return screen.text()


def _own(screen: Screen, own: OwnSwap, *, first: bool) -> None:
    screen.row("so far" if first else "", f"{own.before} → {own.after}  {own.what[0]}")
    for line in own.what[1:]:
        screen.row("", f"  {line}")
    screen.row("", f"  {own.before}: {own.became_before or 'no batch was made'}")
    screen.row("", f"  {own.after}: {own.became_after or 'no batch was made'}")
    if not own.alone:
        screen.row("", "  More than this changed, so it says little about the swap alone.")


def _candidate(screen: Screen, one: Candidate, *, first: bool) -> None:
    where = "has a sheet here" if one.own else "a starter sheet"
    screen.row("by sheet" if first else "", f"{one.name}  {', '.join(one.shared)}; {where}")
    for text in one.differs[:4]:
        screen.row("", f"  {text}")
