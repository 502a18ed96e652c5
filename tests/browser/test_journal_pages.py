"""The journal's pages as a person uses them: each sort in each mode, the mass, the search, axe."""

import os
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path

import pytest

from labbook.journal import archive
from tests.browser.axe import violations
from tests.browser.chromium import NAMES, Page
from tests.browser.journals import must_be_quiet, written
from tests.browser.test_journal import JPEG
from tests.journal.test_pages import BATCH, FULL, PICTURES, site_of

pytestmark = pytest.mark.needs_tool(*NAMES)

LOOKED_AT = os.environ.get("JOURNAL_PICTURES", "")
"""A folder for pictures of the pages, for those who want to look at them."""

SORTS = ("index", "formulas", "formulas/SBC", "formulas/SBC-3", f"batches/{BATCH}", "entries/a",
         "entries/blocks", "ingredients", "ingredients/sodium-benzoate", "archive", "archive/2026",
         "search", "corrections")  # fmt: skip
"""One page of every sort."""

MODES = {
    "phone": (390, "", False),
    "phone in the dark": (390, "", True),
    "desk": (1280, "", False),
    "desk in the dark": (1280, "", True),
    "print": (794, "print", False),
}
"""Width in dots, media, dark."""

TYPE = """(() => {{
  const field = document.getElementById({id!r});
  field.value = {text!r};
  field.dispatchEvent(new Event("input", {{bubbles: true}}));
}})()"""
TABLE = """[...document.querySelector(".wide").querySelectorAll("tbody tr")].map(
  row => [...row.cells].slice(-2).map(cell => cell.textContent))"""
FOUND = "[...document.querySelectorAll('main li a')].map(a => a.getAttribute('href'))"
SAID = "document.querySelector('[role=status]').textContent"


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample's site with photos, errata and entries, on the disk."""
    folder = tmp_path_factory.mktemp("site")
    written(folder, {**site_of(FULL).files, **dict.fromkeys(PICTURES, JPEG)})
    return folder


def typed(page: Page, id_: str, text: str) -> None:
    page.evaluate(TYPE.format(id=id_, text=text))


@pytest.mark.parametrize("sort", SORTS)
def test_a_page_of_every_sort_is_quiet_in_every_mode_and_breaks_no_rule_of_axe(
    page: Page, root: Path, sort: str
) -> None:
    look(page, root, sort)


def test_a_long_year_has_a_page_for_each_month_that_is_so_too(
    page: Page, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archive, "LONG", 10)
    written(tmp_path, site_of(FULL).files)
    for sort in ("archive/2026", "archive/2026-02"):
        look(page, tmp_path, sort, "-long")


def look(page: Page, root: Path, sort: str, mark: str = "") -> None:
    """Opens a page in every mode; contrast is that of the colours of each."""
    for mode, (width, media, dark) in MODES.items():
        page.open(root / f"{sort}.html", width=width, media=media, dark=dark)
        must_be_quiet(page, root)
        assert violations(page) == [], mode
        if LOOKED_AT:
            Path(LOOKED_AT).mkdir(parents=True, exist_ok=True)
            page.picture(Path(LOOKED_AT) / f"{sort.replace('/', '-')}{mark}-{mode}.png")


def test_every_page_is_quiet_on_the_smallest_phone(page: Page, root: Path) -> None:
    pages = sorted(root.rglob("*.html"))
    assert len(pages) > 40
    for file in pages:
        page.open(file, width=320)
        must_be_quiet(page, root)


def test_paper_and_ink_are_others_in_the_dark_and_in_print(page: Page, root: Path) -> None:
    colours = set()
    for media, dark in (("", False), ("", True), ("print", True)):
        page.open(root / "index.html", media=media, dark=dark)
        colours.add(page.evaluate("getComputedStyle(document.documentElement).backgroundColor"))
    assert len(colours) == 3


# A figure and its unit, and short words of a table, stay together.
BROKEN_WORDS = """[...document.querySelectorAll('td')].filter(cell => {
  const range = document.createRange();
  range.selectNodeContents(cell);
  const lines = new Set([...range.getClientRects()].map(box => Math.round(box.bottom)));
  return lines.size > 1 && !/[\\s\\u00a0-]/.test(cell.textContent.trim());
}).map(cell => cell.textContent)"""


