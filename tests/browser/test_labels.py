"""Jar labels in a browser and on paper: true to size, nothing cut off, nothing executes."""

from __future__ import annotations

import os
import re
import zlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from labbook.model.results.labels import JarLabel, Labels, Sheet
from labbook.show.label_grid import GRIDS, PAPERS, Grid, fits, grid_for
from labbook.show.labels import QUIET, RULER, labels_page, qr_svg
from tests.browser.axe import grave
from tests.browser.chromium import NAMES, Page, browser
from tests.e2e.bench import ended, through_the_door
from tests.journal.hostile import CORPUS

pytestmark = pytest.mark.needs_tool(*NAMES)

PICTURES = os.environ.get("LABEL_PICTURES", "")
"""A folder for the pages as PDF, for those who want to look at them."""

POINT = 25.4 / 72
"""A point of PDF in mm (ISO 32000-1, 8.3.2.3: 1/72 in)."""

PIXEL = 25.4 / 96
"""What a length may lose or gain, in mm, where both ends go to the nearest whole pixel: 1/96 in,
CSS Values and Units 3, 5.2."""

STATE = """({
  acted: document.title === 'acted' || document.body.hasAttribute('data-acted'),
  strange: document.querySelectorAll(
    'script, iframe, object, embed, form, input, img, base, video, audio, a').length,
  handlers: [...document.querySelectorAll('*')].filter(
    e => [...e.attributes].some(a => a.name.startsWith('on') || a.name === 'style')).length,
  labels: document.querySelectorAll('.label').length,
  cut: [...document.querySelectorAll('.label')].filter(
    e => e.scrollHeight > e.clientHeight || e.scrollWidth > e.clientWidth).length,
  outside: [...document.querySelectorAll('.label')].filter(label =>
    [...label.querySelectorAll('*')].some(e => {
      const a = e.getBoundingClientRect(), b = label.getBoundingClientRect();
      return a.right > b.right + 1 || a.bottom > b.bottom + 1;
    })).length,
})"""
INCI = "Aqua, Helianthus Annuus Seed Oil, Polyglyceryl-3 Diisostearate, Cera Alba, Glycerin, "
ONE = Labels(
    batch="HC-260409-7K",
    large="7K",
    name="Hand cream for throwers",
    made="2026-04-09",
    jars=(JarLabel(jar="1", id="HC-260409-7K.1"),),
    paper="a4",
    trial=False,
    best_before="2026-12-31",
    earliest="oil-1 on 2027-01-31",
    undated=(),
    ingredients=(INCI * 2)[:-2],
    ingredients_note="a draft",
    cautions=("For the skin only, not into the eyes.", "Stop if your skin reacts."),
    watched="until day 90",
    outcome="",
)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with browser(tmp_path_factory.mktemp("profile")) as found:
        yield found


def filled(count: int, **changes: Any) -> Labels:
    jars = tuple(JarLabel(jar=str(n), id=f"HC-260409-7K.{n}") for n in range(1, count + 1))
    return replace(ONE, jars=jars, **changes)


def opened(page: Page, folder: Path, result: Labels) -> dict[str, Any]:
    """What the page is in the browser; it asked for nothing and complained of nothing."""
    file = folder / "labels.html"
    file.write_text(labels_page(result), encoding="utf-8")
    page.open(file)
    assert page.complaints == []
    assert page.asked_for == [file.as_uri()]
    found: dict[str, Any] = page.evaluate(STATE)
    assert (found["acted"], found["strange"], found["handlers"]) == (False, 0, 0)
    return found


# On paper -----------------------------------------------------------------------------------------


def boxes(raw: bytes) -> list[tuple[float, float]]:
    """The sizes of a PDF's pages in mm."""
    found = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", raw)
    return [(float(width) * POINT, float(height) * POINT) for width, height in found]


