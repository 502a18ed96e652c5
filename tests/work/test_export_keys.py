"""The tables of the export in a database: each key is one of a kind, each foreign one joins."""

import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from labbook.model.batch import Batch, Parent, Weighing
from labbook.model.jars import Look, Stability
from labbook.model.quantities import Quantity
from labbook.show.tables import TABLES
from labbook.show.tables.held import Held
from labbook.show.tables.shape import Table
from tests.show.test_tables import held, read, table_of

__all__ = ["held"]


def in_database(held: Held, tables: Sequence[Table] = TABLES) -> list[Any]:
    """Loads all tables with their keys into SQLite, names unquoted, and gives what doesn't join."""
    with sqlite3.connect(":memory:") as base:
        for table in tables:
            base.execute(f"create table {table.name} ({', '.join(declared(table))})")
        for table in tables:
            rows = [[cell or None for cell in row.values()] for row in read(table, held)]
            marks = ", ".join("?" * len(table.shown(private=held.private)))
            base.executemany(f"insert into {table.name} values ({marks})", rows)
        return list(base.execute("pragma foreign_key_check"))


def declared(table: Table) -> list[str]:
    keyed = [f"{c.name}{' not null' if c.name in table.key else ''}" for c in table.columns
             if not c.private]  # fmt: skip
    foreign = [
        f"foreign key ({', '.join(one.columns)}) references {one.table} ({', '.join(one.to)})"
        for one in table.links
    ]
    return [*keyed, f"primary key ({', '.join(table.key)})", *foreign]


# Keys ---------------------------------------------------------------------------------------------


def test_every_key_is_one_of_a_kind_and_every_foreign_key_resolves(held: Held) -> None:
    assert in_database(held) == []


def test_a_notebook_with_gaps_joins_too(held: Held) -> None:
    """Files are missing that weighings, looks and batches name; what names them is kept."""
    some = next(iter(held.batches.values()))
    mass = Quantity(Decimal("1.0"), "g")
    gaps: Batch = replace(
        some,
        id="SBC-260401-Q9",
        from_=(Parent(batch="SBC-260101-Z9", mass=mass, how="rework"),),
        weighings=(
            Weighing(id="w1", line="gone", mass=mass, lot="no-such-lot", balance="borrowed"),
            Weighing(id="w2", ingredient="honey", phase="A", mass=mass, batch="SBC-260101-Y9"),
        ),
    )
    look = Look(id="o1", jar="7", time=date(2026, 4, 2), grade=0)
    holed = replace(
        held,
        formulas={},
        lots={},
        equipment={},
        ingredients={},
        batches={**held.batches, gaps.id: gaps},
        stability={"SBC-260101-X9": Stability(batch="SBC-260101-X9", looks=(look,))},
    )
    assert in_database(holed) == []
    batches = {row["batch"]: row["known"] for row in read(table_of("batches"), holed)}
    absent = {"SBC-260101-Z9", "SBC-260101-Y9", "SBC-260101-X9"}
    assert {name for name, known in batches.items() if known == "named only"} == absent
    assert "no-such-lot" in {row["lot"] for row in read(table_of("lots"), holed)}


def test_the_database_would_notice_a_key_that_does_not_resolve(held: Held) -> None:
    """The check can fail: without the rows of lots, weighings name lots that aren't there."""
    lots = table_of("lots")
    emptied = replace(lots, rows=lambda _held: iter(()))
    assert in_database(held, [emptied if table is lots else table for table in TABLES])
