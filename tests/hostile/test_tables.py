"""Tables for spreadsheets: no cell of any begins a formula, whatever stands in the files."""

from __future__ import annotations

import ast
import csv
import re
from pathlib import Path

import pytest

import labbook
from labbook.show.safe_csv import STARTERS
from tests.e2e.bench import Hand
from tests.notebook.repos import commit

FORMULAS = (
    "=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(1)", '=HYPERLINK("http://example.org")', " =1",
    "\\t=1", "\uff1d1", "\u00a0=1",
)  # fmt: skip
MAKERS = ("csv.writer", "csv.DictWriter")
WRITERS = {"work/export.py", "show/safe_csv.py"}
NUMBER = re.compile(r"-?[0-9.]+(E[+-]?[0-9]+)?", re.ASCII)


def poison(hand: Hand, text: str) -> None:
    """Puts the text wherever a file has room for words of a person."""
    quoted = '"' + text.replace('"', '\\"') + '"'
    for path in hand.root.rglob("*.yaml"):
        if ".git" in path.parts or ".labbook" in path.parts:
            continue
        old = path.read_text(encoding="utf-8")
        new = re.sub(
            r"((?:^|[ {])(?:title|aim|name|supplier|lot|text|note|why|given to|container): )"
            r'("[^"]*"|[A-Za-z][^,}\n]*)',
            lambda found: found[1] + quoted,
            old,
            flags=re.MULTILINE,
        )
        path.write_text(new, encoding="utf-8")
    commit(hand.root, "from elsewhere")


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_of_any_table_begins_a_formula(hand: Hand, tmp_path: Path, text: str) -> None:
    poison(hand, text)
    hand.does("export", tmp_path / "tables", "--private")
    hand.does("trace", "beeswax", "--csv", tmp_path / "trace.csv")
    hand.does("trace", "beeswax-0815", "--recall", "-m", text, "--csv", tmp_path / "recall.csv")
    tables = sorted(tmp_path.rglob("*.csv"))
    assert len(tables) > 10
    cells = [
        cell
        for table in tables
        for row in csv.reader(table.read_text(encoding="utf-8-sig").splitlines())
        for cell in row
    ]
    bare = [cell.lstrip(" \u00a0\ufeff") for cell in cells]
    assert not [
        cell for cell in bare if cell[:1] in STARTERS and cell and not NUMBER.fullmatch(cell)
    ]
    assert [cell for cell in cells if cell.startswith("'")]  # it did come to a table


def test_two_modules_alone_write_tables() -> None:
    """A new writer of tables has to go through one of them, or stand here with its test."""
    package = Path(labbook.__file__).parent
    found = set()
    for path in package.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and ast.unparse(node) in MAKERS:
                found.add(path.relative_to(package).as_posix())
    assert found == WRITERS
