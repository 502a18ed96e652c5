"""JSON Schemas of the files, made from the records, for editors that offer and underline keys.

They are a help while typing. What counts is what `labbook check` says: a schema knows nothing of
the rules between lines.
"""

from __future__ import annotations

import json
from typing import Any

from labbook.model.formula import Line
from labbook.model.kinds import CLOSED_RECORDS, KINDS, Kind

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_CLOSED = {record.__name__ for record in CLOSED_RECORDS}


def schemas() -> dict[str, str]:
    """The schema of each kind of file, by the name of its own file: `formula.json`."""
    return {f"{name}.json": _schema(kind) for name, kind in KINDS.items()}


def schema_line(kind: str, depth: int) -> str:
    """The comment that names a file's schema to an editor, without its `#`.

    Args:
        kind: the name of the kind of file.
        depth: how many folders below the notebook's root the file stands.
    """
    return f"yaml-language-server: $schema={'../' * depth}.labbook/schema/{kind}.json"


def _schema(kind: Kind) -> str:
    from pydantic import TypeAdapter

    found = TypeAdapter(kind.record).json_schema(by_alias=True)
    definitions = found.pop("$defs", {})
    top: dict[str, Any] = {"$schema": DIALECT} | _named(kind.record.__name__, found)
    top["title"] = f"{kind.name} file of a labbook notebook"
    records = {name: _named(name, definition) for name, definition in definitions.items()}
    if records:
        top["$defs"] = records
    return json.dumps(top, indent=2, ensure_ascii=False, sort_keys=True) + "\n"


def _named(name: str, schema: dict[str, Any]) -> dict[str, Any]:
    """One record: closed or open, with the short forms that files may use."""
    short = {key: _with_short_forms(value) for key, value in schema.get("properties", {}).items()}
    schema = {key: value for key, value in schema.items() if key not in ("title", "properties")}
    return schema | {"properties": short, "additionalProperties": name not in _CLOSED}


def _with_short_forms(value: dict[str, Any]) -> dict[str, Any]:
    value = {key: item for key, item in value.items() if key not in ("title", "default")}
    items = value.get("items")
    if value.get("type") != "array" or items is None:
        return value
    if items.get("$ref", "").endswith(f"/{Line.__name__}"):
        percents = {"type": "object", "additionalProperties": {"type": ["number", "string"]}}
        return {"anyOf": [value, percents, {"type": "null"}]}
    if "$ref" not in items:
        return {"anyOf": [value, items, {"type": "null"}]}
    return {"anyOf": [value, {"type": "null"}]}
