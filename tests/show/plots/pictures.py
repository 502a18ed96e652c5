"""Pictures to draw: of any shape for the laws, of the sample for the eye; how an SVG is read."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from xml.etree import ElementTree as Et

import hypothesis.strategies as st

from labbook.evidence.curves import formula_curve
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.timeline import Watched
from labbook.model.results.looking import CYCLES, DAYS, FAILED, INTACT, JarOutcome
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
from labbook.show.plots.svg import text_width
from tests.journal.hostile import CORPUS
from tests.journal.sample_book import BOOK

# The sample ---------------------------------------------------------------------------------------


def watched(short: str) -> Watched:
    """A batch of the sample."""
    id_, batch = next((i, b) for i, b in BOOK.batches.items() if b.short == short)
    formula = BOOK.formulas[batch.formula.code]
    return Watched(batch, BOOK.jars.get(id_), BOOK.stability.get(id_), formula)


SBC = [watched(b.short) for b in BOOK.batches.values() if b.formula.code == "SBC"]


def sample_curve() -> CurvePicture:
    """The curve of the sample's hand cream."""
    found = formula_curve("SBC", SBC)
    assert not isinstance(found, Refusal)
    return found


# Anything -----------------------------------------------------------------------------------------

WORDS = st.one_of(st.text(max_size=30), st.sampled_from([word[:300] for word in CORPUS]))
DAYS_OF = st.one_of(
    st.floats(0, 1), st.integers(0, 400).map(float), st.floats(0, 1e5), st.just(0.0)
)
UNITS = st.sampled_from([DAYS, CYCLES])
GRADES = st.one_of(st.none(), st.integers(0, 9))


@st.composite
def rows(draw: st.DrawFn) -> JarRow:
    """A jar with looks in any order, perhaps failed, perhaps moved."""
    looks = draw(st.lists(st.builds(
        Mark, day=DAYS_OF, point=DAYS_OF, unit=UNITS, grade=GRADES, failed=st.booleans(),
        condition=WORDS,
    ), max_size=8))  # fmt: skip
    failing = min((mark.day for mark in looks if mark.failed), default=None)
    outcomes = st.one_of(st.none(), st.builds(
        JarOutcome, batch=WORDS, jar=WORDS, condition=WORDS, group=st.just("separation"),
        unit=UNITS, state=st.sampled_from([FAILED, INTACT, "not watched"]),
        last_intact=st.one_of(st.none(), DAYS_OF), first_failed=st.one_of(st.none(), DAYS_OF),
    ))  # fmt: skip
    stays = draw(st.lists(
        st.builds(JarStay, condition=WORDS, start=DAYS_OF, outcome=outcomes), max_size=3,
    ))  # fmt: skip
    return JarRow(
        name=draw(WORDS),
        of=draw(WORDS),
        stays=tuple(stays),
        looks=tuple(looks),
        failed_from=None if failing is None else failing * draw(st.floats(0, 1)),
        failed_at=failing,
        young=draw(st.booleans()),
        while_making=draw(st.booleans()),
    )


TIMELINES = st.builds(
    Timeline,
    subject=WORDS,
    groups=st.lists(
        st.builds(JarGroup, heading=WORDS, rows=st.lists(rows(), max_size=4).map(tuple)),
        max_size=3,
    ).map(tuple),
    left_out=st.integers(0, 3),
)


@st.composite
def curve_lines(draw: st.DrawFn) -> CurveLine:
    """A curve that never rises, of pieces that touch."""
    ages = [0.0, *sorted(draw(st.sets(st.floats(0.01, 4000), max_size=5)))]
    shares = sorted(draw(st.lists(st.floats(0, 1), min_size=2 * len(ages), max_size=2 * len(ages))))
    shares.reverse()
    pieces = []
    for number, (start, end) in enumerate(pairwise(ages)):
        high, low = shares[2 * number : 2 * number + 2]
        pieces.append(CurvePiece(start, end, high if draw(st.booleans()) else low, high))
    return CurveLine(
        name=draw(WORDS), of=draw(st.integers(1, 400)), failed=draw(st.integers(0, 400)),
        while_making=draw(st.floats(0, 1)), pieces=tuple(pieces),
        last_intact=tuple(draw(st.lists(DAYS_OF, max_size=12))),
    )  # fmt: skip


CURVES = st.builds(
    CurvePicture, subject=WORDS, event=WORDS, condition=WORDS,
    lines=st.lists(curve_lines(), max_size=6).map(tuple),
    counted=st.sampled_from(["batches", "jars"]), unit=UNITS,
)  # fmt: skip

VALUES = st.one_of(st.floats(-1e6, 1e6), st.floats(4, 7), st.just(5.0))
PATHS = st.lists(st.tuples(DAYS_OF, VALUES), max_size=5).map(tuple)
TRENDS = st.builds(
    TrendPicture, subject=WORDS, reading=WORDS, unit=WORDS,
    points=st.lists(st.builds(
        TrendPoint, age=DAYS_OF, value=VALUES, series=WORDS, spread=st.floats(0, 10)
    ), max_size=12).map(tuple),
    lines=st.lists(
        st.builds(TrendLine, name=WORDS, line=PATHS, bound=PATHS), max_size=3
    ).map(tuple),
    limits=st.lists(st.tuples(VALUES, WORDS), max_size=3).map(tuple), why=WORDS,
)  # fmt: skip

