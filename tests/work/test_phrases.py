"""What is said at the bench, and the entry that it becomes. One row each; readable as a table."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.batch import Batch, BatchLine, BatchStep, Done, Pin
from labbook.model.formula import Step
from labbook.model.quantities import Quantity
from labbook.work.phrases import recognise, split_phrases

STEPS = (
    Step(id="s1", do="heat", set={"A": Quantity(Decimal(72), "°C")}),
    Step(id="s2", do="combine", add="B", into="A"),
    Step(id="s3", do="cool"),
)


def batch(*, combined: bool = False) -> Batch:
    done = Done(took=Quantity(Decimal(5), "min")) if combined else None
    return Batch(
        id="HC-260109-7K",
        state="open",
        made=datetime(2026, 1, 9, 10, tzinfo=UTC),
        formula=Pin(code="HC", id="f-1", version=1, digest="d", blob="b"),
        size=Quantity(Decimal(100), "g"),
        lines=tuple(
            BatchLine(id=f"a{n}", phase=phase, ingredient="x", sheet="x")
            for n, phase in enumerate("AB", 1)
        ),
        steps=tuple(
            BatchStep(id=s.id, plan=s, done=done if s.do == "combine" else None) for s in STEPS
        ),
    )


def c(value: str) -> Quantity:
    return Quantity(Decimal(value), "°C")


def minutes(value: str) -> Quantity:
    return Quantity(Decimal(value), "min")


SAID: list[tuple[str, str, dict[str, Any], str]] = [
    ("pH 5.4", "readings", {"reading": "pH", "value": Decimal("5.4"), "of": "water phase"}, ""),
    ("ph 5,4", "readings", {"reading": "pH", "value": Decimal("5.4"), "of": "water phase"}, ""),
    ("pH 5.40 of the water phase at 22 °C", "readings",
     {"reading": "pH", "value": Decimal("5.40"), "of": "water phase", "at": c("22")}, ""),
    ("A 72 B 58", "step", {"temperatures": {"A": c("72"), "B": c("58")}}, "s1"),
    ("A 72.5 °C, B 58 °C", "step", {"temperatures": {"A": c("72.5"), "B": c("58")}}, "s1"),
    ("s2 A 71 B 58", "step", {"temperatures": {"A": c("71"), "B": c("58")}}, "s2"),
    ("combine A 71 B 58", "step", {"temperatures": {"A": c("71"), "B": c("58")}}, "s2"),
    ("A 161 F", "step", {"temperatures": {"A": Quantity(Decimal(161), "°F")}}, "s1"),
    ("combine 6 min", "step", {"took": minutes("6")}, "s2"),
    ("s3 24 min", "step", {"took": minutes("24")}, "s3"),
    ("mixed 5 min", "step", {"mixed": minutes("5")}, "s2"),
    ("speed 3", "step", {"speed": "3"}, "s2"),
    ("blender 11000 rpm", "step", {"speed": "11000 rpm"}, "s2"),
    ("room 21", "room", {"temperature": c("21")}, ""),
    ("room 21 C 45 %", "room",
     {"temperature": c("21"), "humidity": Quantity(Decimal(45), "%")}, ""),
    ("type w/o a drop in water", "readings",
     {"reading": "emulsion type", "seen": "water-in-oil", "by": "a drop in water"}, ""),
    ("viscosity 42000", "readings",
     {"reading": "viscosity", "value": Decimal(42000), "unit": "mPa s"}, ""),
    ("spread 31 mm", "readings", {"reading": "spread", "value": Decimal(31), "unit": "mm"}, ""),
    ("held 10 min", "step", {"hold": minutes("10")}, "s1"),
    ("took 3 min", "step", {"took": minutes("3")}, "s2"),
    ("s1: held for 12 min", "step", {"hold": minutes("12")}, "s1"),
    ("stirred until 35 °C", "step", {"stirred until": c("35")}, "s3"),
    ("until 35", "step", {"stirred until": c("35")}, "s3"),
    ("poured", "step", {"rate": "poured"}, "s2"),
    ("slow", "step", {"rate": "slow"}, "s2"),
    ("in a thin stream", "step", {"rate": "in a thin stream"}, "s2"),
    ("rate in three goes", "step", {"rate": "in three goes"}, "s2"),
    ("mixed with stick-blender", "step", {"with": "stick-blender"}, "s2"),
    ("cool with spatula", "step", {"with": "spatula"}, "s3"),
    ("s3 seen: grainy", "step", {"seen": "grainy"}, "s3"),
    ("s1 skipped: no plate free", "step", {"skipped": "no plate free"}, "s1"),
    ("s3 cream 34 °C", "step", {"temperatures": {"cream": c("34")}}, "s3"),
    ("mixer Stick blender", "tools", {"mixer": "stick-blender"}, ""),
    ("humidity 45 %", "room", {"humidity": Quantity(Decimal(45), "%")}, ""),
    ("room 45 %", "room", {"humidity": Quantity(Decimal(45), "%")}, ""),
    ("balance was off", "remarks", {"text": "balance was off"}, ""),
    ("with a lid on", "remarks", {"text": "with a lid on"}, ""),
    ("mixed with 5 g more water", "remarks", {"text": "mixed with 5 g more water"}, ""),
    ("slow to set", "remarks", {"text": "slow to set"}, ""),
    ("held up by the telephone", "remarks", {"text": "held up by the telephone"}, ""),
    ("yield 96 g", "remarks", {"text": "yield 96 g"}, ""),  # closing asks for it
    ("smelled odd", "remarks", {"text": "smelled odd"}, ""),
    ("Z 72", "remarks", {"text": "Z 72"}, ""),
    ("5 min late", "remarks", {"text": "5 min late"}, ""),
    ("A went cloudy at 60", "remarks", {"text": "A went cloudy at 60"}, ""),
]  # fmt: skip


@pytest.mark.parametrize(("said", "list_", "data", "step"), SAID, ids=[row[0] for row in SAID])
def test_what_is_said(said: str, list_: str, data: dict[str, Any], step: str) -> None:
    names = {"stick-blender": "stick-blender"}
    entry = recognise(said, batch(), "water-in-oil", equipment=names)
    assert (entry.list, entry.data, entry.step) == (list_, data, step)


def test_what_came_out_is_told_once_the_batch_is_closed() -> None:
    entry = recognise("yield 96 g", replace(batch(), state="closed"), "water-in-oil")
    assert (entry.list, entry.data) == ("batch", {"yield": Quantity(Decimal(96), "g")})


def test_an_act_names_its_step_that_lacks_the_thing() -> None:
    both = batch(combined=True)
    again = replace(both.steps[1], id="s4", done=None)
    entry = recognise("combine 6 min", replace(both, steps=(*both.steps, again)), "water-in-oil")
    assert entry.step == "s4"
    entry = recognise("combine speed 2", replace(both, steps=(*both.steps, again)), "water-in-oil")
    assert entry.step == "s2"


def test_a_ph_of_the_finished_water_in_oil_cream_is_kept_and_said() -> None:
    # The electrode meets oil: common practice, no source.
    entry = recognise("pH 6.8", batch(combined=True), "water-in-oil")
    assert entry.data["of"] == "finished emulsion"
    assert "says nothing" in entry.remarks[0]


def test_a_ph_of_the_finished_oil_in_water_cream_is_a_reading_like_any_other() -> None:
    entry = recognise("pH 5.2", batch(combined=True), "oil-in-water")
    assert (entry.data["of"], entry.remarks) == ("finished emulsion", ())


def test_another_type_than_meant_is_said() -> None:
    entry = recognise("type o/w a drop in water", batch(), "water-in-oil")
    assert entry.remarks == ("It is meant to be water-in-oil.",)


def test_several_things_in_one_go() -> None:
    assert split_phrases(["pH 5.4; A 71 B 69 ", " ", "room 20"]) == [
        "pH 5.4",
        "A 71 B 69",
        "room 20",
    ]


@given(st.text(max_size=60))
def test_nothing_that_is_said_is_refused_or_lost(said: str) -> None:
    entry = recognise(said, batch(), "water-in-oil")
    if entry.list == "remarks":
        assert entry.data["text"] == " ".join(said.split())
    assert entry.said
