"""Pictures in a browser: words and marks inside the picture, apart, in the page's own ink."""

import os
from dataclasses import replace
from pathlib import Path

import pytest

from labbook.evidence.timeline import batch_timeline, formula_timeline, horizon_of, jar_rows
from labbook.model.entry import Entry
from labbook.model.results.pictures import (
    CurveLine,
    CurvePicture,
    CurvePiece,
    TrendLine,
    TrendPicture,
    TrendPoint,
)
from labbook.show.plots.curve import curve_svg
from labbook.show.plots.timeline import timeline_svg
from labbook.show.plots.trend import trend_svg
from tests.browser.chromium import NAMES, Page
from tests.browser.journals import must_be_quiet
from tests.journal.sample_book import BOOK
from tests.journal.site import HTML, site_of
from tests.show.plots.pictures import SBC, watched

pytestmark = pytest.mark.needs_tool(*NAMES)

PICTURES = os.environ.get("JOURNAL_PICTURES", "")
"""A folder for screenshots, for those who want to look at them."""

BOXES = """[...document.querySelectorAll('svg.picture')].map(svg => {
  const view = svg.viewBox.baseVal, place = svg.getBoundingClientRect();
  const told = e => !e.getBBox || ['title', 'desc'].includes(e.tagName);
  const painted = [...svg.children].filter(e => !told(e));
  const box = e => { const b = e.getBBox(); return [b.x, b.y, b.x + b.width, b.y + b.height]; };
  const words = [...svg.querySelectorAll('text')].map(e => [e.textContent, ...box(e)]);
  const meet = (a, b) => a[1] < b[3] - .5 && b[1] < a[3] - .5 && a[2] < b[4] - 3 && b[2] < a[4] - 3;
  const beyond = b => b[0] < 0 || b[1] < 0 || b[2] > view.width || b[3] > view.height;
  return {
    name: svg.querySelector('title').textContent,
    out: painted.map(box).filter(beyond),
    touching: words.flatMap((a, i) =>
      words.slice(i + 1).filter(b => meet(a, b)).map(b => [a[0], b[0]])),
    size: parseFloat(getComputedStyle(words.length ? svg.querySelector('text') : svg).fontSize)
      * place.width / view.width,
    left: place.left, right: place.right,
    ink: getComputedStyle(svg).color,
  };
})"""


def _curve(*lines: CurveLine) -> str:
    found = CurvePicture(subject="SBC", event="separation", condition="room", lines=lines)
    return curve_svg(found)


def _line(name: str, *pieces: tuple[float, float, float, float]) -> CurveLine:
    return CurveLine(
        name=name, of=8, failed=5, while_making=0.125, last_intact=(1, 1, 7, 14, 28, 60, 90),
        pieces=tuple(CurvePiece(*piece) for piece in pieces),
    )  # fmt: skip


def _crowd() -> tuple[TrendPoint, ...]:
    """Readings of sixteen jars, close together; three of them end early."""
    return tuple(
        TrendPoint(age=day, value=5 + (jar * 7 % 5) / 100 + day / 2000, series=f"jar {jar}")
        for jar in range(16)
        for day in (1, 7, 14, 28, 60)[: 3 if jar < 3 else 5]
    )