CROWDED = st.builds(
    TrendPicture, subject=WORDS, reading=WORDS, unit=WORDS,
    points=st.lists(st.builds(
        TrendPoint, age=st.sampled_from([1.0, 2.0, 7.0, 14.0, 28.0]),
        value=st.integers(90, 110).map(lambda tenth: tenth / 20),
        series=st.integers(0, 30).map(lambda number: f"J{number}"), spread=st.floats(0, 0.2),
    ), min_size=8, max_size=60).map(tuple),
    limits=st.lists(st.tuples(st.floats(4.5, 5.5), st.just("at least")), max_size=2).map(tuple),
)  # fmt: skip
"""Readings of many jars, all close together."""

# Reading an SVG -----------------------------------------------------------------------------------

NS = "{http://www.w3.org/2000/svg}"
_LINES_OVERLAP = 2.0
"""How far the boxes of two lines may reach into each other: no letter fills its box."""

TAGS = {"svg", "title", "desc", "line", "circle", "rect", "path", "text"}


@dataclass(frozen=True)
class Box:
    """What an element covers, its stroke included."""

    element: Et.Element
    left: float
    top: float
    right: float
    bottom: float

    def has(self, word: str) -> bool:
        """Whether the element has a class."""
        return word in self.element.get("class", "").split()


def read(svg: str) -> tuple[Et.Element, list[Box]]:
    """The picture and what it paints; fails where it is no XML, or has a tag it may not have."""
    root = Et.fromstring(svg)
    assert root.tag == NS + "svg"
    assert root.get("role") == "img"
    assert [child.tag for child in root[:2]] == [NS + "title", NS + "desc"]
    assert all((child.text or "").strip() for child in root[:2])
    boxes = []
    for element in root[2:]:
        assert element.tag.removeprefix(NS) in TAGS
        assert not list(element)
        for name in element.attrib:
            assert name not in ("style", "href") and not name.startswith("on"), name
        boxes.append(_box(element))
    return root, boxes


def _box(element: Et.Element) -> Box:
    half = float(element.get("stroke-width", "0")) / 2
    at = {key: float(element.get(key, "0")) for key in
          ("x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "width", "height")}  # fmt: skip
    kind = element.tag.removeprefix(NS)
    if kind == "line":
        # Lines end where they end: only across do they have a width.
        level = at["y1"] == at["y2"]
        dx, dy = (0.0, half) if level else (half, 0.0)
        left, right = sorted((at["x1"], at["x2"]))
        top, bottom = sorted((at["y1"], at["y2"]))
        return Box(element, left - dx, top - dy, right + dx, bottom + dy)
    if kind == "circle":
        r = at["r"] + half
        return Box(element, at["cx"] - r, at["cy"] - r, at["cx"] + r, at["cy"] + r)
    if kind == "rect":
        return Box(element, at["x"] - half, at["y"] - half, at["x"] + at["width"] + half,
                   at["y"] + at["height"] + half)  # fmt: skip
    if kind == "path":
        pairs = list(_points(element.get("d", "")))
        xs, ys = [x for x, _ in pairs], [y for _, y in pairs]
        return Box(element, min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half)
    assert kind == "text"
    wide = text_width(element.text or "")
    back = {"end": 1.0, "middle": 0.5}.get(element.get("text-anchor", ""), 0.0)
    left = at["x"] - wide * back
    return Box(element, left, at["y"] - 10, left + wide, at["y"] + 3.5)


def _points(d: str) -> Iterator[tuple[float, float]]:
    """The points of a path of moves and lines; of an arc its end."""
    for letter, figures in re.findall(r"([MLAZ])([^MLAZ]*)", d):
        numbers = [float(number) for number in figures.split()]
        if letter != "Z":
            yield numbers[-2], numbers[-1]


def must_be_apart(boxes: list[Box]) -> None:
    """No two words touch, as far as a stand-in for fonts can tell."""
    words = [box for box in boxes if box.element.tag == f"{NS}text"]
    words.sort(key=lambda box: box.top)
    for number, one in enumerate(words):
        for other in words[number + 1 :]:
            if other.top >= one.bottom - _LINES_OVERLAP:
                break
            beside = other.left >= one.right - 0.1 or one.left >= other.right - 0.1
            assert beside, (one.element.text, other.element.text)


def must_be_inside(svg: str) -> list[Box]:
    """Nothing sticks out of the picture, as far as a stand-in for fonts can tell."""
    root, boxes = read(svg)
    _, _, width, height = (float(number) for number in root.get("viewBox", "").split())
    assert (width, height) == (float(root.get("width", "")), float(root.get("height", "")))
    assert width == 320
    for box in boxes:
        here = Et.tostring(box.element, encoding="unicode")
        assert box.left >= -0.1 and box.top >= -0.1, here
        assert box.right <= width + 0.1 and box.bottom <= height + 0.1, (here, width, height)
    return boxes
