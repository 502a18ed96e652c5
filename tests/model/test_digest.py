"""Frozen digests: what names a version in a batch of year one names it for ever.

The hashes were made once by a program of its own from the definition in words (label, canonical
JSON, SHA-256), not by the function tested here. A vector is never changed; new ones are added.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from labbook.model.digest import LABEL, canonical, digest
from labbook.model.formula import Formula
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.notebook.validate import read_file

VECTORS = json.loads((Path(__file__).parent / "digest_vectors.json").read_text(encoding="utf-8"))
NAMES = [vector["name"] for vector in VECTORS]
SAME = {
    "every counted key",
    "lines in the short form",
    "lines and phases in another order",
    "0.50 for 0.5, 14.0 for 14, q.s. for qs, a percent sign",
    "another title, code, id, version, note and role; comments",
    "quantities in other units: 600 s for 10 min, 161.6 °F for 72 °C",
    "targets in another order",
    "a sheet made later under the written name",
    "the sheet renamed, the line with it",
    "the sheet renamed, the line not, its former name kept",
    "another name of the same sheet",
}


def formula(text: str) -> Formula:
    code = text.split("code: ")[1].split("\n")[0]
    read = read_file(text.encode(), f"formulas/{code}.yaml")
    assert read.problems == ()
    assert isinstance(read.record, Formula)
    return read.record


SMALL = formula(
    'code: KB\ntitle: Balm\nid: "f-1"\nemulsion: anhydrous\n'
    "phases:\n  - {phase: A, lines: {jojoba-oil: 80.00, beeswax: 20}}\n"
)
FORMULAS = {vector["name"]: formula(vector["formula"]) for vector in VECTORS}


def sheets(vector: dict[str, Any]) -> Sheets:
    found = {}
    for name, keys in vector["sheets"].items():
        found[name] = Ingredient(id=keys["id"], also=tuple(keys.get("also", ())))
    return Sheets(found)


@pytest.mark.parametrize("vector", VECTORS, ids=NAMES)
def test_a_frozen_vector_keeps_its_digest(vector: dict[str, Any]) -> None:
    assert digest(FORMULAS[vector["name"]], sheets(vector)) == vector["digest"]


def test_what_does_not_count_leaves_the_digest_and_all_else_changes_it() -> None:
    equal = {vector["digest"] for vector in VECTORS if vector["name"] in SAME}
    others = [vector["digest"] for vector in VECTORS if vector["name"] not in SAME]
    assert set(NAMES) >= SAME
    assert len(equal) == 1
    assert len({*equal, *others}) == 1 + len(others)


def test_the_canonical_form_of_a_small_formula_in_full() -> None:
    assert canonical(SMALL, Sheets({})) == (
        '{"emulsion":"anhydrous","lines":['
        '{"ingredient":"beeswax","percent":"20","phase":"A"},'
        '{"ingredient":"jojoba-oil","percent":"80","phase":"A"}]}'
    )
    assert LABEL == "labbook-digest-1"
