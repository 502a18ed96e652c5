"""What the journal tells of corrections to a making: figures both, words only where none stood."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from labbook.journal.publish import published
from labbook.model.batch import BatchStep, Correction, Done, Weighing
from labbook.model.formula import Step
from labbook.model.quantities import parse_quantity as q
from tests.journal.filled import WHEN
from tests.journal.site import all_bytes, site_of
from tests.journal.test_private import BOOK, HIDDEN, changed

BATCH = BOOK.batches["SBC-260203-4M"]
STEPS = (
    BatchStep(
        id="s1",
        plan=Step(id="s1", do="combine", add="B", into="A"),
        done=Done(temperatures={"B": q("58 °C")}, rate="slow"),
    ),
)


def fix(of: str, key: str, now: str | None, was: str | None = None, id: str = "c9") -> Correction:
    return Correction(id=id, of=of, key=key, was=was, now=now, why="asked again", time=WHEN,
                      known_from="memory")  # fmt: skip


def site(*corrections: Correction, **more: Any) -> str:
    found: bytes = all_bytes(site_of(changed(steps=STEPS, corrections=corrections, **more)))
    return found.decode("utf-8")


@pytest.mark.parametrize(
    ("correction", "told"),
    [
        (fix("s1", "speed", "9000 rpm"), "combine, speed: - → 9000 rpm"),
        (fix("s1", "temperatures B", "62 °C", "58 °C"),
         "combine, temperature of B: 58 °C → 62 °C"),
        (fix("s1", "with", "whisk"), "combine, with: - → whisk"),
        (fix("room", "temperature", "18 °C"), "room, temperature: - → 18 °C"),
        (fix("tools", "vessel", "beaker"), "vessel: - → beaker"),
        (fix("readings", "pH of wash water", "6.1"), "pH of wash water: - → 6.1"),
    ],
)  # fmt: skip
def test_what_was_done_is_told_with_both_figures(correction: Correction, told: str) -> None:
    text = site(correction)
    assert told in text
    assert "asked again, from memory" in text


def test_the_later_figure_stands_in_its_step() -> None:
    assert "B at 62 °C" in site(fix("s1", "temperatures B", "62 °C", "58 °C"))


@pytest.mark.parametrize(
    "corrections",
    [
        (fix("s1", "rate", "poured", HIDDEN),),
        (fix("s1", "seen", HIDDEN, id="c1"), fix("s1", "seen", "clear", HIDDEN, id="c2")),
        (fix("s1", "speed", "3", HIDDEN),),
        (fix("batch", "session", HIDDEN),),
        (fix("readings", "emulsion type", "water-in-oil", id="c1"), fix("c1", "by", HIDDEN)),
        (fix("readings", HIDDEN, "3", id="c1"), fix("c1", "struck", "another batch")),
        (fix("s9", "speed", HIDDEN),),
    ],
)
def test_what_was_corrected_away_stays_inside(corrections: tuple[Correction, ...]) -> None:
    assert HIDDEN not in site(*corrections)


def test_a_weight_told_later_is_in_the_table_and_marked() -> None:
    line = BATCH.lines[0]
    book = changed(
        weighings=tuple(w for w in BATCH.weighings if w.line != line.id),
        corrections=(fix(line.id, "mass", "3.33 g"),),
    )
    (formula,) = [one for one in published(book).formulas if one.batches]
    (made,) = [one for one in formula.batches if one.batch.id == BATCH.id]
    assert [w.mass for w in made.batch.weighings if w.line == line.id] == [q("3.33 g")]
    assert replace(Weighing(id="c9", line=line.id, mass=q("3.33 g")), known_from="memory") in (
        made.batch.weighings
    )
