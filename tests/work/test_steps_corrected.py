"""What was done in a step of a closed batch: edited by hand, and written down later."""

from __future__ import annotations

import re

import pytest

from labbook.model.errors import Unclear
from labbook.trade.standing import standing
from labbook.work.bench import Bench
from labbook.work.correct import correct
from labbook.work.note import note
from tests.work.notebooks import Maker, Small, findings, rules


@pytest.mark.parametrize(
    ("old", "new", "typed"),
    [
        ("A: 72 °C, B: 71 °C}", "A: 73 °C, B: 71 °C}", "s1.temperatures A=73 °C"),
        ("B: 71 °C}", "B: 71 °C}, took: 9 min", "s1.took=9 min"),
    ],
)
def test_a_hand_edit_of_a_step_can_be_made_a_correction(
    small: Small, maker: Maker, old: str, new: str, typed: str
) -> None:
    path = small.path(small.first)
    text = (small.root / path).read_text(encoding="utf-8")
    done = re.search(r"done:\s+.*?B: 71 °C\s*\}?", text, re.DOTALL)
    assert done, text
    if old not in text:
        pytest.fail(text)
    maker.edits(path, old, new)
    (problem,) = [one for one in findings(small) if one.rule == "closed-batch-changed"]
    short = small.first[-2:]
    assert f'labbook batch correct {short} "{typed}" -m "..."' in problem.mend
    correct(maker.bench, small.first, typed, "read again")
    assert rules(small) == []
    batch = Bench(small.root).batch(small.first)
    assert batch.corrections[-1].of == "s1"
    assert standing(batch).steps != batch.steps


def test_a_note_on_a_closed_batch_keeps_what_the_closing_did(small: Small, maker: Maker) -> None:
    before = Bench(small.root).batch(small.first)
    note(maker.bench, small.first, ["combine took 6 min", "room 20", "blender 9000 rpm"])
    after = Bench(small.root).batch(small.first)
    assert after.steps == before.steps
    assert after.corrections[: len(before.corrections)] == before.corrections
    told = [(c.of, c.key, c.was, c.now, c.why, c.known_from) for c in after.corrections[-3:]]
    later = ("written down later", "memory")
    assert told == [
        ("s2", "took", None, "6 min", *later),
        ("room", "temperature", None, "20 °C", *later),
        ("s2", "speed", None, "9000 rpm", *later),
    ]
    assert rules(small) == []


def test_an_open_batch_needs_no_reason(small: Small, maker: Maker) -> None:
    with pytest.raises(Unclear, match="is open; what is noted needs no reason"):
        note(maker.bench, small.open, ["room 20"], why="a slip")


def test_a_correction_written_by_hand_that_says_nothing_is_found(
    small: Small, maker: Maker
) -> None:
    maker.edits(small.path(small.first), 'key: "mass"', 'key: "maas"')
    assert "correction-unreadable" in rules(small)
