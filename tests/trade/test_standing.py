"""A batch as it stands after its corrections: what each one changes, and laws that hold for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.batch import (
    Batch,
    BatchLine,
    BatchStep,
    Correction,
    Done,
    Pin,
    Reading,
    Room,
    Tools,
    Weighing,
)
from labbook.model.formula import Step
from labbook.model.quantities import parse_quantity as q
from labbook.trade.standing import first_lacking, standing, unreadable
from labbook.trade.weighing import entries, weighed

NOW = datetime(2026, 2, 1, 9, tzinfo=UTC)
MADE = Batch(
    id="HC-260109-7K",
    state="closed",
    made=datetime(2026, 1, 9, 10, tzinfo=UTC),
    formula=Pin(code="HC", id="f-1", version=1, digest="d", blob="b"),
    size=q("100 g"),
    session="2026-01-09",
    tools=Tools(mixer="stick-blender"),
    lines=(
        BatchLine(id="a1", phase="A", ingredient="beeswax", sheet="beeswax"),
        BatchLine(id="a2", phase="B", ingredient="water", sheet="water"),
    ),
    steps=(
        BatchStep(id="s1", plan=Step(id="s1", do="heat")),
        BatchStep(
            id="s2",
            plan=Step(id="s2", do="combine", add="B", into="A"),
            done=Done(temperatures={"A": q("71 °C")}, took=q("3 min")),
        ),
    ),
    weighings=(Weighing(id="w1", line="a1", mass=q("1.50 g")),),
    readings=(Reading(id="r1", reading="pH", value=Decimal("4.9"), of="water phase"),),
)


def fix(of: str, key: str, now: str | None, **more: Any) -> Correction:
    keys: dict[str, Any] = {"id": "c1", "of": of, "key": key, "now": now, "why": "x", "time": NOW}
    return Correction(**(keys | more))


def after(*corrections: Correction) -> Batch:
    numbered = [replace(one, id=f"c{n}") for n, one in enumerate(corrections, 1)]
    return standing(replace(MADE, corrections=tuple(numbered)))


def done(batch: Batch, step: str) -> Done:
    found = next(one.done for one in batch.steps if one.id == step)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("key", "now", "field", "value"),
    [
        ("speed", "9000 rpm", "speed", "9000 rpm"),
        ("took", "4 min", "took", q("4 min")),
        ("hold", "10 min", "hold", q("10 min")),
        ("mixed", "5 min", "mixed", q("5 min")),
        ("rate", "poured", "rate", "poured"),
        ("with", "spatula", "with_", "spatula"),
        ("stirred until", "35 °C", "stirred_until", q("35 °C")),
        ("seen", "grainy", "seen", "grainy"),
        ("skipped", "no plate free", "skipped", "no plate free"),
        ("temperatures B", "58 °C", "temperatures", {"A": q("71 °C"), "B": q("58 °C")}),
        ("temperatures A", "70 °C", "temperatures", {"A": q("70 °C")}),
        ("temperatures A", None, "temperatures", None),
        ("took", None, "took", None),
    ],
)
def test_each_thing_of_a_step(key: str, now: str | None, field: str, value: Any) -> None:
    assert getattr(done(after(fix("s2", key, now)), "s2"), field) == value


def test_a_step_of_which_nothing_was_written_down() -> None:
    assert done(after(fix("s1", "hold", "10 min")), "s1") == Done(hold=q("10 min"))


def test_the_room_the_tools_and_the_batch() -> None:
    now = after(
        fix("room", "temperature", "20 °C"), fix("tools", "mixer", "whisk"),
        fix("tools", "vessel", "pot"), fix("batch", "session", "evening"),
        fix("batch", "yield", "96 g"), fix("batch", "maker", "somebody"),
    )  # fmt: skip
    assert now.room == Room(temperature=q("20 °C"))
    assert now.tools == Tools(mixer="whisk", vessel="pot")
    assert (now.session, now.yield_, now.maker) == ("evening", q("96 g"), None)


def test_a_reading_that_is_told_later_and_corrected_again() -> None:
    told = fix("readings", "spread of finished emulsion", "31 mm", known_from="memory")
    now = after(told, fix("c1", "value", "33"), fix("c1", "at", "21 °C"))
    assert now.readings[1:] == (
        Reading(id="c1", reading="spread", value=Decimal(33), unit="mm", of="finished emulsion",
                at=q("21 °C"), known_from="memory"),
    )  # fmt: skip


def test_what_is_seen_has_no_figure() -> None:
    (_, later) = after(fix("readings", "emulsion type", "oil-in-water")).readings
    assert (later.seen, later.value, later.of) == ("oil-in-water", None, None)


def test_a_weight_that_nobody_had_written_down() -> None:
    batch = replace(MADE, corrections=(fix("a2", "mass", "71.70 g"),))
    found = weighed(batch)
    assert found.lines == {"a1": Decimal("1.50"), "a2": Decimal("71.70")}
    assert found.corrected == {"a2"}
    assert weighed(standing(batch)) == found


def test_a_weight_that_was_written_down_is_no_matter_of_its_line() -> None:
    batch = replace(MADE, corrections=(fix("a1", "mass", "9 g"),))
    assert weighed(batch).lines["a1"] == Decimal("1.50")


def test_weighings_keep_their_first_figure() -> None:
    batch = replace(MADE, corrections=(fix("w1", "mass", "1.40 g"),))
    assert standing(batch).weighings == MADE.weighings
    assert entries(batch) == entries(standing(batch))


@pytest.mark.parametrize(
    ("correction", "said"),
    [
        (fix("s9", "speed", "3"), "s9, which the batch doesn't have"),
        (fix("s2", "tempo", "3"), "s2 has no tempo"),
        (fix("s2", "temperatures", "3 °C"), "s2 has no temperatures"),
        (fix("s2", "took", "long"), "long is no took of s2"),
        (fix("w1", "mass", "1.4 ells"), "1.4 ells is no mass of w1"),
    ],
)
def test_what_cannot_be_followed_is_told(correction: Correction, said: str) -> None:
    ((index, why),) = unreadable(replace(MADE, corrections=(correction,)))
    assert index == 0
    assert said in why


def test_what_cannot_be_read_leaves_it_unknown() -> None:
    assert done(after(fix("s2", "took", "long")), "s2").took is None


@pytest.mark.parametrize(
    ("of", "key", "now"),
    [("w1", "mass", "1.4"), ("w1", "struck", None), ("r1", "value", "5"), ("a2", "mass", "70 g"),
     ("room", "humidity", "45%"), ("s1", "temperatures A", "72 °C"), ("batch", "session", "x"),
     ("readings", "pH of product", "5.0")],
)  # fmt: skip
def test_what_can_be_followed_is_not_told(of: str, key: str, now: str | None) -> None:
    assert not list(unreadable(replace(MADE, corrections=(fix(of, key, now),))))


def test_the_step_that_lacks_it_first() -> None:
    assert first_lacking(MADE, ("heat", "combine"), "took") == "s1"
    assert first_lacking(MADE, ("combine",), "took") == "s2"
    assert first_lacking(MADE, ("fill",), "took") == ""


# Laws --------------------------------------------------------------------------------------------

VALUES: dict[tuple[str, str], Sequence[str | None]] = {
    (of, key): values
    for ofs, keys, values in (
        (("s1", "s2"), ("speed", "rate", "seen", "with"), ["slow", "2", "poured", None]),
        (("s1", "s2"), ("took", "hold", "mixed"), ["3 min", "7 min", None]),
        (("s1", "s2"), ("temperatures A", "temperatures B", "temperatures cream"),
         ["58 °C", "71 °C", None]),
        (("room",), ("temperature",), ["18 °C", "21 °C", None]),
        (("tools",), ("mixer", "meter"), ["x", None]),
        (("batch",), ("session",), ["x", "y", None]),
        (("r1",), ("value",), ["5.1", "5.2"]),
        (("readings",), ("pH of product",), ["5.3", "5.4"]),
        (("a2",), ("mass",), ["70 g", "71 g"]),
    )
    for of in ofs
    for key in keys
}  # fmt: skip
CHANGES = st.sampled_from([(*at, value) for at, values in VALUES.items() for value in values])
LISTS = st.lists(CHANGES, max_size=6)


def written(changes: list[tuple[str, str, str | None]]) -> Batch:
    made = [fix(of, key, now, id=f"c{n}") for n, (of, key, now) in enumerate(changes, 1)]
    return replace(MADE, corrections=tuple(made))


def facts(batch: Batch) -> dict[str, Any]:
    """What a batch says, whatever the ids and the order of what was told later."""
    now = standing(batch)
    return {
        "steps": now.steps, "room": now.room, "tools": now.tools, "session": now.session,
        "readings": {(r.reading, r.of): r.value for r in now.readings},
        "lines": weighed(batch).lines,
    }  # fmt: skip


@given(LISTS)
def test_applied_again_it_changes_nothing(changes: list[tuple[str, str, str | None]]) -> None:
    once = standing(written(changes))
    assert standing(once) == once


@given(LISTS)
def test_nothing_but_what_is_corrected_changes(changes: list[tuple[str, str, str | None]]) -> None:
    now = standing(written(changes))
    touched = {of for of, _, _ in changes}
    assert [s for s in now.steps if s.id not in touched] == [
        s for s in MADE.steps if s.id not in touched
    ]
    assert now.weighings[:1] == MADE.weighings
    assert (now.lines, now.made, now.formula) == (MADE.lines, MADE.made, MADE.formula)


@given(LISTS, CHANGES)
def test_the_same_value_again_changes_nothing(
    changes: list[tuple[str, str, str | None]], change: tuple[str, str, str | None]
) -> None:
    assert facts(written([*changes, change])) == facts(written([*changes, change, change]))


@given(LISTS, st.data())
def test_of_two_corrections_the_last_stands(
    changes: list[tuple[str, str, str | None]], data: st.DataObject
) -> None:
    last = data.draw(CHANGES)
    first = (*last[:2], data.draw(st.sampled_from(VALUES[last[:2]])))
    assert facts(written([first, *changes, last])) == facts(written([*changes, last]))


@given(LISTS, st.randoms())
def test_the_order_of_unrelated_corrections_is_immaterial(
    changes: list[tuple[str, str, str | None]], random: Any
) -> None:
    unrelated = list({change[:2]: change for change in changes}.values())
    shuffled = random.sample(unrelated, len(unrelated))
    assert facts(written(unrelated)) == facts(written(shuffled))
