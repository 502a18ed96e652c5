"""Pictures of the sample, as they are printed, and one small SVG letter by letter."""

from dataclasses import replace

from labbook.evidence.timeline import batch_timeline, formula_timeline, horizon_of, jar_rows
from labbook.model.results.pictures import (
    CurveLine,
    CurvePicture,
    CurvePiece,
    JarGroup,
    JarRow,
    JarStay,
    Mark,
    Timeline,
    TrendLine,
    TrendPicture,
    TrendPoint,
)
from labbook.show.layout import Screen
from labbook.show.plots.curve import curve_svg
from labbook.show.plots.marks import SHAPES
from labbook.show.plots.tables import curve_markdown, timeline_markdown, trend_markdown
from labbook.show.plots.terminal import curve_screen, timeline_screen, trend_screen
from labbook.show.plots.timeline import timeline_svg
from labbook.show.plots.trend import trend_svg
from labbook.show.plots.words import percent, timeline_words
from tests.show.plots.pictures import SBC, must_be_inside, read, sample_curve, watched

HORIZON = horizon_of(row for one in SBC for row in jar_rows(one))
K2 = batch_timeline(watched("K2"), HORIZON)
ALL = formula_timeline("SBC, Studio hand cream", SBC)

K2_SCREEN = """\
The jars of K2, SBC@3, over days

K2.1        ───────0───────────0───────0───────────0  room intact 28
K2.2        ───────0───────────0───────0───────────0  fridge intact 28
K2.3        ───────0───────────0───────0───────────0  40 °C intact 28
K2.4        ────────────1╌╌╌3┃                        freeze-thaw failed 1-2
day         0      1    3      7       14         28

            Digits are grades, from 0, nothing seen, to 4, broken. ╌ is where a
            jar failed at some time. Days draw together to the right.
            Freeze-thaw outcomes count cycles.
"""

PLAIN_SCREEN = """\
The jars of 9T, SBC@2, over days

9T.1        -----0~~~~~~~3|                           room failed 1-7
9T.2        -----0-------0----0-------0------------1  fridge intact 60
9T.3        -----1~~~~~~~4|                           40 deg C failed 1-7
day         0    1  3    7    14      28          60

            Digits are grades, from 0, nothing seen, to 4, broken. ~ is where a
            jar failed at some time. Days draw together to the right.
"""

CURVE_SCREEN = """\
SBC, room: separation

SBC, all    1 of 8 batches failed; 86 % intact until day 90; the true share then
            may be 12 to over 99 %, at 95 %; 1 of 8 watched that long; nothing
            is known after day 90
100 %       ────░░░░░░
                ░░░░░░─────────────────────────────
 50 %

  0 %
day         0   1  3  7    14    28        60     90

            Share of batches intact; ░ is where it can't be told. Days draw
            together to the right.
"""


def test_the_jars_of_a_batch_on_the_terminal() -> None:
    assert timeline_screen(K2, Screen()) == K2_SCREEN
    assert timeline_screen(batch_timeline(watched("9T")), Screen(ascii=True)) == PLAIN_SCREEN


def test_the_curve_on_the_terminal() -> None:
    assert curve_screen(sample_curve(), Screen()) == CURVE_SCREEN


def test_the_words_of_a_batch_and_of_a_formula() -> None:
    assert timeline_words(K2) == (
        "4 jars of K2, SBC@3 over 28 days since filling. K2.1: room, intact on day 28."
        " K2.2: fridge, intact on day 28. K2.3: 40 °C, intact on day 28."
        " K2.4: freeze-thaw, failed between cycle 1 and cycle 2."
    )
    assert timeline_words(ALL).startswith(
        "25 jars of SBC, Studio hand cream over 90 days since filling. room: 7 jars intact at the"
        " last look; 9T.1 failed between day 1 and day 7; 7K.1 too young to compare."
    )
    for word in ("safe", "stable", "pass"):
        assert word not in timeline_words(ALL)


