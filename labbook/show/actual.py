"""What a batch was really made of, beside what was meant, and what became of the rest."""

from __future__ import annotations

from decimal import Decimal

from labbook.model.results.actual import ActualRow, MadeOf, VesselRow
from labbook.show.layout import Column, Screen

COVERAGE = 2
"""Behind ± stand two standard uncertainties (JCGM 100:2008, 6.2 and G.6.6)."""

_LOST = (
    ("evaporated", "evaporated", "from"),
    ("put back", "returned", "of water into"),
    ("stayed", "residue", "in"),
)


def actual_rows(found: MadeOf, screen: Screen) -> None:
    """The percents, then where the rest of the mass went; nothing where nothing was weighed."""
    if not found.put_in:
        return
    if found.rows:
        _percents(found, screen)
    else:
        screen.row("made of", f"not known in percent: {', '.join(found.missing)}")
    for word, key, where in _LOST:
        told = [
            f"{_grams(getattr(one, key))} {where} {_vessel(one)}"
            for one in found.vessels
            if getattr(one, key)
        ]
        if told:
            screen.row(word, ", ".join(told))
    if found.rows:
        _unexplained(found, screen)
    for number, note in enumerate(found.notes):
        screen.row("note" if not number else "", note)


def _vessel(one: VesselRow) -> str:
    return f"vessel {one.phase}" if one.phase else "the pot"


def _percents(found: MadeOf, screen: Screen) -> None:
    rows, phase = [], ""
    for one in found.rows:
        rows.append((f"phase {one.phase}" if one.phase and one.phase != phase else "", _cells(one)))
        phase = one.phase
    columns = (
        Column(""),
        Column("target", "point"),
        Column("actual", "point"),
        Column("", "unit"),
        Column("±", "point"),
    )
    screen.table(columns, rows, margin="made of")


def _cells(one: ActualRow) -> list[str]:
    twice = COVERAGE * one.uncertainty
    places = 3 if twice < Decimal("0.01") else 2
    name = one.ingredient + (", q.s." if one.qs else "")
    target = "-" if one.target is None else _two_places(one.target)
    return [name, target, f"{one.actual:.{places}f}", "%", f"{twice:.{places}f}"]


def _two_places(value: Decimal) -> str:
    """With two decimals at least."""
    exponent = value.as_tuple().exponent
    return f"{value:.2f}" if isinstance(exponent, int) and exponent > -2 else f"{value:f}"


def _grams(mass: Decimal) -> str:
    return f"{mass:.2f} g"


def _unexplained(found: MadeOf, screen: Screen) -> None:
    lost = found.unexplained
    if lost:
        told = "on the tools, or gone off unseen" if lost > 0 else "more than went in"
        screen.row("unexplained", f"{_grams(abs(lost))}, {told}; it widens the ±")
    if not found.weighed_out:
        screen.row("", "What came out was not weighed, so nobody knows what else was lost.")
    screen.row("", "± is two standard uncertainties, right about 19 times in 20.")
