"""A bench sheet in a browser: filled in, cut off in every way, finished, taken in again."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from labbook.model.batch import Batch
from labbook.trade import weighing
from labbook.trade.actual import actual_composition
from labbook.trade.slips import BenchLine, slip
from labbook.work.bench import Bench
from labbook.work.sheet_in import read_file, take_in
from tests.browser.chromium import NAMES
from tests.browser.fingers import Fingers, waited
from tests.browser.sheets import batch_of, finished, to_do
from tests.work.notebooks import Small

pytestmark = pytest.mark.needs_tool(*NAMES)

LATER = """(() => {{
  const Real = Date, apart = {minutes} * 60000;
  window.later = true;
  window.Date = class extends Real {{
    constructor(...given) {{ given.length ? super(...given) : super(Real.now() + apart); }}
    static now() {{ return Real.now() + apart; }}
  }};
}})()"""
"""Moves the page's clock on, before anything of the page runs."""

# A whole sheet -----------------------------------------------------------------------------------

WEIGHTS = {
    "a1": "14.02", "a2": "1.5", "a3": "4,48", "a4": "74.20", "a5": "4.01", "a6": "0.80",
    "a7": "2.50",
}  # fmt: skip
VESSELS = {
    0: ("120.10", "140.10", "139.98", "", "120.35"),
    1: ("90.00", "174.2", "172,9", "1.30", ""),
}
"""What is typed of vessel A and B: empty, before and after heating, water put back, emptied."""


def test_a_whole_sheet_cut_off_in_every_way_equals_what_was_typed(
    sheet: Fingers, notebook: Small, tmp_path: Path
) -> None:
    todo = to_do(batch_of(notebook))
    typed = {id_: WEIGHTS.get(id_, "0.61") for id_ in todo}
    assert len(typed) >= 4

    sheet.opens("#m0-0-0")
    sheet.types("#m0-0-0", "120,10")  # vessel A, empty
    premix = _from_the_premix(sheet, "a7")
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
    for vessel, masses in VESSELS.items():
        sheet.opens(f"#m{vessel}-0-0")
        for place, mass in enumerate(masses):
            if mass:
                sheet.types(f"#m{vessel}-{place}-0", mass)
    sheet.types("#v-yield", "96,4")
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
    assert [w.batch for w in now.weighings if w.line == "a7"] == [premix]
    _balances(notebook, now)
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


def _from_the_premix(sheet: Fingers, line: str) -> str:
    """Chooses the only premix that a line is offered; the page says how much of it is needed."""
    sheet.opens(f"#b-{line}")
    offered = sheet.page.evaluate(
        f"[...document.querySelector('#b-{line}').options].map((o) => o.value)"
    )
    assert len(offered) == 2
    sheet.chooses(f"#b-{line}", offered[1])
    assert sheet.sees(f"#s-{line}") == "2.50 g of the premix hold it"
    return str(offered[1])


def _balances(notebook: Small, now: Batch) -> None:
    """Readings as typed, in the order that the mass balance pairs them in; and what comes of it."""
    told = [(r.of, r.reading, f"{r.value:f} {r.unit}") for r in now.readings if r.unit == "g"]
    assert told == [
        ("A", "empty vessel", "120.10 g"),
        ("A", "mass before heating", "140.10 g"),
        ("A", "mass after heating", "139.98 g"),
        ("A", "emptied vessel", "120.35 g"),
        ("B", "empty vessel", "90.00 g"),
        ("B", "mass before heating", "174.2 g"),
        ("B", "mass after heating", "172.9 g"),
        ("B", "water returned", "1.30 g"),
    ]
    assert str(now.yield_) == "96.4 g"
    book = Bench(notebook.root).snapshot
    actual = actual_composition(now, book.sheets, batches=book.batches, equipment=book.equipment)
    by_phase = {vessel.phase: vessel for vessel in actual.vessels}
    assert by_phase["B"].evaporated == Fraction("1.3")
    assert by_phase["B"].returned == Fraction("1.3")
    assert actual.residue == Fraction("0.25")
    assert (actual.final, actual.weighed_out) == (Fraction("96.4"), True)