def test_the_looks_of_a_batch_as_a_table() -> None:
    text = timeline_markdown(K2, "../pictures/k2.svg")
    assert "| K2.4 | cycle\u00a01:\u00a01; cycle\u00a02:\u00a03 | freeze-thaw, failed betw" in text
    assert text.startswith("![4 jars of K2")


def test_the_shares_of_a_curve_as_a_table() -> None:
    text = curve_markdown(sample_curve(), "../pictures/c.svg")
    # Six of the seven that were still watched on day 7 held: 7K is known only until day 1.
    assert "| SBC, all | 1 of 8 | 0 to 1 | 100 % | 8 |" in text.replace("\u00a0", " ")
    assert "|  |  | 1 to 7 | 86 to 100 % | 6 |" in text.replace("\u00a0", " ")
    assert "|  |  | 7 to 90 | 86 % | 1 |" in text.replace("\u00a0", " ")


ONE = Timeline(
    subject="a <b> & \u202ec",
    groups=(
        JarGroup(
            heading="",
            rows=(
                JarRow(
                    name="1",
                    stays=(JarStay(condition="x", start=0.0),),
                    looks=(
                        Mark(day=1, point=1, grade=0),
                        Mark(day=4, point=4, grade=3, failed=True),
                    ),
                    failed_from=1,
                    failed_at=4,
                ),
            ),
        ),
    ),
)

ONE_SVG = """\
<svg xmlns="http://www.w3.org/2000/svg" class="picture timeline" role="img"\
 viewBox="0 0 320 85" width="320" height="85" font-family="Georgia, serif" font-size="12"\
 fill="currentColor">
<title>The jars of a &lt;b&gt; &amp; \\u202ec, over days</title>
<desc>1 jar of a &lt;b&gt; &amp; \\u202ec over 4 days since filling. 1: x, not looked at yet.</desc>
"""


def test_one_jar_letter_by_letter() -> None:
    # Room for the words to 32.7; day 4 at 306, and day 1 half-way by its root; gaps of 5 at marks.
    svg = timeline_svg(ONE)
    assert svg.startswith(ONE_SVG)
    row = [line for line in svg.splitlines() if 'y1="13.5"' in line or 'cy="13.5"' in line]
    assert row == [
        '<line class="watched" x1="32.7" y1="13.5" x2="164.3" y2="13.5" stroke="currentColor"'
        ' stroke-width="1.2"/>',
        '<line class="between" x1="174.3" y1="13.5" x2="301" y2="13.5" stroke="currentColor"'
        ' stroke-width="1.5" stroke-dasharray="5 3"/>',
        '<circle class="look grade-0" cx="169.3" cy="13.5" r="4" fill="none"'
        ' stroke="currentColor" stroke-width="1.2"/>',
        '<circle class="look grade-3" cx="306" cy="13.5" r="4" fill="currentColor"'
        ' stroke="currentColor" stroke-width="1.2"/>',
    ]


def test_a_file_stands_on_white_paper_and_a_page_takes_its_own_ink() -> None:
    alone, inline = timeline_svg(K2, paper=True), timeline_svg(K2)
    assert '<rect class="paper"' in alone
    assert 'color="#000000"' in alone
    assert "#" not in inline
    assert set(inline.splitlines()[1:]) <= set(alone.splitlines())