def rectangles(raw: bytes, *, cut: bool) -> list[tuple[float, float]]:
    """The sizes in mm of all rectangles that the pages are cut off at, or that they fill.

    Follows q, Q, cm and re, and W for cutting (ISO 32000-1, 8.4.4, 8.5.2 and 8.5.4); no page here
    is turned.
    """
    found = []
    for start in (m.end() for m in re.finditer(rb"stream\r?\n", raw)):
        try:
            text = zlib.decompressobj().decompress(raw[start:]).decode("latin-1")
        except zlib.error:
            continue
        x, y, stack = 1.0, 1.0, []
        lines = text.splitlines()
        for line, following in zip(lines, [*lines[1:], ""], strict=True):
            words = line.split()
            if line == "q":
                stack.append((x, y))
            elif line == "Q":
                x, y = stack.pop()
            elif words[-1:] == ["cm"]:
                x, y = x * float(words[0]), y * float(words[3])
            elif words[-1:] == ["re"] and following.startswith("W") is cut:
                width, height = float(words[2]) * x, float(words[3]) * y
                found.append((abs(width) * POINT, abs(height) * POINT))
    return found


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("grid", GRIDS)
def test_a_printed_label_measures_what_it_says(
    page: Page, tmp_path: Path, paper: str, grid: Grid
) -> None:
    """A4 is 210 × 297 mm (ISO 216), Letter 8.5 × 11 in (ANSI/ASME Y14.1).

    A label is cut off at its edge, a rectangle in the PDF. The ruler at the foot has to measure
    50 mm.
    """
    lists = [INCI[:40], *(INCI * times for times in range(4, 20))]
    sizes = [one for one in lists if grid_is(one, paper, grid)]
    assert sizes, f"no list of these takes {grid}"
    result = filled(grid.count + 1, paper=paper, ingredients=sizes[0])
    found = opened(page, tmp_path, result)
    assert (found["labels"], found["cut"], found["outside"]) == (grid.count + 1, 0, 0)
    raw = page.pdf()
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        Path(PICTURES, f"{paper}-{grid.count}.pdf").write_bytes(raw)
    assert boxes(raw) == [pytest.approx(PAPERS[paper], abs=PIXEL)] * 2
    size = (grid.width, grid.height)
    near = [one for one in rectangles(raw, cut=True) if one == pytest.approx(size, abs=3)]
    assert len(near) >= grid.count + 1
    assert near == [pytest.approx(size, abs=PIXEL)] * len(near)
    lines = [one[0] for one in rectangles(raw, cut=False) if one[1] < 2 * PIXEL and one[0] > 20]
    assert lines == [pytest.approx(RULER, abs=PIXEL)] * 2
    measured = page.evaluate("document.querySelector('.ruler').getBoundingClientRect().width")
    assert measured * 25.4 / 96 == pytest.approx(RULER, abs=0.05)
    code = page.evaluate("document.querySelector('.code').getBoundingClientRect().width")
    assert code * 25.4 / 96 == pytest.approx(grid.code, abs=0.05)


def grid_is(ingredients: str, paper: str, grid: Grid) -> bool:
    return grid_for(filled(1, paper=paper, ingredients=ingredients)) == grid


@pytest.mark.parametrize("paper", list(PAPERS))
def test_all_sheets_stay_clear_of_the_edge_and_of_the_ruler(
    page: Page, tmp_path: Path, paper: str
) -> None:
    """Printers leave about 6 mm white at every edge: common practice, no source."""
    opened(page, tmp_path, filled(24, paper=paper, ingredients=INCI[:40]))
    found = page.evaluate(
        """(() => { const box = e => document.querySelector(e).getBoundingClientRect();
        const sheet = box('.sheet'), first = box('.label'), last = box('.label:last-child');
        return [first.left - sheet.left, first.top - sheet.top, sheet.right - last.right,
          sheet.bottom - last.bottom, box('.ruler').top - last.bottom].map(
            x => x * 25.4 / 96); })()"""
    )
    assert min(found[:4]) >= 6
    assert found[4] > 0


