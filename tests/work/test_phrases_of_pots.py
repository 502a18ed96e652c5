"""What is said of the vessels at the bench, and the reading that it becomes."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from labbook.model.batch import Reading
from labbook.work.phrases import recognise
from tests.work.test_phrases import batch

SAID = [
    ("vessel A before 240.1 g", "mass before heating", "240.1", "A"),
    ("vessel B after 236,4", "mass after heating", "236.4", "B"),
    ("A before heating 240.1", "mass before heating", "240.1", "A"),
    ("B after 236.4 g", "mass after heating", "236.4", "B"),
    ("pot before 440 g", "mass before heating", "440", "pot"),
    ("vessel B empty 120.3 g", "empty vessel", "120.3", "B"),
    ("vessel B emptied 121.1 g", "emptied vessel", "121.1", "B"),
    ("returned 3.2 g water", "water returned", "3.2", "pot"),
    ("water returned 3.2 g", "water returned", "3.2", "pot"),
    ("returned 3.2 g water to B", "water returned", "3.2", "B"),
    ("put back 3 g water into vessel B", "water returned", "3", "B"),
    ("residue A 0.8 g", "residue", "0.8", "A"),
    ("residue 0.8 g in A", "residue", "0.8", "A"),
    ("evaporated 3.2 g from B", "evaporated", "3.2", "B"),
    ("evaporated 3.2", "evaporated", "3.2", "pot"),
]


@pytest.mark.parametrize(("said", "reading", "value", "of"), SAID)
def test_what_is_said_of_a_vessel(said: str, reading: str, value: str, of: str) -> None:
    entry = recognise(said, batch(), "water-in-oil")
    assert entry.list == "readings"
    assert entry.data == {"reading": reading, "value": Decimal(value), "unit": "g", "of": of}


@pytest.mark.parametrize(
    "said",
    ["vessel glass empty 3 g", "residue Z 3 g", "returned 3 g glycerin", "wiped after 3 g",
     "residue A -1 g", "before 3 g", "A before 240.1"],
)  # fmt: skip
def test_other_words_are_no_reading_of_a_vessel(said: str) -> None:
    assert recognise(said, batch(), "water-in-oil").list == "remarks"


def test_a_temperature_after_a_letter_stays_one() -> None:
    assert recognise("A 72 B 58", batch(), "water-in-oil").list == "step"


def test_after_heating_says_what_went_off() -> None:
    before = Reading(id="r1", reading="mass before heating", of="B", value=Decimal("0.24"),
                     unit="kg")  # fmt: skip
    held = replace(batch(), readings=(before,))
    entry = recognise("vessel B after 236.4 g", held, "")
    assert entry.remarks == ("3.6 g went off.",)
    entry = recognise("vessel B after 241 g", held, "")
    assert entry.remarks == ("It is 1 g heavier than before; weigh it again.",)
    assert recognise("vessel A after 241 g", held, "").remarks == ()
    # Only one vessel was weighed: the water goes back there.
    assert recognise("returned 3 g water", held, "").data["of"] == "B"


def test_what_it_was_measured_in_may_be_named_beside() -> None:
    entry = recognise("evaporated 3 g", batch(), "", of="B", step="s1")
    assert entry.data["of"] == "B"
    assert entry.data["step"] == "s1"
