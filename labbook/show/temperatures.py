"""The screen of `stability temperature`: a mean, and beside it what the mean swallows."""

from __future__ import annotations

from labbook.model.results.temperatures import Warmth
from labbook.show.layout import Screen
from labbook.show.parts import plural


def temperatures_screen(result: Warmth, screen: Screen) -> str:
    """How warm it was, by a log."""
    about = f", {result.about}" if result.about else ""
    screen.title(
        f"{result.source}{about}",
        f"{result.first:%Y-%m-%d} to {result.last:%Y-%m-%d}",
    )
    screen.blank()
    screen.row("highest", f"{result.maximum:.1f} °C on {result.maximum_at:%Y-%m-%d %H:%M}")
    screen.row("above 30", f"{_hours(result.hours_above_30)} of {_hours(result.hours)}")
    screen.row("kinetic", f"{result.kinetic:.1f} °C, the mean for chemical ageing (83.144 kJ/mol)")
    screen.row("mean", f"{result.mean:.1f} °C; lowest {result.minimum:.1f} °C")
    if result.warmest is not None:
        kinetic, begun = result.warmest
        screen.row("30 days", f"kinetic {kinetic:.1f} °C in the warmest 30, from {begun:%Y-%m-%d}")
    if result.gaps:
        told = f"{plural(result.gaps, 'gap')}, {_hours(result.gap_hours)} in all, left out"
        screen.row("not known", told)
    screen.blank()
    screen.row(
        "",
        f"{plural(result.readings, 'reading')}, each held until the next. A mean swallows a hot"
        " day, and speaks of chemical ageing alone: an emulsion melts or thins by its hottest hour."
        " Nothing here stands for days in another place.",
    )
    return screen.text()


def _hours(hours: float) -> str:
    return plural(round(hours), "hour") if hours >= 1 or not hours else "under 1 hour"
