"""The checker of pages sees what is wrong, and nothing where nothing is."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.axe import grave, violations
from tests.browser.chromium import NAMES, Page

pytestmark = pytest.mark.needs_tool(*NAMES)

GOOD = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>A page</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<style>p { color: #111; background: #fff }</style></head>
<body><main><h1>A page</h1><p>Text</p><label for="a">Name</label> <input id="a"></main></body>
</html>"""

FAULTS = {
    "label": ('<label for="a">Name</label>', ""),
    "color-contrast": ("color: #111", "color: #bbb"),
    "html-has-lang": (' lang="en"', ""),
    "document-title": ("<title>A page</title>", ""),
    "button-name": ("<p>Text</p>", "<button></button>"),
    "image-alt": ("<p>Text</p>", '<img src="data:,">'),
    "aria-valid-attr-value": ("<p>Text</p>", '<p aria-live="loud">Text</p>'),
}
"""What makes the page break a rule, by axe-core's name of the rule."""


def shows(page: Page, text: str, folder: Path) -> None:
    file = folder / "page.html"
    file.write_text(text, encoding="utf-8")
    page.open(file, width=390)


def test_nothing_is_found_where_nothing_is_wrong(page: Page, tmp_path: Path) -> None:
    """Under a policy that lets no script of the page run."""
    shows(page, GOOD, tmp_path)
    assert violations(page) == []


@pytest.mark.parametrize("rule", FAULTS)
def test_each_fault_is_found_by_name_and_place(page: Page, tmp_path: Path, rule: str) -> None:
    good, bad = FAULTS[rule]
    assert good in GOOD
    shows(page, GOOD.replace(good, bad), tmp_path)
    found = grave(page)
    assert [one.rule for one in found] == [rule]
    assert found[0].places


def test_what_is_slight_is_not_grave(page: Page, tmp_path: Path) -> None:
    shows(page, GOOD.replace("<h1>A page</h1>", "").replace("<p>Text</p>", "<h3>x</h3>"), tmp_path)
    assert violations(page)
    assert grave(page) == []