def test_what_stands_beside_is_not_printed(page: Page, tmp_path: Path) -> None:
    file = tmp_path / "labels.html"
    file.write_text(labels_page(ONE), encoding="utf-8")
    told = "getComputedStyle(document.querySelector('.beside')).display"
    page.open(file)
    assert page.evaluate(told) == "block"
    page.open(file, media="print")
    assert page.evaluate(told) == "none"
    assert len(boxes(page.pdf())) == 1


# A sheet in use, and a sheet of one's own ---------------------------------------------------------

BOUGHT = Sheet(columns=3, rows=7, width=63.5, height=38.1, gaps=(2.5, 0.0), margin=(7.2, 15.1))
"""Figures as a pack of labels prints them: invented, of the usual kind."""


@pytest.mark.parametrize("start", [1, 2, 5, 24])
def test_a_sheet_in_use_goes_on_where_it_is_free(page: Page, tmp_path: Path, start: int) -> None:
    """Places count along the rows: place 5 of three columns is the second of the second row."""
    result = filled(3, ingredients=INCI[:40], start=start)
    grid = grid_for(result)
    assert grid == GRIDS[0]
    found = opened(page, tmp_path, result)
    assert (found["labels"], found["cut"], found["outside"]) == (3, 0, 0)
    seen = page.evaluate(PLACES)
    left, top = grid.corner("a4")
    expected = []
    for place in range(start - 1, start + 2):
        on_sheet = place % grid.count
        column, row = on_sheet % grid.columns, on_sheet // grid.columns
        across = left + column * (grid.width + grid.gaps[0])
        expected.append([place // grid.count, across, top + row * (grid.height + grid.gaps[1])])
    assert seen == [pytest.approx(one, abs=PIXEL) for one in expected]
    assert len(boxes(page.pdf())) == (2 if start == 24 else 1)


PLACES = """[...document.querySelectorAll('.label')].map(e => {
  const sheet = e.closest('.sheet'), box = one => one.getBoundingClientRect();
  const a = box(e), b = box(sheet);
  return [[...document.querySelectorAll('.sheet')].indexOf(sheet),
    (a.left - b.left) * 25.4 / 96, (a.top - b.top) * 25.4 / 96]; })"""


def test_a_bought_sheet_is_met_to_the_tenth_of_a_millimetre(page: Page, tmp_path: Path) -> None:
    result = filled(21, ingredients=INCI[:90], sheet=BOUGHT)
    found = opened(page, tmp_path, result)
    assert (found["labels"], found["cut"], found["outside"]) == (21, 0, 0)
    seen = page.evaluate(PLACES)
    assert seen[0] == pytest.approx([0, 7.2, 15.1], abs=PIXEL)
    assert seen[-1] == pytest.approx([0, 7.2 + 2 * 66, 15.1 + 6 * 38.1], abs=PIXEL)
    raw = page.pdf()
    assert boxes(raw) == [pytest.approx(PAPERS["a4"], abs=PIXEL)]
    near = [one for one in rectangles(raw, cut=True) if one == pytest.approx((63.5, 38.1), abs=2)]
    assert len(near) >= 21
    assert near == [pytest.approx((63.5, 38.1), abs=PIXEL)] * len(near)
    edge = page.evaluate("getComputedStyle(document.querySelector('.label')).outlineStyle")
    assert edge == "none"


def test_a_sheet_that_is_full_to_its_foot_has_no_ruler_on_a_label(
    page: Page, tmp_path: Path
) -> None:
    full = Sheet(columns=3, rows=7, width=70, height=42.4)
    opened(page, tmp_path, filled(21, ingredients=INCI[:90], sheet=full))
    assert page.evaluate("document.querySelectorAll('.ruler').length") == 0
    assert "plain paper first" in page.evaluate("document.querySelector('.beside').textContent")


# A reader of codes, and a checker of pages --------------------------------------------------------


@pytest.mark.parametrize("sheet", [None, BOUGHT])
def test_every_code_is_read_off_the_page_by_another_program(
    page: Page, tmp_path: Path, sheet: Sheet | None
) -> None:
    """The page as a picture, at the screen's 96 dots per inch: a third of what paper gets."""
    import zxingcpp
    from PIL import Image

    result = filled(6, ingredients=INCI[:60], sheet=sheet)
    opened(page, tmp_path, result)
    page.picture(tmp_path / "page.png")
    with Image.open(tmp_path / "page.png") as picture:
        found = zxingcpp.read_barcodes(picture.convert("L"))
    assert sorted(one.text for one in found) == [jar.id for jar in result.jars]
    assert {one.format for one in found} <= {
        zxingcpp.BarcodeFormat.QRCode,
        zxingcpp.BarcodeFormat.QRCodeModel2,
    }


@pytest.mark.parametrize("media", ["", "print"])
def test_axe_core_finds_no_serious_fault(page: Page, tmp_path: Path, media: str) -> None:
    file = tmp_path / "labels.html"
    for result in (ONE, filled(3, trial=True, start=4), filled(2, sheet=BOUGHT)):
        file.write_text(labels_page(result), encoding="utf-8")
        page.open(file, media=media)
        assert grave(page) == []


# Words --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("length", range(1, 20))
def test_nothing_is_cut_off_however_long_the_list(page: Page, tmp_path: Path, length: int) -> None:
    """Any grid that is chosen holds its words; a list that no label holds is left off, and said."""
    result = filled(3, ingredients=(INCI * length)[: 60 * length], trial=not length % 3)
    found = opened(page, tmp_path, result)
    assert (found["cut"], found["outside"]) == (0, 0)
    shown = page.evaluate("document.querySelectorAll('.list').length")
    assert shown == (3 if fits(result, grid_for(result)) else 0)
    said = page.evaluate("document.querySelector('.beside').textContent")
    assert ("it is too long" in said) is (shown == 0)


@pytest.mark.parametrize("name", ["Hand cream " * 30, "W" * 300, "i" * 300, "クリーム" * 60])
def test_a_long_name_is_cut_with_a_sign(page: Page, tmp_path: Path, name: str) -> None:
    found = opened(page, tmp_path, filled(3, name=name))
    assert (found["cut"], found["outside"]) == (0, 0)
    assert page.evaluate("document.querySelector('.name').textContent").endswith("…")


@pytest.mark.parametrize("number", range(len(CORPUS)))
def test_hostile_words_do_nothing(page: Page, tmp_path: Path, number: int) -> None:
    bad = CORPUS[number]
    opened(page, tmp_path, filled(2, name=bad[:200], ingredients=bad, watched=bad, outcome=bad))


def test_a_trial_says_so(page: Page, tmp_path: Path) -> None:
    opened(page, tmp_path, filled(1, trial=True, best_before=""))
    said = page.evaluate("document.querySelector('.label').innerText")
    assert "TEST ONLY, NOT FOR USE" in said
    assert "best before" not in said


def test_the_code_is_the_library_s_with_a_white_edge() -> None:
    """ISO/IEC 18004 asks for four white modules around; the path is read back dot by dot."""
    import segno

    svg = qr_svg("HC-260409-7K.1")
    matrix = segno.make_qr("HC-260409-7K.1", error="m").matrix
    side = len(matrix) + 2 * QUIET
    assert f'viewBox="0 0 {side} {side}"' in svg
    dark = {
        (int(x) + step, int(y))
        for x, y, run in re.findall(r"M(\d+) (\d+)h(\d+)v1", svg)
        for step in range(int(run))
    }
    expected = {
        (x + QUIET, y + QUIET) for y, row in enumerate(matrix) for x, dot in enumerate(row) if dot
    }
    assert dark == expected


# The command --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("labels")
    ended(through_the_door("demo", "studio", cwd=folder))
    return folder / "studio"


def test_the_sample_s_labels(page: Page, studio: Path, tmp_path: Path) -> None:
    for short in ("7K", "W3", "G2", "9T"):
        file = tmp_path / f"{short}.html"
        said = ended(through_the_door("batch", "labels", short, file, cwd=studio)).out
        assert "watched     the jar of" in said
        page.open(file)
        found = page.evaluate(STATE)
        assert found["labels"] >= 2
        assert (found["cut"], found["outside"], found["strange"]) == (0, 0, 0)
        assert page.complaints == []
        one = page.evaluate("document.querySelector('.label').innerText")
        assert f"{short}.1" in one.replace("\n", "")
        assert "Ingredients:" in one


def test_a_best_before_no_later_than_the_first_lot(studio: Path, tmp_path: Path) -> None:
    """The 20 % citric acid of the sample expires on 2026-07-08, before all else in 7K."""
    file = tmp_path / "a.html"
    words = ("batch", "labels", "7k", file, "--best-before")
    said = ended(through_the_door(*words, "2026-07-09", cwd=studio), 2).err
    assert "citric-acid-20-2601" in said
    assert not file.exists()
    ended(through_the_door(*words, "2026-07-08", cwd=studio))
    assert "best before 2026-07-08" in file.read_text(encoding="utf-8")
    for typed in ("2026-04-15", "09.07.2026"):
        ended(through_the_door(*words, typed, cwd=studio), 2)


def test_jars_by_number_and_paper_by_name(studio: Path, tmp_path: Path) -> None:
    file = tmp_path / "a.html"
    ended(through_the_door("batch", "labels", "7k", file, "--jars", "3,7K.1", cwd=studio))
    text = file.read_text(encoding="utf-8")
    assert re.findall(r'class="id">([^<]*)<', text) == ["SBC-260409-7K.3", "SBC-260409-7K.1"]
    assert "size: 210mm 297mm" in text
    ended(through_the_door("batch", "labels", "7k", file, "--paper", "Letter", cwd=studio))
    assert "size: 215.9mm 279.4mm" in file.read_text(encoding="utf-8")
    for words in (("7k", "--jars", "9"), ("7k", "--paper", "a5"), ("7f",)):
        ended(through_the_door("batch", "labels", *words, cwd=studio), 2)


def test_a_place_and_a_sheet_by_the_command(studio: Path, tmp_path: Path) -> None:
    file = tmp_path / "a.html"
    words = ("batch", "labels", "7k", file)
    said = ended(through_the_door(*words, "--start", "5", cwd=studio)).out
    assert "place 5 on" in said
    assert file.read_text(encoding="utf-8").count('class="used"') == 4
    bought = ("--sheet", "2x4, 99.1 x 67.7 gap 2.5x0")
    said = ended(through_the_door(*words, *bought, cwd=studio)).out
    assert "2 × 4 of 99.1 × 67.7 mm" in said
    for wrong in (
        ("--start", "0"), ("--start", "99"), ("--sheet", "3x7"), ("--sheet", "0x7 60x30"),
        ("--sheet", "4x7 63.5x38.1"), ("--sheet", "3x7 63.5x38.1 margin 30x15"),
        ("--sheet", "9x20 20x12"), ("--sheet", "3x7 63.5x38.1; rm -rf"), (*bought, "--start", "9"),
    ):  # fmt: skip
        ended(through_the_door(*words, *wrong, cwd=studio), 2)


def test_a_trial_gets_no_best_before(studio: Path, tmp_path: Path) -> None:
    ended(through_the_door("next", "9t", "--make", cwd=studio))
    found = ended(through_the_door("batch", "list", cwd=studio)).out
    trial = re.search(r"^(\w\w) .*trial of", found, re.MULTILINE)
    assert trial, found
    file = tmp_path / "t.html"
    words = ("batch", "labels", trial[1], file, "--jars", "1")
    said = ended(through_the_door(*words, "--best-before", "2026-06-01", cwd=studio), 2).err
    assert "not for use" in said
    ended(through_the_door(*words, cwd=studio))
    assert "Test only, not for use" in file.read_text(encoding="utf-8")
