"""The bench sheet in a browser: filled in, cut off in every way, finished, taken in again."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from labbook.model.batch import Batch
from labbook.trade import weighing
from labbook.trade.slips import BenchLine, clearly_over, far_off, slip
from labbook.work.bench import Bench
from labbook.work.sheet_in import read_file, take_in
from labbook.work.sheet_page import page_of
from tests.browser.chromium import NAMES, Page, browser
from tests.browser.fingers import Fingers, waited
from tests.show.bench_vectors import PAGE_SIDE, vectors
from tests.work.notebooks import Small, small_notebook

pytestmark = pytest.mark.needs_tool(*NAMES)

PICTURES = os.environ.get("BENCH_PICTURES", "")
"""A folder for pictures and prints of the sheet, for those who want to look at them."""

A4, LETTER = (210, 297), (215.9, 279.4)

LATER = """(() => {{
  const Real = Date, apart = {minutes} * 60000;
  window.Date = class extends Real {{
    constructor(...given) {{ given.length ? super(...given) : super(Real.now() + apart); }}
    static now() {{ return Real.now() + apart; }}
  }};
}})()"""
"""Moves the page's clock on, before anything of the page runs."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Small:
    return small_notebook(tmp_path_factory.mktemp("bench") / "nb")


@pytest.fixture
def notebook(made: Small, tmp_path: Path) -> Small:
    shutil.copytree(made.root, tmp_path / "nb")
    return Small(tmp_path / "nb", made.first, made.second, made.open)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with browser(tmp_path_factory.mktemp("profile")) as found:
        yield found


@pytest.fixture
def sheet(page: Page, notebook: Small, tmp_path: Path) -> Iterator[Fingers]:
    """The sheet of the open batch at the size of a phone, nothing kept from before."""
    file = tmp_path / "sheet.html"
    bench = Bench(notebook.root)
    file.write_bytes(page_of(bench, bench.snapshot.batches[notebook.open]))
    fingers = Fingers(page)
    page.open(file, width=360)
    page.evaluate("localStorage.clear()")
    page.open(file, width=360)
    phone = {"width": 360, "height": 740, "deviceScaleFactor": 1, "mobile": True}
    fingers.ask("Emulation.setDeviceMetricsOverride", **phone)
    yield fingers
    page.evaluate("localStorage.clear()")


def batch_of(notebook: Small) -> Batch:
    return Bench(notebook.root).snapshot.batches[notebook.open]


def finished(fingers: Fingers, folder: Path) -> Path:
    """The file that the page gives."""
    fingers.saves_into(folder)
    fingers.taps("#finish")
    assert fingers.sees("#f-wrong") == ""
    fingers.taps("#f-save")
    return Path(waited(lambda: next(iter(folder.glob("*-sheet.txt")), None)))


# Arithmetic --------------------------------------------------------------------------------------


def test_the_page_reckons_slips_as_the_program_does(sheet: Fingers) -> None:
    """Both do the same exact arithmetic: fractions as fractions, masses digit by digit."""
    cases = vectors(300)
    sheet.page.evaluate(PAGE_SIDE.replace("const plain", "window.plain"))
    for start in range(0, len(cases), 50):
        some = cases[start : start + 50]
        told = json.dumps(some)
        found = sheet.page.evaluate(f"{told}.map(window.plain)")
        assert found == [one["answer"] for one in some]


def test_a_vector_that_is_wrong_is_noticed(sheet: Fingers) -> None:
    case = vectors(20)[3]
    sheet.page.evaluate(PAGE_SIDE.replace("const plain", "window.plain"))
    case["mass"] = str(Decimal(case["mass"]) + Decimal(case["readability"]))
    assert sheet.page.evaluate(f"window.plain({json.dumps(case)})") != case["answer"]


def test_it_asks_about_the_same_weights_as_the_program(sheet: Fingers) -> None:
    wanted = Fraction(8)
    for text in ("0.99", "1", "1.01", "7.99", "8.40", "8.41", "24", "24.01", "80"):
        found = sheet.page.evaluate(
            f"[Figures.doubtful(Figures.parse('{text}'), Figures.parse('8')),"
            f" Figures.clearlyOver(Figures.parse('{text}'), Figures.parse('8'))]"
        )
        assert found == [far_off(Fraction(text), wanted), clearly_over(Fraction(text), wanted)]


def test_no_binary_fractions(sheet: Fingers) -> None:
    """0.1 + 0.2 is 0.3; halves of a step go to the even one, as in IEEE 754's decimal rounding."""
    for told, wanted in (
        ("Figures.text(Figures.add(Figures.parse('0.1'), Figures.parse('0,2')))", "0.3"),
        ("Figures.toPlaces(Figures.parse('0.125'), 2)", "0.12"),
        ("Figures.toPlaces(Figures.parse('0.375'), 2)", "0.38"),
        ("Figures.parse('1e3')", None),
        ("Figures.parse('-1')", None),
        ("Figures.parse('1.2.3')", None),
        ("Figures.parse('99999999999999999999.1')", None),
    ):
        assert sheet.page.evaluate(told) == wanted, told


