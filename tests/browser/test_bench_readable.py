"""Who can read and use the bench sheet's page: in daylight, by keyboard, by ear, on paper."""

from __future__ import annotations

import os
import re
import shutil
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from labbook.work.sheet_in import read_file
from tests.browser.axe import grave
from tests.browser.chromium import NAMES
from tests.browser.fingers import Fingers
from tests.browser.sheets import batch_of, saved, to_do
from tests.work.notebooks import Small

pytestmark = pytest.mark.needs_tool(*NAMES)

PICTURES = os.environ.get("BENCH_PICTURES", "")
"""A folder for pictures and prints of the sheet, for those who want to look at them."""

A4, LETTER = (210, 297), (215.9, 279.4)
MARGIN = 14
"""Left and right on paper, in mm, as the style says."""

OPEN_ALL = "for (const e of document.querySelectorAll('details')) e.open = true"

# In daylight, with large targets ----------------------------------------------------------------

CONTRASTS = """(() => {
  const channel = (v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const parse = (text) => text.match(/[0-9.]+/g).map(Number);
  const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const behind = (e) => {
    for (; e; e = e.parentElement) {
      const found = parse(getComputedStyle(e).backgroundColor);
      if (found.length < 4 || found[3] > 0) return found;
    }
    return [255, 255, 255];
  };
  for (const e of document.querySelectorAll('[hidden], details')) e.hidden = false, e.open = true;
  return [...document.querySelectorAll('body *')].filter((e) => e.offsetParent
    && ([...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim()) || e.matches('input')))
    .map((e) => {
      const [a, b] = [light(parse(getComputedStyle(e).color)), light(behind(e))];
      return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), e.className || e.tagName];
    });
})()"""
"""Contrast of all text by the formula of WCAG 2.2, relative luminance and contrast ratio."""


def test_text_is_readable_in_daylight(sheet: Fingers) -> None:
    """WCAG 2.2, success criterion 1.4.6 (AAA): at least 7 to 1."""
    found = sheet.page.evaluate(CONTRASTS)
    assert len(found) > 60
    assert [one for one in found if one[0] < 7] == []


def test_every_field_is_named_and_every_target_large(sheet: Fingers) -> None:
    """WCAG 2.2: 1.3.1 and 4.1.2, a name for each; 2.5.5 (AAA) wants 44 px, the bench 48."""
    unnamed = sheet.page.evaluate(
        """[...document.querySelectorAll('input, select, textarea, button')].filter((e) =>
          !(e.labels?.length && e.labels[0].textContent.trim()) && !e.textContent.trim()
          && !e.getAttribute('aria-label')).map((e) => e.outerHTML)"""
    )
    assert unnamed == []
    sheet.page.evaluate(OPEN_ALL)
    small = sheet.page.evaluate(
        """[...document.querySelectorAll('input, select, textarea, button, summary')].filter((e) =>
          e.offsetParent).map((e) => [e.getBoundingClientRect(), e.id || e.textContent])
          .filter(([box]) => box.width < 48 || box.height < 47.9).map(([box, id]) => id)"""
    )
    assert small == []
    ids = sheet.page.evaluate("[...document.querySelectorAll('[id]')].map((e) => e.id)")
    assert len(ids) == len(set(ids))
    lost = sheet.page.evaluate(
        """[...document.querySelectorAll('[aria-describedby], [aria-labelledby]')].flatMap((e) =>
          (e.getAttribute('aria-describedby') ?? e.getAttribute('aria-labelledby')).split(' '))
          .filter((id) => !document.getElementById(id))"""
    )
    assert lost == []
    levels = sheet.page.evaluate(
        "[...document.querySelectorAll('h1,h2,h3')].map((e) => Number(e.tagName[1]))"
    )
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    live = sheet.page.evaluate("document.querySelector('#total').getAttribute('aria-live')")
    assert live == "polite"
    assert sheet.page.evaluate("document.documentElement.lang") == "en"