def _locked_for(fingers: Fingers, *, minutes: int) -> None:
    """The screen is off for a while: the page stands still, and is thrown away and loaded anew."""
    fingers.ask("Page.setWebLifecycleState", state="frozen")
    fingers.ask("Page.setWebLifecycleState", state="active")
    script = LATER.format(minutes=minutes)
    fingers.ask("Page.addScriptToEvaluateOnNewDocument", source=script)
    fingers.loads("Page.reload")
    waited(lambda: fingers.page.evaluate("window.later && document.readyState === 'complete'"))


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
    sheet.opens("#m0-0-0")
    sheet.types("#m0-0-0", "120.1", enter=False)
    assert "private words" in sheet.page.evaluate("JSON.stringify(localStorage)")
    assert sheet.page.evaluate("Object.keys(localStorage)") == [f"labbook-sheet-{notebook.open}"]
    sheet.page.evaluate("localStorage.setItem('labbook-sheet-HC-260301-2B', 'of another batch')")
    finished(sheet, tmp_path)
    sheet.taps("#f-clear")
    assert "Nothing of" in sheet.sees("#f-cleared")
    assert sheet.page.evaluate("Object.keys(localStorage)") == ["labbook-sheet-HC-260301-2B"]
    assert sheet.page.evaluate("sessionStorage.length + document.cookie.length") == 0
    sheet.page.evaluate("localStorage.clear()")
    assert sheet.page.evaluate(fields) == fresh
    sheet.loads("Page.reload")
    assert sheet.sees(f"#w-{line}-0") == ""
    assert sheet.page.evaluate("localStorage.length") == 0


def test_a_browser_that_keeps_nothing_is_said_to(sheet: Fingers, notebook: Small) -> None:
    """As in a private window, or with the storage full: it goes on, and finishing still works."""
    sheet.page.evaluate("Storage.prototype.setItem = () => { throw new Error('full'); }")
    line = to_do(batch_of(notebook))[0]
    sheet.types(f"#w-{line}-0", "14.01")
    assert "keeps nothing: finish before you close" in sheet.sees("#kept")
    assert sheet.sees(f"#s-{line}") == "0.01 g over"
    sheet.taps("#finish")
    assert f"| weighed | {line} |" in sheet.sees("#f-text")


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
    line = next(x for x in before.lines if x.id in to_do(before))
    assert line.target
    sheet.types(f"#w-{line.id}-0", f"{line.target.value * 2:f}")
    sheet.taps(f"[data-line={line.id}] .slip button:nth-of-type(3)")
    sheet.types(f"#w-{line.id}-0", f"{line.target.value:f}")
    take_in(Bench(notebook.root), None, read_file(finished(sheet, tmp_path)))
    own = [w for w in batch_of(notebook).weighings if w.line == line.id]
    assert [w.struck for w in own] == ["taken out again", None]


def test_what_is_combined_can_t_be_taken_out(sheet: Fingers, notebook: Small) -> None:
    """Once the step that puts the phases together has begun, by the clock or a temperature."""
    lines = [line for line in batch_of(notebook).lines if line.target]
    for line in lines[1:-1]:
        assert line.target
        sheet.types(f"#w-{line.id}-0", str(line.target.value))
    sheet.types(f"#w-{lines[0].id}-0", "16")
    box = f"[data-line={lines[0].id}] .slip"
    assert "I took it out again (2.00 g or more)" in sheet.sees(box)
    assert "Can't follow" not in sheet.sees(box)
    sheet.taps('[data-now="step s2|started"]')
    assert "I took it out" not in sheet.sees(box)
    assert "can't be taken out" in sheet.sees(box)
    assert f"can't be told, not weighed: {lines[-1].ingredient}." in sheet.sees(box)
    assert lines[-1].target
    sheet.types(f"#w-{lines[-1].id}-0", str(lines[-1].target.value))
    others = ", ".join(line.ingredient for line in lines[1:])
    assert f"Can't follow, combined or too much already: {others}." in sheet.sees(box)


def test_a_line_from_a_premix_is_judged_by_what_it_holds(sheet: Fingers, notebook: Small) -> None:
    """2.50 g of a solution of 20 % hold 0.50 g; what it brings along is not weighed up."""
    _from_the_premix(sheet, "a7")
    sheet.types("#w-a7-0", "2.50")
    assert "2.50 g, in part of a premix; 0.50" in sheet.sees("#s-a7")
    assert sheet.sees("[data-line=a7] .slip") == ""
    sheet.types("#w-a7-0", "25")
    assert "25 g where 0.50 g is wanted?" in sheet.sees("#s-a7")
    sheet.types("#w-a7-0", "")
    sheet.opens("[data-as-target=a7]")
    sheet.taps("[data-as-target=a7]")
    assert sheet.sees("#w-a7-0") == "2.50"
    sheet.types("#w-a1-0", "16")
    said = sheet.sees("[data-line=a1] .slip")
    assert "weigh it up at the computer" in said
    assert "Weigh the rest up to it" not in said
    assert sheet.page.evaluate("document.querySelector('#l-a7').disabled")


def test_ten_times_off_is_asked_about_once(sheet: Fingers, notebook: Small) -> None:
    before = batch_of(notebook)
    line = next(x for x in before.lines if x.id in to_do(before))
    assert line.target
    much = f"{line.target.value * 10:f}"
    field, state = f"#w-{line.id}-0", f"#s-{line.id}"
    sheet.types(field, much)
    assert "is wanted?" in sheet.sees(state)
    assert sheet.page.evaluate("document.activeElement.id") == field[1:]
    sheet.types(field, much)  # the same again confirms it
    assert "over" in sheet.sees(state)
