"""What holds for every picture: XML, inside its own box, words as words, order kept."""

from itertools import pairwise

import pytest
from hypothesis import given, settings

from labbook.model.results.pictures import CurvePicture, Timeline, TrendPicture
from labbook.show.layout import Screen, clean, columns_of
from labbook.show.plots.axis import day_scale, day_ticks, value_ticks
from labbook.show.plots.curve import curve_svg
from labbook.show.plots.lines import last_look, until
from labbook.show.plots.marks import SHAPES, series_letter
from labbook.show.plots.svg import fitted, text_width
from labbook.show.plots.tables import curve_markdown, timeline_markdown, trend_markdown
from labbook.show.plots.terminal import curve_screen, timeline_screen, trend_screen
from labbook.show.plots.timeline import apart, last_day, timeline_svg
from labbook.show.plots.trend import trend_svg
from labbook.show.plots.words import series_of
from tests.show.plots.pictures import (
    CROWDED,
    CURVES,
    DAYS_OF,
    TIMELINES,
    TRENDS,
    VALUES,
    must_be_apart,
    must_be_inside,
)

FEWER = settings(max_examples=30)


@FEWER
@given(TIMELINES)
def test_a_timeline_stays_inside_and_keeps_the_order_of_its_jars(found: Timeline) -> None:
    boxes = must_be_inside(timeline_svg(found))
    names = [box for box in boxes if box.has("name")]
    wanted = [row.name for row in found.rows if clean(row.name)]
    assert len(names) == len(wanted)
    for box, name in zip(names, wanted, strict=True):
        assert (box.element.text or "").rstrip("…").strip() in clean(name)
    assert all(one.bottom < other.bottom for one, other in pairwise(names))


@FEWER
@given(TIMELINES)
def test_marks_of_a_jar_do_not_touch_and_the_failure_is_among_them(found: Timeline) -> None:
    scale = day_scale(last_day(found.rows), 100.0, 306.0)
    bars = [box for box in must_be_inside(timeline_svg(found)) if box.has("failed")]
    failed = [row for row in found.rows if any(mark.failed for mark in row.looks)]
    assert len(bars) == len(failed) + bool(failed)  # and one in the key
    for row in found.rows:
        drawn = list(apart(row, scale))
        assert all(scale(b.day) - scale(a.day) >= 10 - 1e-6 for a, b in pairwise(drawn))
        for first in [min((m for m in row.looks if m.failed), key=lambda m: m.day, default=None)]:
            assert first is None or any(mark.failed and mark.day == first.day for mark in drawn)
        worst = max((mark.grade or 0 for mark in row.looks), default=0)
        if row.looks and row.failed_at is None:
            assert max(mark.grade or 0 for mark in drawn) == worst


@FEWER
@given(CURVES)
def test_a_curve_stays_inside_and_shows_what_is_not_determined(found: CurvePicture) -> None:
    boxes = must_be_inside(curve_svg(found))
    drawn = found.lines[:4]
    bands = [box for box in boxes if box.has("band")]
    loose = sum(piece.low != piece.high for line in drawn for piece in line.pieces)
    assert len(bands) == loose + bool(loose)


@FEWER
@given(TRENDS)
def test_a_trend_stays_inside_and_ends_with_the_last_look(found: TrendPicture) -> None:
    must_be_inside(trend_svg(found))
    last = last_look(found)
    for line in found.lines:
        for path in (line.line, line.bound):
            assert all(age <= last for age, _ in until(path, last))


@FEWER
@given(TIMELINES, CURVES, TRENDS, CROWDED)
def test_no_two_words_of_a_picture_touch(
    timeline: Timeline, curve: CurvePicture, trend: TrendPicture, crowded: TrendPicture
) -> None:
    for svg in (timeline_svg(timeline), curve_svg(curve), trend_svg(trend), trend_svg(crowded)):
        must_be_apart(must_be_inside(svg))


@FEWER
@given(CROWDED)
def test_where_points_crowd_each_has_a_dot_and_its_letter_stands_near(
    crowded: TrendPicture,
) -> None:
    boxes = must_be_inside(trend_svg(crowded))
    series = series_of(crowded)
    if len(series) <= SHAPES:
        return
    dots = [box for box in boxes if box.has("point") and box.element.tag.endswith("circle")]
    assert len(dots) == len(crowded.points)
    letters = "".join(box.element.text or "" for box in boxes if box.has("letters"))
    assert set(letters) <= {series_letter(number) for number in range(len(series))}
    assert letters


@FEWER
@given(TIMELINES, CURVES, TRENDS)
@pytest.mark.parametrize("width", [30, 50, 80])
def test_screens_keep_to_their_columns(
    width: int, timeline: Timeline, curve: CurvePicture, trend: TrendPicture
) -> None:
    for plain in (False, True):
        texts = (
            timeline_screen(timeline, Screen(width, ascii=plain)),
            curve_screen(curve, Screen(width, ascii=plain)),
            trend_screen(trend, Screen(width, ascii=plain)),
        )
        for text in texts:
            for line in text.splitlines():
                assert columns_of(line) <= width, line
                typed = set(repr((timeline, curve, trend)))
                assert not plain or not set(line) & (set("─╌·┃›░┄") - typed)


@FEWER
@given(TIMELINES, CURVES, TRENDS)
def test_markdown_refers_to_the_picture_and_has_its_figures(
    timeline: Timeline, curve: CurvePicture, trend: TrendPicture
) -> None:
    for text in (
        timeline_markdown(timeline, "../pictures/x.svg"),
        curve_markdown(curve, "../pictures/x.svg"),
        trend_markdown(trend, "../pictures/x.svg"),
    ):
        first, _, rest = text.partition("\n")
        assert first.startswith("![")
        assert first.endswith("](../pictures/x.svg)")
        assert "<" not in text
        assert "\n![" not in rest
    rows = timeline_markdown(timeline, "x").count("\n| ") - 1
    assert rows == len(timeline.rows) + 1
    readings = trend_markdown(trend, "x").split("\n\n")[1].count("\n| ") - 1
    assert readings == len(trend.points)


@given(DAYS_OF)
def test_days_under_an_axis_never_touch_and_begin_with_0(last: float) -> None:
    for roots in (True, False):
        scale = day_scale(last, 100.0, 306.0, roots=roots)
        ticks = day_ticks(scale)
        assert ticks[0] == 0
        assert len(ticks) >= 2
        for one, other in pairwise(ticks):
            half = (text_width(str(one)) + text_width(str(other))) / 2
            assert scale(other) - scale(one) >= half + 7 - 1e-6
        assert ticks[-1] <= scale.high


@given(VALUES, VALUES)
def test_values_at_an_axis_cover_the_range(one: float, other: float) -> None:
    low, high = sorted((one, other))
    ticks, digits = value_ticks(low, high)
    assert 2 <= len(ticks) <= 6
    hair = max(high - low, abs(high) * 1e-9, 1e-9) * 1e-6
    assert ticks[0] <= low + hair
    assert ticks[-1] >= high - hair
    assert digits >= 0


def test_words_are_cut_where_there_is_no_room() -> None:
    assert fitted("freeze-thaw", 200) == "freeze-thaw"
    cut = fitted("a shelf above the kiln", 60)
    assert cut.endswith("…")
    assert text_width(cut) <= 60
    assert fitted("anything", 2) == ""