# On paper ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "paper"), [("a4", A4), ("letter", LETTER)])
def test_it_prints_with_room_to_write(
    sheet: Fingers, tmp_path: Path, name: str, paper: tuple[float, float]
) -> None:
    """What is written by hand needs 7 mm of height: common practice, no source."""
    file = tmp_path / f"{name}.pdf"
    sheet.prints(file, *paper)
    raw = file.read_bytes()
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", raw)) <= 4
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", raw)
    assert {(round(float(w) * 25.4 / 72), round(float(h) * 25.4 / 72)) for w, h in boxes} == {
        (round(paper[0]), round(paper[1]))
    }
    mm = 96 / 25.4
    wide = {"width": round((paper[0] - 2 * MARGIN) * mm), "height": 1000, "deviceScaleFactor": 1}
    sheet.ask("Emulation.setDeviceMetricsOverride", **wide, mobile=False)
    sheet.ask("Emulation.setEmulatedMedia", media="print")
    boxes_of = "[...document.querySelectorAll({!r})].map((e) => e.getBoundingClientRect())"
    sizes = f"{boxes_of}.map((b) => [b.width, b.height])"
    lines = sheet.page.evaluate(sizes.format(".line input[data-portion]"))
    cells = sheet.page.evaluate(sizes.format(".masses td"))
    assert len(cells) == 15
    assert all(width >= 35 * mm and height >= 7 * mm for width, height in lines)
    assert all(width >= 18 * mm and height >= 8 * mm for width, height in cells)
    over = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert sheet.page.evaluate(over) <= 0
    assert sheet.page.evaluate("document.querySelector('#finish').offsetParent") is None
    sheet.ask("Emulation.setEmulatedMedia", media="")
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        shutil.copy(file, PICTURES)


def test_what_was_typed_is_on_the_paper_too(sheet: Fingers, notebook: Small) -> None:
    """A print of a sheet that is filled in half way tells what its screen tells."""
    line = to_do(batch_of(notebook))[0]
    sheet.types(f"#w-{line}-0", "14.01")
    sheet.opens("#m0-0-0")
    sheet.types("#m0-0-0", "120.10")
    sheet.types("#r-value", "5.15")
    sheet.taps("#r-add")
    sheet.types("#n-text", "a little foam", enter=False)
    sheet.taps("#n-add")
    clock = sheet.page.evaluate(NOW)
    sheet.ask("Emulation.setEmulatedMedia", media="print")
    on_paper = sheet.page.evaluate(
        "[...document.querySelectorAll('input'), document.body]"
        ".filter((e) => e.offsetParent || e === document.body)"
        ".map((e) => e.value ?? e.innerText).join(' ')"
    )
    sheet.ask("Emulation.setEmulatedMedia", media="")
    for typed in ("14.01", "120.10", "pH 5.15 of the water phase", "a little foam", clock):
        assert typed in on_paper, typed
    assert "Strike" not in on_paper


NOW = """(() => {
  document.querySelector('[data-now]').click();
  return document.querySelector('[data-time]').value;
})()"""
"""Starts the first step, and tells the time that the page shows for it."""


# By ear and by keyboard --------------------------------------------------------------------------


def test_axe_finds_nothing_grave(sheet: Fingers, notebook: Small) -> None:
    """Untouched, all lists open; then with what is wrong, too much, and finished on the screen."""
    assert grave(sheet.page) == []
    sheet.page.evaluate(OPEN_ALL)
    assert grave(sheet.page) == []
    first, second, third, *_ = to_do(batch_of(notebook))
    sheet.types(f"#w-{first}-0", "28")
    assert "What now" in sheet.sees(f"[data-line={first}] .slip")
    sheet.types(f"#w-{second}-0", "1.2.3")
    sheet.types(f"#w-{third}-0", "450")
    sheet.types("#m0-0-0", "x")
    sheet.taps("#r-add")
    sheet.taps("#finish")
    assert "Not finished" in sheet.sees("#f-wrong")
    assert grave(sheet.page) == []
    for selector in (f"#w-{second}-0", f"#w-{third}-0", "#m0-0-0"):
        sheet.types(selector, "")
    sheet.types("#r-value", "5.1")
    sheet.taps("#finish")
    assert not sheet.page.evaluate("document.querySelector('#finished').hidden")
    assert grave(sheet.page) == []


