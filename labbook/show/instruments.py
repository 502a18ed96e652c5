"""Screens after a balance was checked or a pH meter calibrated."""

from __future__ import annotations

from labbook.model.results.instruments import BalanceChecked, MeterCalibrated
from labbook.show.layout import Screen
from labbook.trade.instruments import LEAST_STEEP, MOST_OFFSET, MOST_STEEP


def balance_screen(result: BalanceChecked, screen: Screen) -> str:
    """After `equipment check`: what the balance does, and from which mass it does for a line."""
    screen.title(f"{result.name}  {result.count} weighings of one mass", result.entry)
    screen.blank()
    off = f", {result.off} g off the mass" if result.off else ""
    screen.row("mean", f"{result.mean} g{off}")
    before = f"; in the file before: {result.before}" if result.before else ""
    screen.row("repeats", f"standard deviation {result.deviation} g{before}")
    screen.row("", f"from the smallest to the largest {result.spread} g")
    if result.counts:
        screen.row("counts as", f"{result.counts} g of uncertainty in each reading, from now on")
        screen.row(
            "weighs", f"from {result.least} g to 5 %; accurate by USP <41>, {result.strict} g"
        )
    screen.row("not told", "whether it shows the truth: that takes a mass with a certificate.")
    return screen.text()


def meter_screen(result: MeterCalibrated, screen: Screen) -> str:
    """After `equipment calibrate`."""
    screen.title(f"{result.name}  calibrated", result.entry)
    screen.blank()
    at = f" at {result.at}" if result.at else ""
    for number, words in enumerate(result.buffers):
        screen.row("buffers" if not number else "", f"{words}{at}")
    if result.slope:
        screen.row("slope", f"{result.slope} % of Nernst's, {result.each} mV for one pH")
        screen.row("at pH 7", f"{result.at_seven} mV")
    if result.typed:
        screen.row("slope" if not result.slope else "", f"{result.typed} %, as the meter tells it")
    if result.in_order is False:
        screen.row(
            "old?",
            f"An electrode in order has {LEAST_STEEP} to {MOST_STEEP} %, and within {MOST_OFFSET}"
            " mV at pH 7. Clean it by its leaflet, take fresh buffers, and calibrate again; if it"
            " stays, it is worn.",
        )
    if len(result.buffers) == 1:
        screen.row("one buffer", "sets the offset only; the slope takes two, around what is read.")
    return screen.text()
