"""What is learned of 9T after it was closed, and where it shows: the command on the sample."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import RunLabbook
from tests.e2e.bench import ended, through_the_door

Types = Callable[..., str]
FILE = "batches/2026/SBC-260122-9T/batch.yaml"


@pytest.fixture
def root(sample: Path) -> Path:
    """The sample notebook, to work in."""
    return sample


@pytest.fixture
def does(root: Path) -> Types:
    """What a command says; what went wrong where it has to end otherwise."""

    def typed(*words: str, code: int = 0) -> str:
        ran = ended(through_the_door(*words, cwd=root), code)
        return " ".join((ran.err if code else ran.out).split())

    return typed


def test_what_why_asks_for_can_be_told(root: Path, run_labbook: RunLabbook) -> None:
    def says(*words: str) -> str:
        return ended(run_labbook(*words, cwd=root), 0).out

    line = 'labbook note 9t "blender ... rpm"'
    assert line in says("why", "9t")
    before = json.loads(says("check", "--json"))["problems"]
    file = (root / FILE).read_text(encoding="utf-8")
    said = " ".join(says("note", "9t", "blender 9000 rpm").split())
    assert "9T speed 9000 rpm (s3)" in said
    assert "9T is closed: kept as a correction, beside the first record; known from memory" in said
    after = (root / FILE).read_text(encoding="utf-8")
    assert after.startswith(file)
    assert after.removeprefix(file).startswith(
        'corrections:\n  - {id: "c1", of: "s3", key: "speed", now: "9000 rpm",'
        ' why: "written down later", time: '
    )
    assert line not in says("why", "9t")
    assert not any(
        "speed" in one["sentence"] for one in json.loads(says("why", "9t", "--json"))["unknown"]
    )
    (row,) = [row for row in says("diff", "4m", "9t").splitlines() if "combine: speed" in row]
    assert row.split() == ["changed", "combine:", "speed", "11000", "rpm", "9000", "rpm"]
    assert json.loads(says("check", "--json"))["problems"] == before
    shown = " ".join(says("show", "9t").split())
    assert "speed 9000 rpm (corrected, not written down before)" in shown
    assert "combine (s3) speed: - → 9000 rpm, written down later, from memory" in shown
    says("undo")
    assert (root / FILE).read_text(encoding="utf-8") == file
    assert line in says("why", "9t")
    assert json.loads(says("check", "--json"))["problems"] == before


def test_a_step_a_tool_and_the_room_can_be_corrected(does: Types) -> None:
    for what, said in (
        ("s3.B=62 °C", "combine (s3) temperature of B: corrected first 58 °C now 62 °C"),
        ("s3.temperatures.A=70 °C", "temperature of A: corrected first 71 °C now 70 °C"),
        ("s4.seen=grainy", "cool (s4) seen: corrected first nothing written down now grainy"),
        ("mixer=spatula", "mixer: corrected first stick-blender now spatula"),
        ("room=20 °C", "room temperature: corrected first 18 °C now 20 °C"),
        ("session=evening", "session: corrected first 2026-01-22 now evening"),
        ("s3.B=63 °C", "temperature of B: corrected first 62 °C now 63 °C"),
        ("s3.took=-", "combine (s3) took: corrected first 3 min now nobody knows"),
    ):
        assert said in does("batch", "correct", "9t", what, "-m", "the slip says so"), what
    shown = does("show", "9t")
    assert "A at 70 °C (corrected, first 71 °C), B at 63 °C (corrected, first 58 °C)" in shown
    assert "20 °C (corrected, first 18 °C), 45 % humidity" in shown
    assert "3 min, mixed" not in shown
    differs = does("diff", "4m", "9t")
    assert "water phase when combined 71 63 °C" in differs
    assert "mixer" in differs
    assert "closed-batch" not in does("check")


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("s3.speed=", "says nothing to correct"),
        ("s3.tempo=9", "s3 has no 'tempo' that could be corrected. mend It has: temperatures A,"),
        ("s3.took=long", "took of s3 can't be that"),
        ("s3.B=58", "58 has no unit"),
        ("s3.temperatures=58 °C", "The temperature of which phase in s3?"),
        ("s9.speed=3", "9T has no entry s9"),
        ("mixer=whisk", "The notebook has no equipment whisk. mend It has: balance-001"),
        ("s3.rate=poured", "combine (s3) rate of 9T is poured already; nothing was changed"),
        ("s3.speed=-", "combine (s3) speed of 9T is not written down anyway"),
        ("batch.maker=x", "batch has no 'maker' that could be corrected. mend It has: session"),
    ],
)
def test_what_cannot_be_corrected(does: Types, root: Path, what: str, said: str) -> None:
    file = (root / FILE).read_bytes()
    assert said in does("batch", "correct", "9t", what, "-m", "x", code=2)
    assert (root / FILE).read_bytes() == file


def test_a_reading_told_later_is_read_like_any_other(does: Types) -> None:
    does("note", "9t", "pH 6.1 wash water at 22 °C", "--from", "paper", "--step", "s5")
    shown = does("show", "9t")
    told = "pH 6.1 (corrected, not written down before) of the wash water, at 22 °C (from paper)"
    assert told in shown
    said = does("note", "9t", "pH 6.2 wash water", code=2)
    assert "9T has a pH of the wash water already, c1." in said
    assert 'labbook batch correct 9T c1.value="6.2"' in said
    does("batch", "correct", "9t", "c1.value=6.2", "-m", "the second try")
    assert "pH 6.2 (corrected, first 6.1) of the wash water" in does("show", "9t")
    does("batch", "correct", "9t", "c1.struck=another batch", "-m", "the slip was of 4M")
    assert "struck: another batch" in does("show", "9t")
    assert "correction-unreadable" not in does("check")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("smelled odd",), "9T is closed; a note would change it, and 'smelled odd' says nothing"),
        (("blender 9000 rpm; smelled odd",), "'smelled odd' says nothing"),
        (
            ("A 70",),
            "combine (s3) temperature of A of 9T is 71 °C; 70 °C in its place needs a reason",
        ),
        (("mixed 5 min",), "9T says so already; nothing was changed"),
        (("poured", "--deviation"), "9T is closed; a note would change it"),
        (("pH 4.9 water phase",), "9T has a pH of the water phase already, r1"),
        (("mixer whisk",), "The notebook has no equipment whisk"),
    ],
)
def test_what_a_closed_batch_does_not_take(
    does: Types, root: Path, words: tuple[str, ...], said: str
) -> None:
    file = (root / FILE).read_bytes()
    assert said in does("note", "9t", *words, code=2)
    assert (root / FILE).read_bytes() == file


def test_with_a_reason_another_figure_is_taken(does: Types) -> None:
    does("note", "9t", "A 70", "-m", "the probe reads 1 °C high", "--who", "the potter")
    assert "A at 70 °C (corrected, first 71 °C)" in does("show", "9t")


def test_the_journal_tells_what_was_learned(does: Types, root: Path) -> None:
    does("note", "9t", "blender 9000 rpm")
    does("journal", "build", "--output", "out")
    pages = "".join(path.read_text(encoding="utf-8") for path in root.rglob("out/**/*.html"))
    assert "combine, speed: - → 9000\u00a0rpm" in pages
    assert "written down later, from memory" in pages
