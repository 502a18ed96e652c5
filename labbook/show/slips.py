"""Too much of something, in words: the three ways on and what each of them does."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.results.common import Next
from labbook.model.results.making import TooMuch
from labbook.show.layout import Screen


def choices(slip: TooMuch) -> dict[str, str]:
    """The ways on that are open, by the digit that chooses each."""
    leave = "leave it"
    if slip.leave_size:
        leave += f": {slip.leave_percent} % of {slip.leave_size} g"
    found = {"1": leave}
    if slip.rest_size:
        found["2"] = f"weigh the rest up to it: {slip.rest_size} g in all"
        if slip.cant_follow:
            names = ", ".join(slip.cant_follow)
            found["2"] += f"; combined already, can't follow: {names}"
    if not slip.combined:
        found["3"] = "it was taken out again"
    return found


def slip_rows(slips: Sequence[TooMuch], screen: Screen) -> None:
    """Each line that got too much, with its ways on."""
    for number, slip in enumerate(slips):
        screen.row("too much" if not number else "", f"{slip.ingredient}, {slip.over} g over")
        ways = {"1": "", "2": " --rest", "3": " --out"}
        for digit, text in choices(slip).items():
            option = f" ({ways[digit].strip()})" if ways[digit] else ""
            screen.row("", f"  {text}{option}")
        if slip.combined:
            screen.row("", "  It is combined already and can't be taken out.")


def slip_commands(short: str, slips: Sequence[TooMuch]) -> list[Next]:
    """The commands for the ways on that need one; leaving it needs none."""
    if len(slips) != 1:
        return []
    slip, found = slips[0], []
    if slip.rest_size:
        command = f"labbook weigh {short} {slip.ingredient} --rest"
        found.append(Next(command, "weighs the rest up to it"))
    if not slip.combined:
        found.append(Next(f"labbook weigh {short} {slip.ingredient} --out", "it was taken out"))
    return found