# A whole sheet -----------------------------------------------------------------------------------

WEIGHTS = {
    "a1": "14.02", "a2": "1.5", "a3": "4,48", "a4": "74.20", "a5": "4.01", "a6": "0.80",
    "a7": "0.50",
}  # fmt: skip


def test_a_whole_sheet_cut_off_in_every_way_equals_what_was_typed(
    sheet: Fingers, notebook: Small, tmp_path: Path
) -> None:
    before = batch_of(notebook)
    lines = {line.id: line for line in before.lines}
    todo = [id_ for id_ in lines if not any(w.line == id_ for w in before.weighings)]
    typed = {id_: WEIGHTS.get(id_, "0.61") for id_ in todo}
    assert len(typed) >= 4

    for id_ in todo[:3]:
        sheet.types(f"#w-{id_}-0", typed[id_])
    sheet.types("#v-s1-f0", "71")
    sheet.taps('[data-now="step s1|started"]')
    sheet.taps('[data-hold-from="s1"]')
    assert "10:00 left" in sheet.sees("[data-timer=s1]")
    # Cut off in the middle of a number: every keystroke is kept.
    sheet.types(f"#w-{todo[3]}-0", typed[todo[3]][:-1], enter=False)
    _locked_for(sheet, minutes=10)
    assert "over" in sheet.sees("[data-timer=s1]")
    assert sheet.sees(f"#w-{todo[3]}-0") == typed[todo[3]][:-1]

    sheet.page.evaluate(f"document.querySelector('#w-{todo[3]}-0').focus()")
    _killed(sheet)
    assert sheet.sees(f"#w-{todo[3]}-0") == typed[todo[3]][:-1]
    for id_ in todo[3:]:
        sheet.types(f"#w-{id_}-0", typed[id_])
    sheet.types("#v-s1-f1", "72.5")
    sheet.taps('[data-now="step s1|ended"]')
    sheet.types("#v-room-t", "21")
    sheet.types("#r-value", "4,9")
    sheet.types("#r-at", "23")
    sheet.taps("#r-add")
    sheet.types("#n-text", "a | bar, ümläuts & <b>\nand a second line", enter=False)
    sheet.taps("#n-add")
    sheet.types("#n-text", "the plate was off", enter=False)
    sheet.taps("#n-differs")
    sheet.types("#p-name", "IMG_0042.jpg")
    assert sheet.page.complaints == []

    file = finished(sheet, tmp_path)
    take_in(Bench(notebook.root), None, read_file(file))
    now = batch_of(notebook)
    _equals_what_was_typed(now, typed)
    again = take_in(Bench(notebook.root), None, read_file(file))
    assert again.what == ()
    assert batch_of(notebook) == now


def _equals_what_was_typed(now: Batch, typed: dict[str, str]) -> None:
    masses = {w.line: f"{w.mass.value:f}" for w in now.weighings if not w.struck}
    assert {id_: masses[id_] for id_ in typed} == {
        id_: text.replace(",", ".") for id_, text in typed.items()
    }
    done = now.steps[0].done
    assert done and done.temperatures and done.started and done.ended
    assert {p: str(t) for p, t in done.temperatures.items()} == {"A": "71 °C", "B": "72.5 °C"}
    assert str(done.hold) == "10 min"
    assert now.room and str(now.room.temperature) == "21 °C"
    reading = now.readings[-1]
    assert (reading.reading, str(reading.value), reading.of, str(reading.at)) == (
        "pH", "4.9", "water phase", "23 °C",
    )  # fmt: skip
    remarks = [remark.text for remark in now.remarks]
    assert "a | bar, ümläuts & <b>\nand a second line" in remarks
    assert "photo IMG_0042.jpg" in remarks
    assert now.deviations[-1].text == "the plate was off"


def _locked_for(fingers: Fingers, *, minutes: int) -> None:
    """The screen is off for a while: the page stands still, and is thrown away and loaded anew."""
    fingers.ask("Page.setWebLifecycleState", state="frozen")
    fingers.ask("Page.setWebLifecycleState", state="active")
    script = LATER.format(minutes=minutes)
    fingers.ask("Page.addScriptToEvaluateOnNewDocument", source=script)
    fingers.loads("Page.reload")


def _killed(fingers: Fingers) -> None:
    """The page's own process dies, as on a phone that runs out of memory."""
    fingers.dies()
    assert fingers.page.evaluate("document.readyState") == "complete"


