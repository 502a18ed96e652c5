"""The journal in a browser: nothing executes, nothing is asked for elsewhere, the layout holds."""

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from labbook.journal.book import Book
from tests.browser.chromium import NAMES, Page, browser
from tests.conftest import RunLabbook
from tests.journal.filled import book
from tests.journal.hostile import CORPUS
from tests.journal.site import site_of

pytestmark = pytest.mark.needs_tool(*NAMES)

PICTURES = os.environ.get("JOURNAL_PICTURES", "")
"""A folder for pictures of the sample's pages, for those who want to look at them."""

STATE = """({
  title: document.title,
  acted: document.title === 'acted' || document.body.hasAttribute('data-acted'),
  strange: [...document.querySelectorAll(
    'style, iframe, object, embed, form, svg:not(figure > .picture), img, base, '
    + 'video, audio')].length,
  own: [document.scripts.length, document.querySelectorAll('input').length],
  handlers: [...document.querySelectorAll('*')].filter(
    e => [...e.attributes].some(a => a.name.startsWith('on') || a.name === 'style')).length,
  refresh: document.querySelectorAll('meta[http-equiv=refresh]').length,
  styled: getComputedStyle(document.body).fontFamily.startsWith("Charter"),
  wide: document.documentElement.scrollWidth,
  room: document.documentElement.clientWidth,
})"""


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with browser(tmp_path_factory.mktemp("profile")) as found:
        yield found


def written(root: Path, notebook: Book) -> list[Path]:
    """The site on the disk, and its pages."""
    for path, raw in site_of(notebook).files.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(raw)
    return sorted(root.rglob("*.html"))


def must_be_quiet(page: Page, root: Path) -> None:
    """Nothing executed, only the page and its stylesheet were asked for, nothing sticks out."""
    found = page.evaluate(STATE)
    assert not found["acted"], found
    assert (found["strange"], found["handlers"], found["refresh"]) == (0, 0, 0)
    assert page.complaints == []
    assert all(url.startswith(root.as_uri()) for url in page.asked_for), page.asked_for
    first, *asked = [url.rsplit("/", 1)[-1] for url in page.asked_for]
    search = first == "search.html"
    assert asked == ["journal.css", *(["search-index.js"] if search else [])]
    scaled = re.search(r"/formulas/[A-Z]+\.html", page.asked_for[0])
    assert found["own"] == ([2, 1] if search else [1, 1] if scaled else [0, 0])
    assert found["styled"]
    assert found["wide"] <= found["room"], found


def test_the_watch_sees_what_it_watches_for(page: Page, tmp_path: Path) -> None:
    """Without the filter these very words do act: the test could fail."""
    evil = tmp_path / "evil.html"
    evil.write_text(f"<body>{CORPUS[0]}<p style='width:9999px'>x", encoding="utf-8")
    page.open(evil)
    found = page.evaluate(STATE)
    assert found["acted"]
    assert found["own"] == [1, 0]
    assert found["wide"] > found["room"]


@pytest.mark.parametrize("number", range(len(CORPUS)))
def test_hostile_words_in_every_field_do_nothing(page: Page, tmp_path: Path, number: int) -> None:
    pages = written(tmp_path, book(lambda record, name: f"{CORPUS[number]}{record}"))
    assert len(pages) >= 11
    for file in pages:
        page.open(file, width=390)
        must_be_quiet(page, tmp_path)


def test_the_sample_on_a_phone_on_a_desk_and_in_the_dark(
    page: Page, tmp_path: Path, run_labbook: RunLabbook
) -> None:
    assert run_labbook("demo", "studio").code == 0
    assert run_labbook("journal", "build", cwd=tmp_path / "studio").code == 0
    root = tmp_path / "studio" / "site"
    pages = sorted(root.rglob("*.html"))
    assert len(pages) > 15
    for file in pages:
        for width in (390, 1200):
            page.open(file, width=width)
            must_be_quiet(page, root)
    colours = set()
    for media, dark in (("", False), ("", True), ("print", True)):
        page.open(root / "index.html", media=media, dark=dark)
        must_be_quiet(page, root)
        colours.add(page.evaluate("getComputedStyle(document.documentElement).backgroundColor"))
    assert len(colours) == 3
    if PICTURES:
        take_pictures(page, root, Path(PICTURES))


def take_pictures(page: Page, root: Path, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    looks = (("light", 1200, "", False), ("dark", 1200, "", True), ("phone", 390, "", False),
             ("print", 800, "print", False))  # fmt: skip
    for file in ("index", "formulas/SBC", "formulas/SBC-3", "batches/SBC-260122-9T",
                 "entries/2026-01-30-a-pool-under-the-cream"):  # fmt: skip
        for name, width, media, dark in looks:
            page.open(root / f"{file}.html", width=width, media=media, dark=dark)
            page.picture(folder / f"{file.replace('/', '-')}-{name}.png")
