"""The curve as SVG: the share intact by age, a line where it is determined, a band where not."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.model.results.looking import DAYS
from labbook.model.results.pictures import CurveLine, CurvePicture
from labbook.show.outcomes import point_words
from labbook.show.parts import plural
from labbook.show.plots.axis import Scale, day_scale, day_ticks, draw_days
from labbook.show.plots.marks import Sample, legend
from labbook.show.plots.svg import WIDTH, Drawing, text_width
from labbook.show.plots.words import curve_title, curve_words, span_words

DASHES = ("", "7 3", "2 2.5", "9 3 2 3")
"""A manner of drawing for each line; pictures of more lines name the others in the table alone."""

_TOP, _BOTTOM = 30.0, 148.0
_LEFT, _RIGHT = 46.0, WIDTH - 10
_NUDGE = 2.4


def curve_svg(found: CurvePicture, *, paper: bool = False) -> str:
    """The curves over each other, in four manners at most; see `Drawing.svg` for `paper`."""
    drawing = Drawing()
    drawn = found.lines[: len(DASHES)]
    last = max((piece.end for line in drawn for piece in line.pieces), default=1.0)
    across = day_scale(last, _LEFT, _RIGHT)
    upward = Scale(0.0, 1.0, _BOTTOM, _TOP)
    drawing.words("faint", 2, 12, f"share of {found.counted} intact")
    for share in (0, 0.5, 1):
        y = upward(share)
        drawing.line("guide", _LEFT, y, _RIGHT, y, stroke_width=0.5, stroke_opacity="0.25")
        drawing.words("tick", _LEFT - 6, y + 4, f"{share * 100:.0f} %", "end")
    for number, line in enumerate(drawn):
        _draw_bands(drawing, across, upward, line, number)
    for number, line in enumerate(drawn):
        _draw_line(drawing, across, upward, line, number)
    base = _BOTTOM + _NUDGE * max(0, len(drawn) - 1) + 3
    y = draw_days(drawing, across, base, "days since filling" if found.unit == DAYS else found.unit)
    y = _draw_watched(drawing, across, found, y)
    y = legend(drawing, list(_meanings(found)), y + 2)
    return drawing.svg("curve", curve_title(found), curve_words(found), y + 4, paper=paper)


def _style(number: int, thick: float) -> dict[str, float | str]:
    style: dict[str, float | str] = {"stroke_width": thick}
    return {**style, "stroke_dasharray": DASHES[number]} if DASHES[number] else style


def _draw_bands(
    drawing: Drawing, across: Scale, upward: Scale, line: CurveLine, number: int
) -> None:
    """The stretches in which the share is not determined, between both bounds."""
    for piece in line.pieces:
        if piece.low == piece.high:
            continue
        x1, x2 = across(piece.start), across(piece.end)
        y1, y2 = (upward(share) + _NUDGE * number for share in (piece.high, piece.low))
        drawing.add(
            "rect", f"band line-{number}", x=x1, y=y1, width=x2 - x1, height=y2 - y1,
            fill_opacity="0.12",
        )  # fmt: skip
        for y in (y1, y2):
            drawing.line(f"bound line-{number}", x1, y, x2, y, **_style(number, 0.75))


def _draw_line(
    drawing: Drawing, across: Scale, upward: Scale, line: CurveLine, number: int
) -> None:
    """The stretches in which it is determined; a failure while making drops it at day 0."""
    shift = _NUDGE * number
    if line.while_making:
        y1, y2 = upward(1) + shift, upward(1 - line.while_making) + shift
        drawing.line(f"sure line-{number}", across(0), y1, across(0), y2, **_style(number, 1.75))
    for piece in line.pieces:
        if piece.low == piece.high:
            y = upward(piece.low) + shift
            x1, x2 = across(piece.start), across(piece.end)
            drawing.line(f"sure line-{number}", x1, y, x2, y, **_style(number, 1.75))


def _draw_watched(drawing: Drawing, across: Scale, found: CurvePicture, y: float) -> float:
    """How many each line still rests on, under the days; returns where it ends below."""
    lines = [(n, line) for n, line in enumerate(found.lines[: len(DASHES)]) if line.last_intact]
    if not lines:
        return y
    y += 10
    drawing.words("faint", 2, y, f"{found.counted} seen intact then, or later:")
    days = day_ticks(across, width=lambda text: max(text_width(text), 20.0))
    for number, line in lines:
        y += 15
        if len(lines) > 1:
            drawing.line(f"sure line-{number}", 2, y - 4, 28, y - 4, **_style(number, 1.75))
        for day in days:
            drawing.words("count", across(day), y, str(line.watched(day)), "middle")
    return y + 6


def _meanings(found: CurvePicture) -> Iterator[tuple[Sample | None, str]]:
    drawn = found.lines[: len(DASHES)]
    for number, line in enumerate(drawn):
        yield _stroke(number), f"{line.name}: {line.failed} of {line.of} failed"
        if line.bounds is not None:
            at = point_words(line.pieces[-1].end, found.unit)
            yield None, f"95 % bounds, {at}: {span_words(*line.bounds)}"
    if any(piece.low != piece.high for line in drawn for piece in line.pieces):
        yield _band, "somewhere in here"
    rest = len(found.lines) - len(drawn)
    if rest:
        yield None, f"{plural(rest, 'more line')} not drawn; the table has them"


def _stroke(number: int) -> Sample:
    def paint(drawing: Drawing, x: float, y: float) -> float:
        drawing.line(f"sure line-{number}", x, y, x + 24, y, **_style(number, 1.75))
        return 24.0

    return paint


def _band(drawing: Drawing, x: float, y: float) -> float:
    drawing.add("rect", "band", x=x, y=y - 5, width=24, height=9, fill_opacity="0.12")
    drawing.line("bound", x, y - 5, x + 24, y - 5, stroke_width=0.75)
    drawing.line("bound", x, y + 4, x + 24, y + 4, stroke_width=0.75)
    return 24.0
