"""The bench sheet's page keeps to itself: it fits, asks nobody, and runs nothing but its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.chromium import NAMES
from tests.browser.fingers import Fingers
from tests.browser.sheets import finished

pytestmark = pytest.mark.needs_tool(*NAMES)


@pytest.mark.parametrize("width", [320, 360, 768, 1200])
def test_nothing_sticks_out(sheet: Fingers, width: int) -> None:
    size = {"width": width, "height": 740, "deviceScaleFactor": 1, "mobile": width < 600}
    sheet.ask("Emulation.setDeviceMetricsOverride", **size)
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert sheet.page.evaluate(wide) <= 0


def test_it_asks_nobody_for_anything(sheet: Fingers, tmp_path: Path) -> None:
    sheet.types("#w-a1-0", "14.02")
    finished(sheet, tmp_path)
    elsewhere = [url for url in sheet.page.asked_for if not url.startswith(("file:", "blob:"))]
    assert elsewhere == []
    assert sheet.page.complaints == []


def test_the_policy_lets_nothing_else_run(sheet: Fingers, tmp_path: Path) -> None:
    """A script put into the page without the hash is refused, and so is a request."""
    source = (tmp_path / "sheet.html").read_text(encoding="utf-8")
    evil = tmp_path / "evil.html"
    acts = "<script>document.title = 'acted'</script><img src=x onerror=\"document.title='acted'\">"
    evil.write_text(source.replace("</main>", f"{acts}</main>"), encoding="utf-8")
    sheet.page.open(evil, width=360)
    assert sheet.page.evaluate("document.title") != "acted"
    assert any("Content Security Policy" in one for one in sheet.page.complaints)
