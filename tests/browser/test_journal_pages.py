"""The journal's pages as a person uses them: the mass, the search, a telephone of 320 dots, axe."""

from collections.abc import Iterator
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path

import pytest

from tests.browser.axe import violations
from tests.browser.chromium import NAMES, Page, browser
from tests.journal.test_pages import BATCH, FULL, PICTURES, site_of

pytestmark = pytest.mark.needs_tool(*NAMES)

JPEG = bytes.fromhex(  # one grey dot
    "ffd8ffe000104a46494600010100000100010000ffdb004300" + "08" * 64 + "ffc0000b0800010001010111"
    "00ffc40014000100000000000000000000000000000009ffc40014100100000000000000000000000000000000"
    "ffda0008010100003f0054df0fffd9"
)
SORTS = ("index", "formulas", "formulas/SBC", "formulas/SBC-3", f"batches/{BATCH}", "entries/a",
         "ingredients", "ingredients/sodium-benzoate", "archive", "archive/2026", "search",
         "corrections")  # fmt: skip
"""One page of every sort."""

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
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with browser(tmp_path_factory.mktemp("profile")) as found:
        yield found


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample's site with photos, errata and entries, on the disk."""
    folder = tmp_path_factory.mktemp("site")
    files = {**site_of(FULL).files, **dict.fromkeys(PICTURES, JPEG)}
    for path, raw in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(raw)
    return folder


def typed(page: Page, id_: str, text: str) -> None:
    page.evaluate(TYPE.format(id=id_, text=text))


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("sort", SORTS)
def test_a_page_breaks_no_rule_of_axe_and_complains_of_nothing(
    page: Page, root: Path, sort: str, dark: bool
) -> None:
    for width in (320, 1200):
        page.open(root / f"{sort}.html", width=width, dark=dark)
        assert page.complaints == []
        assert all(url.startswith(root.as_uri()) for url in page.asked_for)
        wide, room = page.evaluate(
            "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
        )
        assert wide <= room, (sort, width)
        assert violations(page) == []


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
    assert page.evaluate(images) == [["lazy", 144, 144]] * 3
