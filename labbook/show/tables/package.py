"""What says of an export what it is: a Tabular Data Package for programs, a dictionary for people.

Descriptor by the Frictionless standards Data Package and Table Schema, version 1
(https://specs.frictionlessdata.io): resources with bytes and hash, fields with types, keys.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from labbook.show.tables.shape import Column, Link, Table

NAME = "labbook-export"
DESCRIPTOR = "datapackage.json"
DICTIONARY = "DICTIONARY.md"

HOW_TO_READ = (
    "UTF-8, comma, every cell in double quotes, lines end with CR LF (RFC 4180).",
    "A blank cell means: not written down. It is not zero and not fine.",
    "Figures keep the digits that were typed. Times are ISO 8601; a day stands alone where nobody"
    " looked at the clock.",
    "A text that a spreadsheet would take for a formula has a single quote in front, and so has one"
    " that begins with such a quote: to get the text back, take one off.",
)


@dataclass(frozen=True, slots=True)
class Written:
    """A file of the export: its name in the folder, its size, its SHA-256, how many rows."""

    path: str
    bytes: int
    sha256: str
    rows: int = 0

    def as_json(self) -> dict[str, Any]:
        """The properties that the standard has for them."""
        return {"path": self.path, "bytes": self.bytes, "hash": f"sha256:{self.sha256}"}


def descriptor(
    title: str, tables: Sequence[Table], files: Mapping[str, Written], *, private: bool
) -> str:
    """The descriptor as JSON.

    Args:
        title: the notebook's.
        tables: those that were written.
        files: what was written, by name in the folder; the dictionary is one of them.
        private: whether private columns are in it.
    """
    resources: list[dict[str, Any]] = []
    for table in tables:
        for path, form in ((f"{table.name}.csv", "csv"), (f"{table.name}.parquet", "parquet")):
            if path in files:
                resources.append(_resource(table, files[path], form, private=private))
    resources.append(
        {"name": "dictionary", "mediatype": "text/markdown", **files[DICTIONARY].as_json()}
    )
    whole = {
        "name": NAME,
        "title": title,
        "private columns": private,
        "resources": resources,
    }
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def _resource(table: Table, file: Written, form: str, *, private: bool) -> dict[str, Any]:
    """A table in one of its forms; keys are said of the CSV, which the standard is about."""
    if form != "csv":
        name = f"{table.name}-{form}"
        return {"name": name, "description": table.means, "format": form, **file.as_json()}
    return {
        "name": table.name,
        "profile": "tabular-data-resource",
        "description": table.means,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "quoteChar": '"', "doubleQuote": True, "header": True},
        **file.as_json(),
        "schema": {
            "fields": [_field(column) for column in table.shown(private=private)],
            "missingValues": [""],
            "primaryKey": list(table.key),
            "foreignKeys": [_foreign(one) for one in table.links],
        },
    }


def _field(column: Column) -> dict[str, Any]:
    return {"name": column.name, "type": column.type, "description": column.means}


def _foreign(one: Link) -> dict[str, Any]:
    return {
        "fields": list(one.columns),
        "reference": {"resource": one.table, "fields": list(one.to)},
    }


# For people -------------------------------------------------------------------------------------


def dictionary(title: str, tables: Sequence[Table], *, private: bool) -> str:
    """What each table and column means, as Markdown."""
    lines = [f"# Tables of {' '.join(title.split())}", ""]
    lines += [f"- {sentence}" for sentence in HOW_TO_READ]
    if private:
        lines.append("- Suppliers, prices and people are in it: keep it out of what you publish.")
    else:
        left = [f"{t.name}.{c.name}" for t in tables for c in t.columns if c.private]
        lines.append(f"- Left out, for they are private: {', '.join(left)}, private remarks.")
        lines.append("- Free text may name people all the same; read it before you hand it on.")
    for table in tables:
        lines += ["", f"## {table.name}", "", table.means, "", f"Key: {', '.join(table.key)}", ""]
        lines += ["| column | type | joins | meaning |", "| --- | --- | --- | --- |"]
        lines += [_line(table, column) for column in table.shown(private=private)]
    return "\n".join(lines) + "\n"


def _line(table: Table, column: Column) -> str:
    joins = [
        f"{one.table}.{', '.join(one.to)}" for one in table.links if column.name in one.columns
    ]
    return f"| {column.name} | {column.type} | {'; '.join(joins)} | {column.means} |"
