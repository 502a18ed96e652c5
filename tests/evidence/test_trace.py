"""Links between packs, batches and jars: both ways agree, circles end, masses are told."""

import csv
import io
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.recall import recall
from labbook.evidence.trace import BATCH, INGREDIENT, JAR, LOT, Held, Key, web_of
from labbook.evidence.traced import Story, trace, without_people
from labbook.model.batch import Batch, BatchLine, Correction, Parent, Tools, Weighing
from labbook.model.jars import Jar, Jars
from labbook.model.materials import Equipment, Ingredient, Lot, Part
from labbook.model.quantities import parse_quantity as q
from labbook.model.results.tracing import Trace
from labbook.model.sheets import Sheets
from labbook.show.safe_csv import STARTERS, csv_text, safe_cell
from labbook.show.tracing import recall_csv, trace_csv
from tests.evidence.watched import PIN
from tests.trade.making import exact

MADE = date(2026, 1, 9)
SHEETS = Sheets(
    {
        "oil": Ingredient(id="oil"),
        "wax": Ingredient(id="wax"),
        "blend": Ingredient(id="blend", contains=(Part(ingredient="wax"), Part(ingredient="oil"))),
    }
)
LOTS = {
    "oil-1": Lot(id="l1", ingredient="oil", supplier="Supplier A"),
    "blend-1": Lot(id="l2", ingredient="blend"),
}
NAMES = ("HC-260109-2A", "HC-260109-3B", "HC-260109-4C", "HC-260109-5D")
ENDS = ("2A", "3B", "4C", "5D")


def full(end: str) -> str:
    return f"HC-260109-{end}"


def a_batch(end: str, *weighings: Weighing, **more: Any) -> Batch:
    usual: dict[str, Any] = {
        "id": full(end), "state": "closed", "made": MADE, "formula": PIN, "size": q("100 g"),
        "weighings": weighings,
    }  # fmt: skip
    return Batch(**(usual | more))


def w(id_: str, mass: str = "10 g", **more: Any) -> Weighing:
    return Weighing(id=id_, mass=q(mass), **more)


def story(*batches: Batch, jars: tuple[Jars, ...] = (), **more: Any) -> Story:
    held = Held(
        batches={one.id: one for one in batches},
        jars={one.batch: one for one in jars},
        lots=LOTS,
        sheets=SHEETS,
        equipment={"balance-1": Equipment(id="e1", kind="balance")},
        **more,
    )
    return Story(held=held, stability={}, formulas={})


def jars(end: str, *names: str, **given_to: str) -> Jars:
    own = tuple(Jar(id=f"j{n}", jar=n, given_to=given_to.get(f"j{n}")) for n in names)
    return Jars(batch=full(end), jars=own)


def names(found: Trace) -> tuple[set[str], set[str]]:
    return {hop.name for hop in found.back}, {hop.name for hop in found.forward}


# Laws ---------------------------------------------------------------------------------------------

WEIGHINGS = st.one_of(
    st.builds(lambda lot: {"lot": lot}, st.sampled_from(["oil-1", "blend-1", "lost-1"])),
    st.builds(lambda end: {"batch": full(end)}, st.sampled_from(ENDS)),
    st.just({}),
)


@st.composite
def notebooks(draw: st.DrawFn) -> Story:
    """Batches that name each other in any way, circles too, with jars."""
    found, filled = [], []
    for end in ENDS:
        own = draw(st.lists(st.tuples(WEIGHINGS, st.booleans()), max_size=3))
        weighings = [
            w(f"w{n}", ingredient="oil", struck="no" if struck else None, **kind)
            for n, (kind, struck) in enumerate(own)
        ]
        parents = draw(
            st.lists(
                st.builds(
                    Parent,
                    batch=st.sampled_from(NAMES),
                    how=st.sampled_from(["split", "rework", "control"]),
                ),
                max_size=2,
            )
        )
        found.append(a_batch(end, *weighings, from_=tuple(parents)))
        filled.append(jars(end, *draw(st.lists(st.sampled_from("123"), unique=True, max_size=2))))
    return story(*found, jars=tuple(filled))