def test_grades_differ_in_shape_not_in_shade_alone() -> None:
    drawn = []
    for grade in (None, 0, 1, 2, 3, 4):
        row = JarRow(name="1", looks=(Mark(day=1, point=1, grade=grade),))
        found = Timeline(subject="", groups=(JarGroup(heading="", rows=(row,)),))
        boxes = [box for box in must_be_inside(timeline_svg(found)) if box.has("look")]
        half = boxes[: len(boxes) // 2]  # the other half is the key
        drawn.append(tuple((box.element.tag, box.element.get("fill")) for box in half))
    assert len(set(drawn)) == 6


def test_a_stretch_that_is_not_determined_has_a_band_and_no_line() -> None:
    line = CurveLine(
        name="a", of=4, failed=2, while_making=0.25,
        pieces=(CurvePiece(0, 7, 0.75, 0.75), CurvePiece(7, 28, 0.5, 0.75)),
    )  # fmt: skip
    found = CurvePicture(subject="S", event="separation", condition="room", lines=(line,))
    _, boxes = read(curve_svg(found))
    band = next(box for box in boxes if box.has("band"))
    sure = [box for box in boxes if box.has("sure") and box.bottom < 150]
    assert all(box.right <= band.left + 1 for box in sure)
    # 100 % stands at 30, 0 % at 148: the band from three quarters down to a half.
    assert (band.top, band.bottom) == (59.5, 89)


TREND = TrendPicture(
    subject="SHL",
    reading="pH",
    points=tuple(TrendPoint(age=d, value=5.4 - d / 300, series="D4") for d in (1, 7, 28, 90)),
    limits=((4.8, "at least"),),
    lines=(TrendLine(name="", line=((0, 5.4), (180, 4.8)), bound=((0, 5.3), (180, 4.1))),),
)


def test_nothing_is_said_or_drawn_beyond_the_last_look() -> None:
    _, boxes = read(trend_svg(TREND))
    last = max(box.right for box in boxes if box.has("point"))
    for box in boxes:
        if box.has("sure") or (box.has("bound") and box.element.tag.endswith("path")):
            assert box.right <= last
    said = trend_markdown(TREND, "x") + trend_screen(TREND, Screen())
    assert "180" not in said
    assert "4.1" not in said
    # Half-way between 5.4 and 4.8, and between 5.3 and 4.1.
    assert "goes from 5.4 to 5.1 on day 90, its one-sided bound to 4.7." in said


def test_without_a_line_there_is_a_range_and_the_reason() -> None:
    found = TrendPicture(
        subject="SHL", reading="pH", points=TREND.points[:3], why="3 ages; a line takes 5"
    )
    svg = trend_svg(found)
    assert "No line is drawn: 3 ages; a line takes 5." in svg
    _, boxes = read(svg)
    assert any(box.has("band") for box in boxes)
    assert not any(box.has("sure") for box in boxes)


def test_a_share_is_never_rounded_to_none_or_all() -> None:
    assert [percent(share) for share in (0, 0.001, 0.5, 0.999, 1)] == [
        "0 %", "under 1 %", "50 %", "over 99 %", "100 %",
    ]  # fmt: skip


def test_each_series_has_a_mark_of_its_own_however_many() -> None:
    for many in (6, 7, 12):
        points = tuple(
            TrendPoint(age=age, value=5 + n / 10, series=f"K2.{n}")
            for n in range(many)
            for age in (1, 7)
        )
        _, boxes = read(trend_svg(TrendPicture(subject="SBC", reading="spread", points=points)))
        marks = {
            (box.element.get("class"), box.element.get("fill"), box.element.text)
            for box in boxes if box.has("letters" if many > SHAPES else "point")
        }  # fmt: skip
        assert len(marks) == many


def test_a_curve_says_its_bounds_or_that_they_are_too_few() -> None:
    few = CurveLine(name="a", of=4, failed=1, pieces=(CurvePiece(0, 28, 0.75, 0.75),))
    more = replace(few, name="b", of=9, bounds=(0.431, 0.952))
    found = CurvePicture(subject="S", event="separation", condition="room", lines=(few, more))
    told = curve_screen(found, Screen())
    assert "75 % intact until day 28; too few for bounds" in " ".join(told.split())
    assert "the true share then may be 43 to 96 %, at 95 %" in " ".join(told.split())
    assert "95 % bounds, day 28: 43 to 96 %" in curve_svg(found)
    worst = replace(more, pieces=(CurvePiece(0, 365, 0.5, 0.5),), bounds=(0.004, 0.996))
    assert "day 365: under 1 to over 99 %" in curve_svg(replace(found, lines=(worst,)))
