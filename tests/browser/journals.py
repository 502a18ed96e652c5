"""A journal on the disk, and what must hold of every page of it, whatever it says and shows."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from tests.browser.chromium import Page

STATE = """({
  acted: document.title === 'acted' || document.body.hasAttribute('data-acted'),
  strange: [...document.querySelectorAll(
    'style, iframe, object, embed, form, svg:not(figure > .picture), img:not(.photos img), base, '
    + 'video, audio')].length,
  own: [document.scripts.length, document.querySelectorAll('input').length],
  handlers: [...document.querySelectorAll('*')].filter(
    e => [...e.attributes].some(a => a.name.startsWith('on') || a.name === 'style')).length,
  refresh: document.querySelectorAll('meta[http-equiv=refresh]').length,
  styled: getComputedStyle(document.body).fontFamily.startsWith("Charter"),
  wide: document.documentElement.scrollWidth,
  room: document.documentElement.clientWidth,
})"""

_WHENEVER = ("icon.svg", "photos/small/")
"""What the browser asks for when it likes, also when the next page is opened already."""


def written(root: Path, files: Mapping[str, bytes]) -> list[Path]:
    """The files on the disk; gives the pages among them."""
    for path, raw in files.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(raw)
    return sorted(root.rglob("*.html"))


def must_be_quiet(page: Page, root: Path) -> None:
    """Nothing executed, no more was asked for than the page has need of, nothing sticks out."""
    found = page.evaluate(STATE)
    assert not found["acted"], found
    assert (found["strange"], found["handlers"], found["refresh"]) == (0, 0, 0)
    assert page.complaints == []
    assert all(url.startswith(root.as_uri()) for url in page.asked_for), page.asked_for
    paths = [url.removeprefix(f"{root.as_uri()}/") for url in page.asked_for]
    first, *asked = [path for path in paths if not path.startswith(_WHENEVER)]
    search = first == "search.html"
    assert asked == ["journal.css", *(["search-index.js"] if search else [])]
    scaled = re.fullmatch(r"formulas/[A-Z]+\.html", first)
    assert found["own"] == ([2, 1] if search else [1, 1] if scaled else [0, 0])
    assert found["styled"]
    assert found["wide"] <= found["room"], found
