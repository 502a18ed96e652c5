"""The screen of `stability creaming`: a speed, or why there is none."""

from __future__ import annotations

from labbook.model.results.creaming import Creamed
from labbook.show.layout import Screen


def creaming_screen(result: Creamed, screen: Screen) -> str:
    """How fast a droplet rises or sinks."""
    screen.title(f"A droplet of {result.droplet}")
    screen.blank()
    if result.mm_per_day is None:
        screen.row("no speed", f"{result.why}.")
        return screen.text()
    word = "rises" if result.mm_per_day >= 0 else "sinks"
    screen.row(word, f"{abs(result.mm_per_day):.2g} mm a day, by Stokes")
    screen.row(
        "",
        "Of single droplets that stay as they are. Droplets that join move faster; how a jar does"
        " is what the looks say.",
    )
    return screen.text()
