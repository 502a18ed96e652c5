"""The tables of the export: what is in them, what is private, cells that come back."""

import csv
import io
import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from labbook.model.batch import Correction, Remark
from labbook.model.jars import Look, Stability
from labbook.model.quantities import DIMENSIONS, parse_quantity
from labbook.show.safe_csv import STARTERS, kept_cell, plain_cell
from labbook.show.tables import TABLES
from labbook.show.tables.held import Held
from labbook.show.tables.package import DICTIONARY, Written, descriptor, dictionary
from labbook.show.tables.shape import Column, Table, amount, cell_text, cells, measured
from tests import sample

Rows = list[dict[str, str]]


def stem(path: str) -> str:
    return path.rsplit("/", 1)[-1].removesuffix(".yaml")


def kept(folder: str) -> dict[str, Any]:
    return {stem(p): r for p, r in sample.last().items() if p.startswith(f"{folder}/")}


def of_batches(file: str) -> dict[str, Any]:
    return {p.split("/")[2]: r for p, r in sample.last().items() if p.endswith(f"/{file}")}


@pytest.fixture(scope="module")
def held() -> Held:
    """The sample notebook as the potter left it; numbers come from no history here."""
    return Held(
        formulas=kept("formulas"),
        versions={},
        batches=of_batches("batch.yaml"),
        jars=of_batches("jars.yaml"),
        stability=of_batches("stability.yaml"),
        ingredients=kept("ingredients"),
        lots=kept("lots"),
        equipment=kept("equipment"),
    )


def read(table: Table, held: Held) -> Rows:
    """A table through its CSV and back, as another program gets it."""
    columns = table.shown(private=held.private)
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    writer.writerow([column.name for column in columns])
    writer.writerows(cells(table, row, columns) for row in table.rows(held))
    return list(csv.DictReader(io.StringIO(out.getvalue())))


def table_of(name: str) -> Table:
    return next(table for table in TABLES if table.name == name)


def test_column_names_are_lower_case_words_apart_from_symbols_of_the_trade() -> None:
    for table in TABLES:
        names = [column.name for column in table.columns]
        assert len(set(names)) == len(names), table.name
        for name in names:
            bare = name.replace("HLB", "hlb").replace("pKa", "pka")
            assert bare.isidentifier() and bare == bare.lower(), (table.name, name)


# What is in them ----------------------------------------------------------------------------------


def test_every_weighing_of_the_files_is_there_with_its_digits(held: Held) -> None:
    rows = {(r["batch"], r["weighing"]): r for r in read(table_of("weighings"), held)}
    for name, batch in held.batches.items():
        for one in batch.weighings:
            assert rows[name, one.id]["first_mass"] == f"{one.mass.value:f}"
            assert rows[name, one.id]["first_mass_unit"] == one.mass.unit
    assert sum(len(batch.weighings) for batch in held.batches.values()) <= len(rows)


def test_every_look_is_there(held: Held) -> None:
    assert len(read(table_of("looks"), held)) == sum(len(s.looks) for s in held.stability.values())


def test_private_columns_and_remarks_are_left_out_unless_asked_for(held: Held) -> None:
    some = next(iter(held.batches.values()))
    secret = replace(
        some,
        maker="Kim",
        remarks=(Remark(id="r1", text="for Robin", private=True),),
        corrections=(
            Correction(id="c1", of="r1", key="text", was="a", now="b", why="for Robin",
                       time=date(2026, 4, 1)),
        ),
    )  # fmt: skip
    look = Look(id="o1", jar="1", time=date(2026, 4, 2), grade=0, who="Robin")
    told = Correction(
        id="k1", of="o1", key="who", was="Robin", now="Kim", why="it was Kim", time=date(2026, 4, 3)
    )
    stability = {some.id: Stability(batch=some.id, looks=(look,), corrections=(told,))}
    lots = {name: replace(lot, supplier="Robin", price="9") for name, lot in held.lots.items()}
    one = replace(held, batches={some.id: secret}, stability=stability, lots=lots)
    for private in (False, True):
        shown = replace(one, private=private)
        text = json.dumps([read(table, shown) for table in TABLES])
        assert ("Robin" in text, "Kim" in text) == (private, private)


# Cells --------------------------------------------------------------------------------------------

TEXTS = st.text(st.characters(exclude_categories=["Cs"]))


@given(TEXTS)
@example("=1+1")
@example("'=1+1")
@example("''")
@example(" \u00a0@SUM(A1)")
@example('"a"\r\n,b')
def test_a_text_comes_back_from_its_cell_and_begins_no_formula(text: str) -> None:
    out = io.StringIO()
    csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n").writerow([kept_cell(text), "x"])
    (row,) = csv.reader(io.StringIO(out.getvalue(), newline=""))
    assert plain_cell(row[0]) == text.replace("\0", "␀")
    assert row[0].lstrip(" \u00a0\ufeff")[:1] not in set(STARTERS)


@given(
    st.decimals(min_value=0, max_value=10**6, places=4),
    st.sampled_from(DIMENSIONS["mass"]),
)
def test_a_quantity_keeps_its_digits_and_is_given_in_one_unit_too(
    value: Decimal, unit: str
) -> None:
    quantity = parse_quantity(f"{value} {unit}", "mass")
    row = amount("mass", quantity)
    columns = measured("mass", "a mass", "mass")
    figure, named, grams = (cell_text(column, row.get(column.name)) for column in columns)
    assert (figure, named) == (f"{value:f}", unit)
    assert abs(Decimal(grams) - Decimal(float(quantity.exact("g")))) < Decimal("1e-3")


def test_a_figure_below_zero_stays_a_figure() -> None:
    assert cell_text(Column("t", "", "number"), Decimal("-18.0")) == "-18.0"
    assert cell_text(Column("t", ""), "-18.0") == "'-18.0"


def test_text_never_slips_into_a_column_of_figures() -> None:
    with pytest.raises(TypeError):
        cell_text(Column("t", "", "number"), "=1")


def test_a_row_with_a_cell_that_has_no_column_is_refused() -> None:
    with pytest.raises(KeyError):
        cells(table_of("lots"), {"no such": 1}, table_of("lots").columns)


# What describes them ------------------------------------------------------------------------------


def test_descriptor_and_dictionary_name_every_column_that_is_written(held: Held) -> None:
    names = [f"{table.name}.csv" for table in TABLES] + [DICTIONARY]
    files = {name: Written(name, 1, "0" * 64) for name in names}
    told = json.loads(descriptor("A notebook", TABLES, files, private=False))
    schemas = {one["name"]: one["schema"] for one in told["resources"] if "schema" in one}
    text = dictionary("A notebook", TABLES, private=False)
    for table in TABLES:
        shown = [column.name for column in table.shown(private=False)]
        assert [field["name"] for field in schemas[table.name]["fields"]] == shown
        assert schemas[table.name]["primaryKey"] == list(table.key)
        assert all(f"| {name} |" in text for name in shown)
        for foreign in schemas[table.name]["foreignKeys"]:
            assert set(foreign["reference"]["fields"]) == set(
                schemas[foreign["reference"]["resource"]]["primaryKey"]
            )
    assert "supplier |" not in text
    assert "lots.supplier" in text  # said to be left out
