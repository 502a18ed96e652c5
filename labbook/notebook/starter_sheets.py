"""The starter sheets as records, from the cache where they were read before."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from labbook.model.materials import Ingredient
from labbook.notebook.cache import Cache
from labbook.notebook.readfile import ReadFile
from labbook.notebook.snapshot import content_hash, read_bytes
from labbook.rules.starters import starter_names, starter_text


def read_starters(root: Path) -> dict[str, Ingredient]:
    """All starter sheets by name, for the notebook at a root, whose cache is used."""
    raws = {name: (starter_text(name) or "").encode() for name in starter_names()}
    keys = {name: ("ingredient", content_hash(raw)) for name, raw in raws.items()}
    cache = Cache(root)
    try:
        stored = cache.contents(keys.values())
        found = {n: ReadFile.from_json(stored[key]) for n, key in keys.items() if key in stored}
        fresh: dict[tuple[str, str], Any] = {}
        for name, raw in raws.items():
            if name not in found:
                found[name] = read_bytes(f"ingredients/{name}.yaml", raw)
                fresh[keys[name]] = found[name].as_json()
        cache.remember({}, fresh)
    finally:
        cache.close()
    return {name: held.record for name, held in found.items() if held.record is not None}
