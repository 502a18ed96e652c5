"""Makers' tables against the reading that stands beside each in tests/import_sheets.

The tables are invented, a pottery studio's creams; what is odd about them is what makers' sheets
really have. Each expectation was written by hand from the table.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import pytest

from labbook.model.results.importing import SheetLine, SheetRead, Told
from labbook.model.sheets import Sheets
from labbook.notebook.spreadsheet import read_grid
from labbook.trade.sheet_reading import Wish, read_sheet
from labbook.work.importing import namer
from tests.import_sheets.workbooks import WORKBOOKS

FOLDER = Path(__file__).resolve().parent.parent / "import_sheets"
TABLES = {path.stem: path for path in FOLDER.iterdir() if path.suffix in (".csv", ".tsv")}
CASES = sorted(path.stem for path in FOLDER.glob("*.md"))


@dataclass
class Expected:
    """What stands in the file beside a table."""

    lines: list[dict[str, str]] = field(default_factory=list)
    facts: dict[str, list[str]] = field(default_factory=dict)


def expected(name: str) -> Expected:
    found = Expected()
    heads: list[str] = []
    for line in (FOLDER / f"{name}.md").read_text(encoding="utf-8").splitlines():
        if line.startswith("|"):
            cells = [cell.strip() for cell in line.strip("|").split("|")]
            if not heads:
                heads = cells
            elif not set(cells[0]) <= {"-"} or not cells[0]:
                found.lines.append(dict(zip(heads, cells, strict=True)))
        elif line.startswith("- "):
            key, _, text = line[2:].partition(": ")
            found.facts.setdefault(key, []).append(text)
    return found


def table_of(name: str, folder: Path) -> Path:
    if name in TABLES:
        return TABLES[name]
    path = folder / f"{name}.xlsx"
    path.write_bytes(WORKBOOKS[name]())
    return path


def read(path: Path, wish: Wish | None = None) -> SheetRead:
    return read_sheet(read_grid(path), namer(Sheets()), wish)


def shown(line: SheetLine) -> Mapping[str, str]:
    percent = "q.s." if line.qs else "open" if line.percent is None else f"{line.percent:f}"
    return {
        "phase": line.phase,
        "ingredient": line.named.ingredient,
        "there": line.amount,
        "percent": percent,
        "on top": "yes" if line.on_top else "",
        "adjust": line.adjust,
        "role": line.role,
        "note": line.note,
    }


def sentences(told: tuple[Told, ...]) -> list[str]:
    return [f"row {one.row}: {one.text}" if one.row else one.text for one in told]


def test_every_table_has_its_expectation() -> None:
    assert {*TABLES, *WORKBOOKS} == set(CASES)
    assert len(CASES) >= 12


@pytest.mark.parametrize("name", CASES)
def test_a_table_is_read_as_it_is_meant(name: str, tmp_path: Path) -> None:
    meant = expected(name)
    found = read(table_of(name, tmp_path))
    unclear = sentences(found.unclear)
    for text in meant.facts.get("unclear", []):
        assert any(one.startswith(text) for one in unclear), unclear
    assert len(unclear) == len(meant.facts.get("unclear", []))
    for text in meant.facts.get("said", []):
        assert any(one.startswith(text) for one in sentences(found.assumed)), found.assumed
    if not meant.lines:
        return
    wanted = meant.lines
    assert [{k: shown(line)[k] for k in wanted[0]} for line in found.lines] == wanted
    facts = {
        "title": [found.title],
        "type": [found.emulsion],
        "total": [] if found.total is None else [f"{found.total.normalize():f}"],
        "in the file": [found.in_file],
        "size": [found.size],
        "phases": [", ".join(f"{letter} {name}" for letter, name in found.phases if name)],
        "kept": list(found.kept),
        "no sheet": [one.named.ingredient for one in found.lines if not one.named.known],
    }
    for key, values in meant.facts.items():
        if key not in ("said", "unclear"):
            assert facts[key] == values, key
    assert ("total" in meant.facts) == bool(facts["total"])


# What the person says ---------------------------------------------------------------------------


def test_the_person_tells_what_a_comma_is() -> None:
    point = read(TABLES["thousand"], Wish("point"))
    assert [f"{line.percent:f}" for line in point.lines] == ["80", "20"]
    comma = read(TABLES["thousand"], Wish("comma"))
    assert [f"{line.percent:f}" for line in comma.lines] == ["0.398", "99.602"]
    assert "the decimal sign is the comma, as you say" in sentences(comma.assumed)


@pytest.mark.parametrize(
    ("end", "figure", "left"),
    [("low", "0.2", ["row 9"]), ("middle", "0.35", ["row 8", "row 9"]), ("high", "0.5", ["row 8"])],
)
def test_the_person_tells_which_end_of_a_range_counts(
    end: Literal["low", "middle", "high"], figure: str, left: list[str]
) -> None:
    found = read(TABLES["open-amounts"], Wish(range=end))
    assert f"{found.lines[5].percent:f}" == figure
    assert found.lines[5].note == "the sheet says 0.2 - 0.5"
    assert f"row 7: 0.2 - 0.5 is a range; {figure} taken, the {end}, as you say" in sentences(
        found.assumed
    )
    assert [text.partition(":")[0] for text in sentences(found.unclear)] == left


def test_the_person_tells_that_figures_are_parts() -> None:
    found = read(TABLES["over-the-whole"], Wish(parts=True))
    assert found.total == 100
    assert [f"{line.percent:f}" for line in found.lines] == ["59.17", "29.59", "3.94", "7.30"]


# Ounces, cups and the 120 parts again, against figures reckoned elsewhere with two decimals:
# a proportion, 100 · part / sum. Common practice, no source.
@pytest.mark.parametrize(
    ("name", "figures"),
    [
        ("ounces", ["86.01", "5.09", "3.89", "2.49", "0.75", "1.40", "0.38"]),
        ("on-top", ["58.33", "8.33", "8.33", "6.67", "0.83", "0.83", "16.67"]),
        ("cups-and-grams", ["37.9", "46.6", "15.5"]),
        ("kilos", ["98.00", "2.00"]),
    ],
)
def test_shares_agree_with_printed_figures(name: str, figures: list[str]) -> None:
    found = read(TABLES[name])
    for line, figure in zip(found.lines, figures, strict=True):
        places = len(figure.partition(".")[2])
        assert line.percent is not None
        # The largest line also takes the rounding of the others, half a unit of each at most.
        assert abs(float(line.percent) - float(figure)) <= 0.5 * 10**-places + 0.001


def test_two_hundred_grams_on_ten_kilos_are_no_two_percent(tmp_path: Path) -> None:
    text = TABLES["kilos"].read_text(encoding="utf-8").replace("204.08 g", "200 g")
    path = tmp_path / "kilos.csv"
    path.write_text(text, encoding="utf-8")
    assert [f"{line.percent:f}" for line in read(path).lines] == ["98.04", "1.96"]


def test_no_sentence_has_two_ends() -> None:
    for name in TABLES:
        for text in sentences(read(TABLES[name]).assumed):
            assert not re.search(r"\.\.|please|successfully|!", text), text