def test_finish_leaves_nothing_behind_and_says_so(
    sheet: Fingers, notebook: Small, tmp_path: Path
) -> None:
    line = batch_of(notebook).lines[-1].id
    fields = "[...document.querySelectorAll('input,textarea')].map((e) => e.value)"
    fresh = sheet.page.evaluate(fields)
    sheet.types(f"#w-{line}-0", "0.62")
    sheet.types("#n-text", "private words", enter=False)
    assert "private words" in sheet.page.evaluate("JSON.stringify(localStorage)")
    finished(sheet, tmp_path)
    sheet.taps("#f-clear")
    assert "Nothing of" in sheet.sees("#f-cleared")
    assert sheet.page.evaluate("localStorage.length") == 0
    assert sheet.page.evaluate(fields) == fresh
    sheet.loads("Page.reload")
    assert sheet.sees(f"#w-{line}-0") == ""
    assert sheet.page.evaluate("localStorage.length") == 0


def test_a_number_that_is_none_stops_the_finish(sheet: Fingers, notebook: Small) -> None:
    line = batch_of(notebook).lines[-1].id
    sheet.types(f"#w-{line}-0", "1.2.3", enter=False)
    sheet.taps("#finish")
    assert "Not finished" in sheet.sees("#f-wrong")
    assert sheet.page.evaluate("document.querySelector('#finished').hidden")


# Slips and doubts --------------------------------------------------------------------------------


def test_a_slip_is_weighed_up_and_the_notebook_gets_the_same_targets(
    sheet: Fingers, notebook: Small, tmp_path: Path
) -> None:
    before = batch_of(notebook)
    held = weighing.weighed(before).lines
    line = next(x for x in before.lines if held[x.id] is None and not x.adjust)
    assert line.target
    mass = f"{line.target.value * Decimal('1.5'):f}"
    sheet.types(f"#w-{line.id}-0", mass)
    assert "What now" in sheet.sees(f"[data-line={line.id}] .slip")
    lines = [
        BenchLine(
            id=x.id, ingredient=x.ingredient, target=x.target.exact("g") if x.target else None,
            weighed=held[x.id], fixed=x.role == "preservative", fills_up=bool(x.qs),
        )
        for x in before.lines
    ]  # fmt: skip
    wanted = slip(lines, line.id, Fraction(mass), Decimal("0.01")).weigh_up
    sheet.taps(f"[data-line={line.id}] .slip button:nth-of-type(2)")
    assert sheet.sees(f"[data-line={line.id}] .slip") == ""
    take_in(Bench(notebook.root), None, read_file(finished(sheet, tmp_path)))
    now = batch_of(notebook)
    assert {x.id: x.target and x.target.value for x in now.lines} == dict(wanted.targets)
    assert now.size.value == wanted.size
    assert "weighed up to" in now.deviations[-1].text


def test_what_was_taken_out_again_is_struck_and_kept(
    sheet: Fingers, notebook: Small, tmp_path: Path
) -> None:
    before = batch_of(notebook)
    line = next(x for x in before.lines if not any(w.line == x.id for w in before.weighings))
    assert line.target
    sheet.types(f"#w-{line.id}-0", f"{line.target.value * 2:f}")
    sheet.taps(f"[data-line={line.id}] .slip button:nth-of-type(3)")
    sheet.types(f"#w-{line.id}-0", f"{line.target.value:f}")
    take_in(Bench(notebook.root), None, read_file(finished(sheet, tmp_path)))
    own = [w for w in batch_of(notebook).weighings if w.line == line.id]
    assert [w.struck for w in own] == ["taken out again", None]


def test_ten_times_off_is_asked_about_once(sheet: Fingers, notebook: Small) -> None:
    before = batch_of(notebook)
    line = next(x for x in before.lines if not any(w.line == x.id for w in before.weighings))
    assert line.target
    much = f"{line.target.value * 10:f}"
    field, state = f"#w-{line.id}-0", f"#s-{line.id}"
    sheet.types(field, much)
    assert "is wanted?" in sheet.sees(state)
    assert sheet.page.evaluate("document.activeElement.id") == field[1:]
    sheet.types(field, much)  # the same again confirms it
    assert "over" in sheet.sees(state)


# Alone, readable, printable ----------------------------------------------------------------------

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


@pytest.mark.parametrize(("name", "paper"), [("a4", A4), ("letter", LETTER)])
def test_it_prints_with_room_to_write(
    sheet: Fingers, tmp_path: Path, name: str, paper: tuple[float, float]
) -> None:
    file = tmp_path / f"{name}.pdf"
    sheet.prints(file, *paper)
    raw = file.read_bytes()
    pages = len(re.findall(rb"/Type\s*/Page\b", raw))
    assert 1 <= pages <= 4
    sheet.ask("Emulation.setEmulatedMedia", media="print")
    assert sheet.page.evaluate("document.querySelector('#finish').offsetParent") is None
    lines = sheet.page.evaluate(
        "[...document.querySelectorAll('.line input[data-portion]')]"
        ".map((e) => e.getBoundingClientRect()).map((b) => [b.width, b.height])"
    )
    mm = 96 / 25.4
    assert all(width >= 35 * mm and height >= 7 * mm for width, height in lines)
    sheet.ask("Emulation.setEmulatedMedia", media="")
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        shutil.copy(file, PICTURES)
        sheet.page.picture(Path(PICTURES) / "phone.png")
