"""What batches are grouped by."""

import pytest

from labbook.evidence.grouping import Known, groups, jar_group
from labbook.model.batch import Batch, BatchLine, Tools, Weighing
from labbook.model.jars import Jar, Jars, Stay
from labbook.model.materials import Equipment, Ingredient, Lot
from labbook.model.quantities import parse_quantity as q
from labbook.model.sheets import Sheets
from tests.evidence.watched import a_batch, day, standing


def sheet(name: str, *functions: str) -> Ingredient:
    return Ingredient(id=name, title=name, functions=functions)


KNOWN = Known(
    sheets=Sheets({"wax": sheet("wax", "emulsifier"), "soap": sheet("soap", "co-emulsifier")}),
    equipment={"stick": Equipment(id="stick", kind="mixer", title="Stick blender")},
    lots={"wax-a": Lot(id="wax-a", ingredient="wax", lot="0815")},
)


def batch(short: str, lot: str | None, mixer: str | None, percent: str = "4.5") -> Batch:
    line = BatchLine(
        id="a1", phase="A", ingredient="wax", sheet="wax", percent=q(f"{percent} g").value
    )
    weighings = [Weighing(id="w1", line="a1", mass=q("4 g"), lot="gone", struck="spilt")]
    if lot:
        weighings.append(Weighing(id="w2", line="a1", mass=q("4 g"), lot=lot))
    return a_batch(
        id=f"HC-260122-{short}", lines=(line,), weighings=tuple(weighings), session="2026-01-22",
        tools=Tools(mixer=mixer) if mixer else None,
    )  # fmt: skip


A, B, C = (
    batch("1A", "wax-a", "stick"),
    batch("2B", "wax-b", None, "3.6"),
    batch("3C", None, "hand"),
)


def told(by: str, *batches: Batch) -> dict[str, list[str]]:
    return {name: [one.short for one in mine] for name, mine in groups(batches, by, KNOWN).items()}


@pytest.mark.parametrize(
    ("by", "expected"),
    [
        ("version", {"@2": ["1A", "2B", "3C"]}),
        ("device", {"Stick blender": ["1A"], "not written down": ["2B"], "hand": ["3C"]}),
        ("session", {"2026-01-22": ["1A", "2B", "3C"]}),
        ("emulsifier", {"wax": ["1A", "2B", "3C"]}),
        ("preservative", {"no preservative": ["1A", "2B", "3C"]}),
        ("wax", {"4.5 %": ["1A", "3C"], "3.6 %": ["2B"]}),
        (
            "lot",
            {"wax: lot 0815": ["1A"], "wax: wax-b": ["2B"], "wax: not written down": ["3C"]},
        ),
    ],
)
def test_batches_by_what_they_have_in_common(by: str, expected: dict[str, list[str]]) -> None:
    assert told(by, A, B, C) == expected


def test_an_ingredient_of_one_lot_only_groups_nothing() -> None:
    assert told("lot", A, A) == {}


def test_what_no_batch_has_is_nothing_to_group_by() -> None:
    with pytest.raises(ValueError, match="beeswaxx"):
        groups([A], "beeswaxx", KNOWN)


def test_jars_by_container_and_by_where_they_stood_last() -> None:
    jars = standing("room", "room")
    tin = Jar(id="j1", jar="1", container="tin")
    moved = Stay(id="y9", jar="1", condition="room", place="shelf", since=day(2))
    held = Jars(batch=jars.batch, jars=(tin, *jars.jars[1:]), stays=(*jars.stays, moved))
    assert [jar_group(A, held, jar, "container") for jar in "12"] == ["tin", "not written down"]
    assert [jar_group(A, held, jar, "place") for jar in "12"] == ["shelf", "not written down"]
