"""What differs between two batches, on small invented ones."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from labbook.evidence.batches import BatchDifference, batch_difference
from labbook.model.batch import (
    Batch,
    BatchLine,
    BatchStep,
    Correction,
    Deviation,
    Done,
    Pin,
    Reading,
    Room,
    Tools,
    Weighing,
)
from labbook.model.formula import Step
from labbook.model.materials import Equipment, Lot
from labbook.model.quantities import parse_quantity as q
from tests.evidence.pairs import read

SHEETS = read()[0]
EQUIPMENT = {
    "bench-balance": Equipment(id="e1", kind="balance", readability=q("0.01 g")),
    "stick-blender": Equipment(id="e2", kind="mixer", title="stick blender", shear="high"),
    "whisk": Equipment(id="e3", kind="mixer", title="whisk", shear="by hand"),
    "coarse": Equipment(id="e4", kind="thermometer", resolution=q("5 °C")),
}
LOTS = {
    "em-1": Lot(id="l1", ingredient="lanolin", lot="0815"),
    "em-2": Lot(id="l2", ingredient="lanolin", lot="7E12"),
}
LINES = {
    "l1": ("A", "sunflower-oil", "24.10"),
    "l2": ("A", "polyglyceryl-3-diisostearate", "4.50"),
    "l3": ("B", "water", "70.60"),
    "l4": ("B", "salt", "0.80"),
}


def batch(id_: str = "SBC-260109-4M", *, weigh: bool = True, **percents: str) -> Batch:
    """100 g of a cream, weighed as meant unless it is left out."""
    meant = {line: percents.get(line, percent) for line, (_, _, percent) in LINES.items()}
    return Batch(
        id=id_,
        state="open",
        made=date(2026, 1, 9),
        formula=Pin(code="SBC", id="f-1", version=1, digest="d", blob="b"),
        size=q("100 g"),
        tools=Tools(balance="bench-balance", mixer="stick-blender"),
        lines=tuple(
            BatchLine(
                id=line,
                phase=phase,
                ingredient=name,
                sheet=name,
                percent=Decimal(meant[line]),
                qs=True if name == "water" else None,
            )
            for line, (phase, name, _) in LINES.items()
        ),
        weighings=tuple(
            Weighing(id=f"w{line}", line=line, mass=q(f"{percent} g"))
            for line, percent in meant.items()
        )
        if weigh
        else (),
    )


A, B = batch(), batch("SBC-260122-9T")


def compared(a: Batch, b: Batch, **more: Any) -> BatchDifference:
    return batch_difference(a, b, None, SHEETS, EQUIPMENT, LOTS, **more)


def rows(found: BatchDifference) -> list[tuple[str, str, str | None, str | None, str]]:
    return [(i.word, i.what, i.a, i.b, i.unit) for i in found.items]


def lacking(found: BatchDifference) -> list[tuple[str, str]]:
    return [(i.what, i.missing) for i in found.unrecorded]


def done(batch_: Batch, **values: Any) -> Batch:
    step = BatchStep(id="s1", plan=Step(id="s1", do="combine", add="B"), done=Done(**values))
    return replace(batch_, steps=(step,))


def test_equal_batches_differ_in_nothing() -> None:
    found = compared(A, B)
    assert not found.items and not found.unrecorded
    assert found.same["lines"] == 4


def test_less_emulsifier_and_salt_with_water_that_follows() -> None:
    found = compared(A, batch("SBC-260122-9T", l2="3.60", l3="71.90", l4="0.40"))
    assert rows(found) == [
        ("changed", "polyglyceryl-3-diisostearate", "4.50", "3.60", "%"),
        ("changed", "sodium-chloride", "0.80", "0.40", "%"),
        ("follows", "water, q.s.", "70.60", "71.90", "%"),
    ]


def weighed_as(**masses: str) -> Batch:
    """9T, planned as 4M was, with other masses on the balance."""
    new = (replace(w, mass=q(masses.get(w.line or "", str(w.mass)))) for w in B.weighings)
    return replace(B, weighings=tuple(new))


def test_a_difference_within_the_uncertainty_is_none() -> None:
    # 0.01 g on each side: u of one tared line is 0.01 / √12 · √2 g, so 2 · u of the difference
    # is 0.016 g in 100 g (JCGM 100:2008, F.2.2.1).
    assert not compared(A, weighed_as(l4="0.81 g", l3="70.59 g")).items
    found = compared(A, weighed_as(l4="0.82 g", l3="70.58 g"))
    assert rows(found)[0] == ("changed", "sodium-chloride", "0.80", "0.82", "%")


def test_a_corrected_weighing_counts_as_corrected() -> None:
    fixed = Correction(
        id="c1", of="wl4", key="mass", was="0.80 g", now="0.40 g", why="slip",
        time=date(2026, 1, 10),
    )  # fmt: skip
    found = compared(A, replace(B, corrections=(fixed,)))
    assert [i.what for i in found.items if i.word == "changed"] == ["sodium-chloride"]


def test_an_unweighed_line_is_unknown_and_not_equal() -> None:
    found = compared(A, replace(B, weighings=B.weighings[:3]))
    assert ("weight of sodium-chloride", B.id) in lacking(found)


def test_an_addition_that_no_line_foresaw_differs() -> None:
    extra = Weighing(id="w9", ingredient="glycerin", phase="B", mass=q("2.00 g"))
    found = compared(A, replace(B, weighings=(*B.weighings, extra)))
    assert ("changed", "glycerin", "none", "1.96", "%") in rows(found)


def test_a_line_in_another_phase_is_moved_and_one_for_another_swapped() -> None:
    moved = replace(B.lines[0], phase="C")
    found = compared(A, replace(B, lines=(moved, *B.lines[1:])))
    assert rows(found) == [("moved", "sunflower-oil", "phase A", "phase C", "")]
    swapped = replace(B.lines[0], ingredient="almond-oil", sheet="almond-oil")
    found = compared(A, replace(B, lines=(swapped, *B.lines[1:])))
    sides = ("sunflower-oil 24.10", "almond-oil 24.10")
    assert rows(found) == [("changed", "oil in phase A", *sides, "%")]


def test_lots_and_lots_that_one_batch_lacks() -> None:
    def with_lot(base: Batch, name: str | None) -> Batch:
        first = replace(base.weighings[0], lot=name)
        return replace(base, weighings=(first, *base.weighings[1:]))

    found = compared(with_lot(A, "em-1"), with_lot(B, "em-2"))
    assert rows(found) == [("changed", "lot of sunflower-oil", "0815", "7E12", "")]
    assert lacking(compared(with_lot(A, "em-1"), B)) == [("lot of sunflower-oil", B.id)]


def test_equipment_with_its_class_of_shear() -> None:
    by_hand = replace(B, tools=Tools(balance="bench-balance", mixer="whisk"))
    sides = ("stick blender (high shear)", "whisk (by hand)")
    assert rows(compared(A, by_hand)) == [("changed", "mixer", *sides, "")]
    none = replace(B, tools=Tools(balance="bench-balance"))
    assert lacking(compared(A, none)) == [("mixer", B.id)]


def test_what_was_done_per_phase() -> None:
    a = done(A, temperatures={"A": q("72 °C"), "B": q("71 °C")}, took=q("5 min"), speed="2")
    b = done(B, temperatures={"A": q("72 °C"), "B": q("58 °C")}, took=q("3 min"))
    found = compared(a, b)
    assert rows(found) == [
        ("changed", "water phase when combined", "71", "58", "°C"),
        ("changed", "combine: time taken", "5", "3", "min"),
    ]
    assert lacking(found) == [("combine: speed", B.id)]
    assert found.same["steps"] == 1


def test_a_thermometer_tells_apart_what_it_can() -> None:
    a, b = (done(x, temperatures={"B": q(t)}) for x, t in ((A, "70 °C"), (B, "62 °C")))
    assert compared(a, b).items
    tools = Tools(balance="bench-balance", mixer="stick-blender", thermometer="coarse")
    assert not compared(replace(a, tools=tools), replace(b, tools=tools)).items


def test_units_are_no_difference_and_clock_times_give_the_time_taken() -> None:
    a = done(A, temperatures={"B": q("122 °F")}, hold=q("60 min"), took=q("6 min"))
    start = datetime(2026, 1, 22, 14, 0, tzinfo=UTC)
    b = done(
        B, temperatures={"B": q("50 °C")}, hold=q("1 h"), started=start,
        ended=start.replace(minute=6),
    )  # fmt: skip
    assert not compared(a, b).items


PH = Reading(id="r1", reading="pH", value=Decimal("4.9"), of="water phase")
FINISHED = replace(PH, of="finished")
OBSERVED = Reading(id="r2", reading="emulsion type", seen="water-in-oil", of="bulk")


def read_as(base: Batch, value: str, *more: Reading, of: str = "finished") -> Batch:
    return replace(base, readings=(replace(PH, value=Decimal(value), of=of), *more))


@pytest.mark.parametrize("meant", ["water-in-oil", ""])
def test_ph_of_a_finished_water_in_oil_emulsion_is_never_compared(meant: str) -> None:
    a, b = read_as(A, "4.9"), read_as(B, "6.8")
    found = compared(a, b, emulsions=(meant, meant))
    assert not found.items and not found.unrecorded
    assert not compared(a, B, emulsions=(meant, meant)).unrecorded


def test_the_observed_type_counts_before_the_meant_one() -> None:
    meant = ("oil-in-water", "oil-in-water")
    a, b = read_as(A, "4.9", OBSERVED), read_as(B, "6.8", OBSERVED)
    assert not compared(a, b, emulsions=meant).items
    assert compared(read_as(A, "4.9"), read_as(B, "6.8"), emulsions=meant).items


def test_ph_of_the_water_phase_is_compared_like_with_like() -> None:
    a, b = read_as(A, "4.9", of="water phase"), read_as(B, "5.4", of="water phase")
    sides = ("4.9", "5.4", "")
    assert rows(compared(a, b)) == [("changed", "pH of water phase", *sides)]
    near = read_as(B, "5.0", of="water phase")
    assert not compared(a, near).items
    assert lacking(compared(a, B)) == [("pH of water phase", B.id)]
    struck = replace(b, readings=(replace(b.readings[0], struck="probe was dry"),))
    assert lacking(compared(a, struck)) == [("pH of water phase", B.id)]


def test_deviations_size_room_and_session() -> None:
    late = Deviation(id="d1", text="phone rang, held 20 min longer")
    a = replace(A, room=Room(temperature=q("19 °C")), session="s-1")
    b = replace(B, deviations=(late,), size=q("200 g"), session="s-2")
    found = compared(a, b)
    assert [i.what for i in found.items if i.part != "lines"] == [
        "deviation", "batch size", "session",
    ]  # fmt: skip
    assert lacking(found) == [("room temperature", B.id)]


def test_turned_round_the_sides_change_places() -> None:
    a = done(read_as(A, "4.9", of="water phase"), temperatures={"B": q("71 °C")}, speed="2")
    b = done(batch("SBC-260122-9T", l2="3.60", l3="71.50"), temperatures={"B": q("58 °C")})
    there, back = compared(a, b), compared(b, a)
    assert [(i.what, i.a, i.b) for i in there.items] == [(i.what, i.b, i.a) for i in back.items]
    assert lacking(there) == lacking(back)
    assert there.same == back.same


def test_json_has_text_only() -> None:
    data = compared(A, batch("SBC-260122-9T", l2="3.60", l3="71.50")).to_plain()
    assert data["from"] == A.id and data["versions"] is None
    assert data["items"][0] == {
        "part": "lines",
        "what": "polyglyceryl-3-diisostearate",
        "from": "4.50",
        "to": "3.60",
        "unit": "%",
        "word": "changed",
        "missing": None,
    }
