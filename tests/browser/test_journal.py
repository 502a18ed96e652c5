"""Hostile words and photos in a browser: nothing executes, no request leaves, the layout holds."""

from dataclasses import replace
from pathlib import Path

import pytest

from labbook.journal.names import photo_path, small_photo_path
from labbook.journal.publish import published
from tests.browser.chromium import NAMES, Page
from tests.browser.journals import STATE, must_be_quiet, written
from tests.journal.hostile import ACT, CORPUS
from tests.journal.site import site_of
from tests.journal.test_hostile import evil_book

pytestmark = pytest.mark.needs_tool(*NAMES)

JPEG = bytes.fromhex(  # one grey dot
    "ffd8ffe000104a46494600010100000100010000ffdb004300" + "08" * 64 + "ffc0000b0800010001010111"
    "00ffc40014000100000000000000000000000000000009ffc40014100100000000000000000000000000000000"
    "ffda0008010100003f0054df0fffd9"
)
SCRIPT = f"<script>{ACT}</script>".encode()
PHOTOS = {
    "words behind the picture": JPEG + SCRIPT,
    "words as a remark in it": JPEG[:2] + b"\xff\xfe" + bytes([0, len(SCRIPT) + 2]) + SCRIPT
    + JPEG[2:],
    "a drawing": f'<svg xmlns="http://www.w3.org/2000/svg" onload="{ACT}"/>'.encode(),
    "a page": b"<!doctype html><title>x</title>" + SCRIPT,
    "a script that is a picture": b"GIF89a/*" + bytes(8) + b"*/=0;" + ACT.encode(),
    "dots without end": JPEG.replace(bytes.fromhex("0b08000100010101"),
                                     bytes.fromhex("0b08ffffffff0101")),
    "cut off": JPEG[:60],
    "nothing": b"",
}  # fmt: skip
"""Files that no build would publish, by what they are."""


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
def test_hostile_words_in_every_field_and_photos_do_nothing(
    page: Page, tmp_path: Path, number: int
) -> None:
    book = evil_book(CORPUS[number])
    photos = list(PHOTOS.values())
    raw = photos[number % len(photos)]
    (file,) = {one.file for made in published(book).batches for one in made.photos}
    files = {**site_of(book).files, photo_path(file): raw, small_photo_path(file): raw}
    pages = written(tmp_path, files)
    assert len(pages) >= 11
    for path in pages:
        page.open(path, width=390)
        must_be_quiet(page, tmp_path)
        if path.parent.name == "batches":
            assert page.evaluate("document.querySelectorAll('.photos img').length") == 1
            caption = "document.querySelector('.photos figcaption').textContent.length"
            assert page.evaluate(caption) > len("day 0: ")


@pytest.mark.parametrize("kind", PHOTOS)
def test_a_hostile_photo_does_nothing_when_its_link_is_followed(
    page: Page, tmp_path: Path, kind: str
) -> None:
    file = tmp_path / "2026-02-03-0123456789abcdef.jpg"
    file.write_bytes(PHOTOS[kind])
    page.open(file)
    assert page.evaluate("[document.title === 'acted', document.scripts.length]") == [False, 0]
    assert all(url == file.as_uri() for url in page.asked_for), page.asked_for


def test_ten_photos_of_a_jar_with_the_longest_captions_stay_in_rows(
    page: Page, tmp_path: Path
) -> None:
    book = evil_book("W" * 5000)
    ((id_, photos),) = book.photos.items()
    many = tuple(
        replace(photos.photos[0], id=f"p{number}", file=f"2026-02-03-{number:016x}.jpg")
        for number in range(10)
    )
    full = replace(book, photos={id_: replace(photos, photos=many)})
    files = {small_photo_path(one.file): JPEG for one in many}
    written(tmp_path, {**site_of(full).files, **files})
    for width in (320, 390, 1280):
        page.open(tmp_path / f"batches/{id_}.html", width=width)
        must_be_quiet(page, tmp_path)
        rights = page.evaluate("[...document.querySelectorAll('.photos figure')].map("
                               "one => one.getBoundingClientRect().right)")  # fmt: skip
        assert len(rights) == 10
        assert max(rights) <= width