def test_what_a_screen_reader_says(sheet: Fingers) -> None:
    """By the browser's own tree: each control has its name; a weight says of what, and how much."""
    sheet.page.evaluate(OPEN_ALL)
    nodes = sheet.ask("Accessibility.getFullAXTree")["nodes"]

    def text(node: dict[str, Any], key: str) -> str:
        return str(node.get(key, {}).get("value", ""))

    told = [
        (text(node, "role"), text(node, "name"), text(node, "description"))
        for node in nodes
        if not node["ignored"]
    ]
    controls = [one for one in told if one[0] in ("textbox", "button", "combobox", "checkbox",
                                                  "DisclosureTriangle", "InputTime")]  # fmt: skip
    assert len(controls) > 50
    assert [one for one in controls if not one[1].strip()] == []
    weigh = next(one for one in controls if one[1] == "sunflower-oil, weighed")
    assert "14.00 g" in weigh[2]
    names = [name for _, name, _ in controls]
    assert {"vessel A, empty", "vessel B, after heating", "pot, emptied"} <= set(names)
    assert sorted(set(names)) == sorted(names)  # no two sound alike


def test_a_sheet_by_keyboard_alone(sheet: Fingers, notebook: Small, tmp_path: Path) -> None:
    """Tab, Enter, blank and digits; what has the focus is always to be seen (WCAG 2.2, 2.4.7)."""
    keys = Keys(sheet)
    sheet.saves_into(tmp_path)
    line, following = to_do(batch_of(notebook))[:2]
    keys.until(f"w-{line}-0")
    keys.types("28")
    keys.enter()
    assert sheet.page.evaluate("document.activeElement.className") == "slip"
    keys.tab()
    keys.blank()  # leave it
    assert sheet.sees(f"[data-line={line}] .slip") == ""
    keys.until(f"w-{following}-0")
    keys.types("1.5")
    keys.enter()
    assert keys.where != f"w-{following}-0"
    keys.until("r-value")
    keys.types("5.1")
    keys.until("finish")
    keys.enter()
    assert keys.where == "f-save"
    keys.enter()
    told = read_file(saved(tmp_path))
    assert len(told.items) == 3


class Keys:
    """Somebody without a pointer."""

    def __init__(self, fingers: Fingers) -> None:
        self._fingers = fingers

    @property
    def where(self) -> str:
        """What has the focus."""
        return str(self._fingers.page.evaluate("document.activeElement.id"))

    def tab(self) -> None:
        """To what comes next; it has to be marked, and not to lie behind the sum on top."""
        self._fingers.key("Tab", 9)
        seen = self._fingers.page.evaluate(
            """((e) => {
              if (e === document.body) return true;
              const style = getComputedStyle(e), box = e.getBoundingClientRect();
              const top = document.querySelector('.total').getBoundingClientRect();
              const covered = top.top <= 0 && box.top < top.bottom && box.bottom > top.top;
              return parseFloat(style.outlineWidth) >= 2 && style.outlineStyle !== 'none'
                && !covered;
            })(document.activeElement)"""
        )
        assert seen, f"the focus is not to be seen at {self.where}"

    def until(self, id_: str) -> None:
        """Tab after Tab."""
        for _ in range(200):
            self.tab()
            if self.where == id_:
                return
        raise AssertionError(f"no way to {id_} by keyboard")

    def types(self, text: str) -> None:
        """Into what has the focus."""
        self._fingers.ask("Input.insertText", text=text)

    def enter(self) -> None:
        self._fingers.key("Enter", 13, "\r")

    def blank(self) -> None:
        self._fingers.key(" ", 32, " ")
