"""Marks that differ in shape, so that they are told apart without colour: grades, and series."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from labbook.show.plots.svg import SIZE, WIDTH, Drawing, figure, fitted, text_width

RADIUS = 4.0
REACH = 5.0
"""How far any mark reaches from its middle, its line included."""


def grade_mark(drawing: Drawing, x: float, y: float, grade: int | None) -> None:
    """A look: an empty ring for grade 0, filling up to a full square for 4; a stroke for none."""
    if grade is None:
        drawing.line("look", x, y - RADIUS, x, y + RADIUS, stroke_width=1.25)
        return
    if grade >= 4:
        side = 2 * RADIUS
        drawing.add(
            "rect", "look grade-4", x=x - RADIUS, y=y - RADIUS, width=side, height=side,
        )  # fmt: skip
        return
    name = f"look grade-{max(grade, 0)}"
    fill = "currentColor" if grade == 3 else "none"
    drawing.add(
        "circle", name, cx=x, cy=y, r=RADIUS, fill=fill, stroke="currentColor",
        stroke_width=1.25,
    )  # fmt: skip
    if grade == 1:
        drawing.add("circle", name, cx=x, cy=y, r=1.4)
    if grade == 2:
        top, bottom, r = figure(y - RADIUS), figure(y + RADIUS), figure(RADIUS)
        drawing.add("path", name, d=f"M{figure(x)} {top}A{r} {r} 0 0 1 {figure(x)} {bottom}Z")


def failure_bar(drawing: Drawing, x: float, y: float) -> None:
    """The end of a line: the look beside it found the jar failed."""
    drawing.line("failed", x + REACH + 2, y - 7, x + REACH + 2, y + 7, stroke_width=2)


SHAPES = 6
"""Series that have a shape of their own; of more each one has a letter instead."""


def series_letter(number: int) -> str:
    """The letter of a series, `a` for the first; after 26 they begin again."""
    return chr(ord("a") + number % 26)


def series_mark(drawing: Drawing, x: float, y: float, number: int, of: int) -> None:
    """A point of a series: ring, disc, square, full square, diamond, full diamond; else a letter.

    Args:
        drawing: what it is painted on.
        x: its middle.
        y: its middle.
        number: which series it is, from 0.
        of: how many series there are.
    """
    if of > SHAPES:
        drawing.words(f"point series-{number}", x, y + 4, series_letter(number), "middle")
        return
    kind = number
    fill = "currentColor" if kind % 2 else "none"
    style: dict[str, float | str] = {"fill": fill, "stroke": "currentColor", "stroke_width": 1.25}
    name = f"point series-{kind}"
    if kind < 2:
        drawing.add("circle", name, cx=x, cy=y, r=3.5, **style)
    elif kind < 4:
        drawing.add("rect", name, x=x - 3.2, y=y - 3.2, width=6.4, height=6.4, **style)
    else:
        up, down, left, right = (figure(v) for v in (y - 4.3, y + 4.3, x - 4.3, x + 4.3))
        middle, level = figure(x), figure(y)
        d = f"M{middle} {up}L{right} {level}L{middle} {down}L{left} {level}Z"
        drawing.add("path", name, d=d, **style)


# What the marks mean ------------------------------------------------------------------------------

Sample = Callable[[Drawing, float, float], float]
"""Paints a sample whose left end is at x, on the middle line y; returns its width."""


def legend(drawing: Drawing, entries: Sequence[tuple[Sample | None, str]], y: float) -> float:
    """Samples and their words, flowing over as many lines as they take; returns the end below."""
    x = 6.0
    for sample, words in entries:
        told = fitted(words, WIDTH - (60 if sample else 16))
        room = text_width(told) + (34 if sample else 0)
        if x > 6 and x + room > WIDTH - 2:
            x, y = 6.0, y + SIZE * 1.5
        if sample:
            x += sample(drawing, x, y + 8) + 5
        drawing.words("key", x, y + SIZE, told)
        x += text_width(told) + 13
    return y + SIZE * 1.5 if entries else y
