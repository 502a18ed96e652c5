"""The screen of `export`."""

from __future__ import annotations

from labbook.model.results.exporting import Exported
from labbook.show.layout import Column, Screen
from labbook.show.parts import plural


def exported_screen(result: Exported, screen: Screen) -> str:
    """`export`: the tables with their rows, and what is not in them."""
    also = ", as CSV and Parquet" if result.parquet else ""
    screen.title(f"{plural(len(result.tables), 'table')} in {result.folder}{also}")
    screen.blank()
    screen.table(
        (Column("table"), Column("rows", "right"), Column("columns", "right")),
        [("", (one.name, str(one.rows), str(one.columns))) for one in result.tables],
    )
    screen.blank()
    screen.row("read", f"{result.dictionary}: what each column means, and how tables join")
    if result.private:
        screen.row(
            "private", "Suppliers, prices and people are in it: keep it out of what you publish."
        )
    else:
        screen.row("left out", f"{', '.join(result.without)}, private remarks; --private adds them")
        screen.row("", "Free text may name people all the same.")
    return screen.text()