@given(notebooks())
def test_x_leads_to_y_if_and_only_if_y_comes_from_x(told: Story) -> None:
    web = web_of(told.held)
    forward = {key: set(web.reach(key)) for key in web.keys}
    back = {key: set(web.reach(key, back=True)) for key in web.keys}
    for x in web.keys:
        for y in web.keys:
            if x != y:
                assert (y in forward[x]) == (x in back[y]), (x, y)


@given(notebooks())
def test_every_hop_hangs_on_one_that_is_nearer(told: Story) -> None:
    for key in web_of(told.held).keys:
        found = trace(told, key)
        for hops in (found.back, found.forward):
            for hop in hops:
                assert hop.ways
                assert hop.depth >= 1


@given(notebooks())
def test_the_jars_are_those_of_the_batches_that_were_reached(told: Story) -> None:
    """The same by a plain search: the batches over and over, until nothing new holds any of it."""
    holds = {
        id_
        for id_, one in told.held.batches.items()
        if any(e.lot == "oil-1" and not e.struck for e in one.weighings)
    }
    while True:
        more = {
            id_
            for id_, one in told.held.batches.items()
            if any(p.batch in holds and p.how != "control" for p in one.from_)
            or any(e.batch in holds and not e.struck for e in one.weighings)
        }
        if more <= holds:
            break
        holds |= more
    expected = {f"{id_}.{jar.jar}" for id_ in holds for jar in told.held.jars[id_].jars}
    assert {jar.id for jar in trace(told, Key(LOT, "oil-1")).jars} == expected


# Links --------------------------------------------------------------------------------------------


def test_from_lot_to_jar_by_premix_split_and_rework() -> None:
    premix = a_batch("2A", w("w1", "40 g", ingredient="oil", lot="oil-1"))
    cream = a_batch("3B", w("w1", "5 g", batch=full("2A")))
    part = a_batch("4C", from_=(Parent(batch=full("3B"), mass=q("30 g"), how="split"),))
    again = a_batch("5D", from_=(Parent(batch=full("4C"), mass=q("10 g"), how="rework"),))
    told = story(premix, cream, part, again, jars=(jars("4C", "1"), jars("5D", "1", "2")))
    found = trace(told, Key(LOT, "oil-1"))
    assert [(h.name, h.depth, h.mass, h.ways) for h in found.forward] == [
        ("2A", 1, exact("40"), ("weighed",)),
        ("3B", 2, exact("5"), ("premix",)),
        ("4C", 3, exact("30"), ("split",)),
        ("5D", 4, exact("10"), ("rework",)),
    ]
    assert [jar.name for jar in found.jars] == ["4C.1", "5D.1", "5D.2"]
    assert found.potted == ("2A", "3B")
    back, forward = names(trace(told, Key(JAR, f"{full('5D')}.1")))
    assert back == {"5D", "4C", "3B", "2A", "oil-1", "oil"}
    assert forward == set()


def test_a_circle_is_walked_once() -> None:
    one = a_batch("2A", from_=(Parent(batch=full("3B"), how="rework"),))
    other = a_batch("3B", from_=(Parent(batch=full("2A"), how="rework"),))
    back, forward = names(trace(story(one, other), Key(BATCH, full("2A"))))
    assert (back, forward) == ({"3B"}, {"3B"})


def test_an_ingredient_leads_through_its_blends() -> None:
    told = story(a_batch("2A", w("w1", ingredient="blend", lot="blend-1")))
    assert names(trace(told, Key(INGREDIENT, "wax")))[1] == {"blend", "blend-1", "2A"}


def test_the_lot_as_corrected_counts_and_the_first_is_told() -> None:
    fixed = Correction(id="c1", of="w1", key="lot", now="oil-1", why="misread", time=MADE)
    told = story(a_batch("2A", w("w1", ingredient="blend", lot="blend-1"), corrections=(fixed,)))
    found = trace(told, Key(LOT, "oil-1")).forward[0]
    assert found.ways == ("weighed as blend (lot corrected, first blend-1)",)
    assert trace(told, Key(LOT, "blend-1")).forward == ()