@pytest.mark.parametrize("sort", ["formulas/SBC", "formulas/SBC-3", "entries/blocks"])
def test_no_unit_or_short_word_of_a_table_is_broken_on_a_phone(
    page: Page, root: Path, sort: str
) -> None:
    page.open(root / f"{sort}.html", width=390)
    assert page.evaluate(BROKEN_WORDS) == []
    sideways = "[...document.querySelectorAll('.wide')].filter(one => one.scrollWidth > one.clientWidth + 1).map(one => one.ariaLabel)"  # fmt: skip # noqa: E501
    assert page.evaluate(sideways) == []


@pytest.mark.parametrize(
    ("text", "places"),
    [("100", 2), ("250", 2), ("37.5", 2), ("37,5", 2), ("15", 3), ("0.3", 3), ("123456.789", 2)],
)
def test_a_mass_gives_the_grams_of_every_line(
    page: Page, root: Path, text: str, places: int
) -> None:
    page.open(root / "formulas/SBC.html")
    typed(page, "mass", text)
    mass, finest = Decimal(text.replace(",", ".")), Decimal(1).scaleb(-places)
    rows = page.evaluate(TABLE)
    assert len(rows) == 11
    for percent, grams in rows:
        exact = Decimal(percent) * mass / 100
        assert grams == str(exact.quantize(finest, ROUND_HALF_EVEN)), (percent, text)
    assert page.evaluate("document.getElementById('mass').getAttribute('aria-invalid')") == "false"


@pytest.mark.parametrize("text", ["", "a lot", "-5", "1e3", "1.2.3", "99999999", "<b>"])
def test_what_is_no_mass_leaves_the_column_empty(page: Page, root: Path, text: str) -> None:
    page.open(root / "formulas/SBC.html")
    typed(page, "mass", text)
    assert {grams for _, grams in page.evaluate(TABLE)} == {""}
    assert page.evaluate("document.getElementById('mass').getAttribute('aria-invalid')") == "true"
    assert page.complaints == []


@pytest.mark.parametrize(
    ("words", "first", "not_found"),
    [
        ("creme", "entries/c.html", "entries/a.html"),
        ("CRÈME", "entries/c.html", "entries/a.html"),
        ("pool", "entries/a.html", "entries/c.html"),  # in its title; 9T has it in a note
        ("benzo sod", "ingredients/sodium-benzoate.html", "entries/c.html"),
        ("9t", f"batches/{BATCH}.html", "entries/c.html"),
    ],
)
def test_the_search_finds_by_beginnings_and_without_accents(
    page: Page, root: Path, words: str, first: str, not_found: str
) -> None:
    page.open(root / "search.html")
    typed(page, "words", words)
    found = page.evaluate(FOUND)
    assert found[0] == first
    assert not_found not in found
    count = len(found)
    assert page.evaluate(SAID) == ("1 page" if count == 1 else f"{count} pages")
    assert all((root / path).is_file() for path in found)
    assert page.complaints == []


def test_the_search_says_when_nothing_is_found_and_obeys_no_words(page: Page, root: Path) -> None:
    page.open(root / "search.html")
    for words in ("nowhere", "<img src=x onerror=alert(1)>", "pool nowhere"):
        typed(page, "words", words)
        assert page.evaluate(SAID) == "No page has all of these words."
    typed(page, "words", " .,-")
    assert page.evaluate(SAID) == ""
    assert page.complaints == []


def test_every_page_says_all_it_has_without_its_script(root: Path) -> None:
    for sort, words in (("formulas/SBC", "In percent by weight"), ("search", "archive.html")):
        text = (root / f"{sort}.html").read_text("utf-8").partition("<script")[0]
        assert words in text
        assert "<input" not in text


def test_photos_wait_until_they_come_into_sight(page: Page, root: Path) -> None:
    page.open(root / f"batches/{BATCH}.html", width=1200)
    known = [url for url in page.asked_for if url.endswith(".jpg")]
    assert all("/photos/small/" in url for url in known)
    images = (
        "[...document.querySelectorAll('.photos img')].map(i => [i.loading, i.width, i.height])"
    )
    assert page.evaluate(images) == [["lazy", 138, 138]] * 4
