"""The starter sheets as records, from the cache where they were read before."""

from __future__ import annotations

from pathlib import Path

from labbook.model.materials import Ingredient
from labbook.notebook.cache import read_texts
from labbook.rules.starters import starter_names, starter_text


def read_starters(root: Path) -> dict[str, Ingredient]:
    """All starter sheets by name, for the notebook at a root, whose cache is used."""
    raws = {
        f"ingredients/{name}.yaml": (starter_text(name) or "").encode() for name in starter_names()
    }
    found = read_texts(root, "ingredient", raws)
    return {Path(p).stem: held.record for p, held in found.items() if held.record is not None}