def test_a_lot_of_another_ingredient_is_found_from_both() -> None:
    told = story(a_batch("2A", w("w1", ingredient="wax", lot="oil-1")))
    for name in ("wax", "oil"):
        assert "2A" in names(trace(told, Key(INGREDIENT, name)))[1]


def test_a_line_that_nobody_weighed_is_found_once_the_batch_is_closed() -> None:
    line = BatchLine(id="a1", phase="A", ingredient="oil", sheet="oil")
    closed = a_batch("2A", lines=(line,))
    for batch, found in ((closed, True), (replace(closed, state="open"), False)):
        assert ("2A" in names(trace(story(batch), Key(INGREDIENT, "oil")))[1]) is found


def test_equipment_that_was_named_anywhere() -> None:
    told = story(a_batch("2A", tools=Tools(balance="balance-1")), jars=(jars("2A", "1"),))
    found = trace(told, Key("equipment", "balance-1"))
    assert names(found)[1] == {"2A"}
    assert [jar.name for jar in found.jars] == ["2A.1"]


# Who has it ---------------------------------------------------------------------------------------


def given_away() -> Trace:
    told = story(
        a_batch("2A", w("w1", ingredient="oil", lot="oil-1")),
        jars=(jars("2A", "1", "2", "3", j1="Person One", j3="=Person Two"),),
    )
    return trace(told, Key(LOT, "oil-1"))


def test_people_and_suppliers_go_where_they_are_not_asked_for() -> None:
    bare = without_people(given_away())
    assert "Person" not in repr(bare)
    assert "Supplier" not in repr(bare)
    assert [jar.given for jar in bare.jars] == [True, False, True]
    assert "Person" not in trace_csv(bare)


def test_a_recall_names_who_has_what_and_its_words_name_nobody() -> None:
    found = recall(given_away(), "metal chips were found in the oil")
    assert [(one.name, one.jars) for one in found.holders] == [
        ("=Person Two", ("2A.3",)), ("Person One", ("2A.1",)),
    ]  # fmt: skip
    assert [jar.name for jar in found.here] == ["2A.2"]
    assert "marked 2A.1, 2A.3" in found.notice
    assert "Metal chips were found in the oil." in found.notice
    assert "Person" not in found.notice
    assert "2A.3" not in found.holders[1].text


# Tables -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\0"])
def test_a_cell_never_begins_a_formula(sign: str) -> None:
    """OWASP, Application Security Verification Standard 5.0, requirement 1.2.10.

    "=", "+", "-", "@", tab and NUL are to be escaped with a single quote where they are the first
    character of a field; CR is in the same list of OWASP's page "CSV Injection" (from memory).
    """
    assert safe_cell(f"{sign}1+1") == f"'{sign}1+1"
    assert safe_cell("\r=1") == "'\r=1"
    assert safe_cell(f"1{sign}1") == f"1{sign}1"


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), max_size=3))
def test_a_table_reads_back_by_rfc_4180(rows: list[list[str]]) -> None:
    """RFC 4180, 2.1, 2.5 to 2.7: CRLF, quotes around fields, quotes doubled."""
    text = csv_text(["a", "b"], rows)
    got = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert got[1:] == [[safe_cell(cell).replace("\0", "") for cell in row] for row in rows]
    assert all(not cell or cell[0] not in STARTERS for row in got for cell in row)


def test_the_table_of_a_recall_is_safe() -> None:
    text = recall_csv(recall(given_away()))
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [row["given to"] for row in rows] == ["Person One", "", "'=Person Two"]
    assert [bool(row["text to send"]) for row in rows] == [True, False, True]
    assert [row["full id"] for row in rows] == [f"{full('2A')}.{n}" for n in "123"]