def _pictures() -> list[str]:
    horizon = horizon_of(row for one in SBC for row in jar_rows(one))
    one = _line("SBC@1", (0, 1, 0.875, 0.875), (1, 7, 0.5, 0.875), (7, 90, 0.5, 0.5))
    other = _line("SBC@3", (0, 28, 1, 1), (28, 60, 0.25, 1))
    points = tuple(
        TrendPoint(age=day, value=5.4 - 0.003 * day + off, series=name, spread=0.05)
        for name, off in (("D4", 0.0), ("P9", 0.06), ("a name of many more words", -0.1))
        for day in (1, 7, 14, 28, 60, 90)
    )
    line = TrendLine(name="", line=((0, 5.4), (90, 5.13)), bound=((0, 5.3), (90, 5.0)))
    limits = ((4.8, "at least"),)
    return [
        timeline_svg(batch_timeline(watched("K2"), horizon)),
        timeline_svg(formula_timeline("SBC", SBC)),
        _curve(one),
        _curve(one, other),
        trend_svg(
            TrendPicture(subject="SHL", reading="pH", points=points, lines=(line,), limits=limits)
        ),
        trend_svg(TrendPicture(subject="SHL", reading="mass", unit="g", points=points[:3])),
        trend_svg(TrendPicture(subject="SHL", reading="pH", points=_crowd(), limits=limits)),
    ]


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page of all kinds of pictures, with the journal's stylesheet."""
    folder = tmp_path_factory.mktemp("sheet")
    (folder / "journal.css").write_text(HTML["journal.css"], encoding="utf-8")
    figures = "".join(f"<p>Words above it.</p><figure>{svg}</figure>" for svg in _pictures())
    page = folder / "page.html"
    page.write_text(
        '<!doctype html><html lang="en"><meta charset="utf-8"><title>Pictures</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<link rel="stylesheet" href="journal.css"><main><h1>Pictures</h1>{figures}</main>',
        encoding="utf-8",
    )
    return page


@pytest.mark.parametrize("width", [320, 390, 1200])
@pytest.mark.parametrize(
    ("media", "dark"), [("", False), ("", True), ("print", False)], ids=["light", "dark", "print"]
)
def test_words_stay_inside_and_apart_and_can_be_read(
    page: Page, sheet: Path, width: int, media: str, dark: bool
) -> None:
    page.open(sheet, width=width, media=media, dark=dark)
    found = page.evaluate(BOXES)
    assert len(found) == 7
    for one in found:
        assert one["out"] == [], one["name"]
        assert one["touching"] == [], one["name"]
        assert 10 <= one["size"] <= 17, one
        assert one["left"] >= 0
        assert one["right"] <= width
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        page.picture(
            Path(PICTURES) / f"pictures-{width}-{media or ('dark' if dark else 'light')}.png"
        )


def test_the_ink_is_that_of_the_page(page: Page, sheet: Path) -> None:
    inks = set()
    for media, dark in (("", False), ("", True), ("print", False)):
        page.open(sheet, media=media, dark=dark)
        ink = page.evaluate("getComputedStyle(document.body).color")
        assert {one["ink"] for one in page.evaluate(BOXES)} == {ink}
        inks.add(ink)
    assert len(inks) == 3


def test_the_watch_sees_words_that_touch_or_stick_out(page: Page, tmp_path: Path) -> None:
    file = tmp_path / "bad.html"
    file.write_text(
        '<svg class="picture" viewBox="0 0 100 20" width="100"><title>a</title><desc>b</desc>'
        '<text x="2" y="12">some words</text>'
        '<text x="20" y="12">and others that run on</text></svg>',
        encoding="utf-8",
    )
    page.open(file)
    (found,) = page.evaluate(BOXES)
    assert found["out"]
    assert found["touching"]


def test_in_the_journal_a_picture_asks_for_nothing_and_tells_what_it_shows(
    page: Page, tmp_path: Path
) -> None:
    text = "```labbook\ncurve SBC\n```\n\n```labbook\ntimeline 9t\n```\n"
    entry = Entry(path="journal/a.md", name="a", title="A", date=None, public="yes", text=text)
    for path, raw in site_of(replace(BOOK, entries=(entry,))).files.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_bytes(raw)
    for name, number in (("entries/a", 2), ("formulas/SBC", 2), ("batches/SBC-260122-9T", 1)):
        page.open(tmp_path / f"{name}.html", width=320)
        must_be_quiet(page, tmp_path)
        found = page.evaluate(BOXES)
        assert len(found) == number
        assert all(one["out"] == [] and one["touching"] == [] for one in found)
        if PICTURES:
            page.picture(Path(PICTURES) / f"journal-{name.replace('/', '-')}.png")
    alone = tmp_path / "markdown/pictures/timeline-SBC.svg"
    page.open(alone)
    assert page.complaints == []
    assert {url for url in page.asked_for if not url.endswith("icon.svg")} == {alone.as_uri()}
