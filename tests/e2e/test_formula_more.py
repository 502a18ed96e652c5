"""`formula label`, `formula cost` and `formula import` with the installed command."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.e2e.bench import Hand
from tests.import_sheets.workbooks import merged
from tests.notebook.repos import git_says, put, subjects

TABLES = Path(__file__).resolve().parent.parent / "import_sheets"
CLEAN = """\
Wheel-side lotion
Phase;Ingredient;%
A;Water;q.s.
A;Glycerin;3,5
B;Sunflower oil;12
B;Cetearyl olivate;4,5
C;Sodium benzoate;0,50
"""


@pytest.fixture
def table(hand: Hand) -> Path:
    """A maker's table beside the notebook, in a folder with a space in its name."""
    path = hand.root.parent / "my tables" / "lotion.csv"
    path.parent.mkdir()
    path.write_text(CLEAN, encoding="utf-8")
    return path


# Import -------------------------------------------------------------------------------------------


def test_without_a_terminal_nothing_is_written(hand: Hand, table: Path) -> None:
    before = git_says(hand.root, "rev-parse", "HEAD")
    said = hand.says("formula", "import", table, "--as", "WL", "--type", "oil-in-water")
    assert re.search(r"^phase A     water +q\.s\. +q\.s\.", said, re.MULTILINE)
    assert re.search(r"^ {12}glycerin +3,5 % +3\.5 +%", said, re.MULTILINE)
    assert "the decimal sign is the comma, because of 3,5 in row 4" in said
    assert "written     nothing yet" in said
    assert git_says(hand.root, "rev-parse", "HEAD") == before
    assert not (hand.root / "formulas/WL.yaml").exists()
    told = re.search(r"^write it    labbook (.*)$", said, re.MULTILINE)
    assert told, said
    assert told[1] == f"formula import '{table}' --as WL --type oil-in-water --yes"


def test_with_yes_it_is_one_commit_and_a_formula_like_any(hand: Hand, table: Path) -> None:
    before = len(subjects(hand.root))
    said = hand.says("formula", "import", table, "--as", "wl", "--type", "oil-in-water", "--yes")
    assert "written     formulas/WL.yaml" in said
    assert len(subjects(hand.root)) == before + 1
    assert subjects(hand.root)[-1] == "Start WL: Wheel-side lotion, from lotion.csv"
    assert git_says(hand.root, "status", "--porcelain") == ""
    text = (hand.root / "formulas/WL.yaml").read_text(encoding="utf-8")
    assert 'title: "Wheel-side lotion"' in text
    assert "- {ingredient: sodium-benzoate, percent: 0.50}" in text
    assert (hand.root / "ingredients/cetearyl-olivate.yaml").exists()
    shown = hand.does("show", "WL")
    assert re.search(r"water, q\.s\. +79\.50? ", shown)
    assert hand.does("save", "WL").startswith("WL@1 saved")
    assert "is there already" in hand.does(
        "formula", "import", table, "--as", "WL", "--type", "gel", "--yes", code=2
    )


def test_at_a_terminal_it_asks_once(hand: Hand, table: Path) -> None:
    words = ("formula", "import", str(table), "--as", "WL", "--type", "oil-in-water")
    said = hand.types(*words, answers=[("Write it?", "n")], code=0)
    assert said.count("Write it?") == 1
    assert not (hand.root / "formulas/WL.yaml").exists()
    said = hand.types(*words, answers=[("Write it?", "y")], code=0)
    assert "written     formulas/WL.yaml" in said
    assert (hand.root / "formulas/WL.yaml").exists()
    # Without a code or a type there is nothing to confirm yet: the command says what to add.
    said = hand.types("formula", "import", str(table))
    assert "Write it?" not in said
    assert "--as CODE --type KIND --yes" in said


def test_what_can_be_read_in_two_ways_is_not_written(hand: Hand) -> None:
    words = ("formula", "import", TABLES / "thousand.csv", "--as", "TH", "--type", "oil-in-water")
    said = hand.does(*words)
    assert re.search(r"unclear +row 2: 1,000 can be read as 1000 or 1\.000", said)
    assert "write it" not in said
    refused = hand.does(*words, "--yes", code=2)
    assert "row 2: 1,000 can be read as" in refused
    assert not (hand.root / "formulas/TH.yaml").exists()
    hand.does(*words, "--decimal", "point", "--yes")
    text = (hand.root / "formulas/TH.yaml").read_text(encoding="utf-8")
    assert "- {ingredient: water, percent: 80}" in text
    assert "batch size: 1250 g" in text


def test_a_workbook_and_its_sheets(hand: Hand, tmp_path: Path) -> None:
    path = tmp_path / "cream.xlsx"
    path.write_bytes(merged())
    found = json.loads(hand.does("formula", "import", path, "--json"))
    assert [line["percent"] for line in found["read"]["lines"]] == ["70.4", "4.6", "20", "5"]
    assert found["ready"] is False
    assert "written" not in found
    assert "no sheet Oils" in hand.does("formula", "import", path, "--sheet", "Oils", code=2)
    words = ("--as", "KS", "--type", "water-in-oil", "--use", "leave-on", "--yes", "--json")
    written = json.loads(hand.does("formula", "import", path, *words))
    assert written["written"]["path"] == "formulas/KS.yaml"
    text = (hand.root / "formulas/KS.yaml").read_text(encoding="utf-8")
    assert "use: leave-on" in text
    assert "emulsion: water-in-oil" in text


def test_what_a_table_leaves_open_is_settled_by_the_maker(hand: Hand, tmp_path: Path) -> None:
    path = tmp_path / "open.csv"
    path.write_text("name;%\nwater;qs\ntocopherol;0.2-0.4\nlactic acid;q.s. to pH 5.0\n")
    words = ("formula", "import", path, "--as", "OA", "--type", "gel")
    refused = hand.does(*words, "--yes", code=2)
    assert "row 3: 0.2-0.4 is a range: write one figure, or say --range" in refused
    hand.does(*words, "--range", "middle", "--yes")
    text = (hand.root / "formulas/OA.yaml").read_text(encoding="utf-8")
    assert '- {ingredient: tocopherol, percent: 0.3, note: "the sheet says 0.2-0.4"}' in text
    assert '- {ingredient: lactic-acid, adjust: "pH 5.0"}' in text
    assert "lactic-acid has no expected amount" in hand.does("show", "OA")


HOSTILE = (
    "ingredient,%\n=cmd|' /C calc'!A0,50\n\"\x1b[31mred\x1b[0m, wide\",20\n"
    '<script>alert(1)</script>,20\n"key: {a: 1}\n- b",10\nHeat \x1b]0;title\x07 it,\n'
)


def test_nothing_in_a_table_is_obeyed(hand: Hand, tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text(HOSTILE, encoding="utf-8")
    said = hand.says("formula", "import", path, "--as", "OD", "--type", "gel", "--yes")
    assert "\x1b" not in said
    assert "\x07" not in said
    assert "\\x1b" in said
    text = (hand.root / "formulas/OD.yaml").read_text(encoding="utf-8")
    assert "\x1b" not in text
    assert "- {ingredient: cmd-c-calc-a0, percent: 50}" in text
    assert "- {ingredient: key-a-1-b, percent: 10}" in text
    assert "50" in hand.does("show", "OD")


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("nothing.csv",), "is no file here"),
        (("LOTION", "--as", "TOOLONG"), "TOOLONG is no code"),
        (("LOTION", "--type", "cream"), "--type cream?"),
        (("LOTION", "--use", "forever"), "--use forever?"),
        (("LOTION", "--decimal", "dot"), "--decimal dot?"),
        (("LOTION", "--yes"), "needs a code and an emulsion type"),
        (("LOTION", "--as", "WL", "--yes"), "needs a code and an emulsion type"),
    ],
)
def test_an_import_that_cannot_be(
    hand: Hand, table: Path, words: tuple[str, ...], what: str
) -> None:
    typed = [str(table) if word == "LOTION" else word for word in words]
    said = hand.does("formula", "import", *typed, code=3 if words[0] == "nothing.csv" else 2)
    assert what in said
    assert "mend" in said
    assert git_says(hand.root, "status", "--porcelain") == ""


# Label --------------------------------------------------------------------------------------------


def test_a_label_draft_by_region(hand: Hand) -> None:
    eu = hand.says("formula", "label", "HC")
    assert re.search(r"^ingredients Aqua, Helianthus Annuus Seed Oil, ", eu, re.MULTILINE)
    assert "no region in labbook.yaml; taken as EU" in eu
    assert "Regulation (EC) 1223/2009, Art 19(1)(g)" in eu
    assert "A draft from your own sheets, no more." in eu
    assert not re.search(r"best before|expires|months|this is safe", eu)
    assert "whether it is safe is not told here" in " ".join(eu.split())
    us = json.loads(hand.does("formula", "label", "HC@1", "--region", "us", "--json"))
    assert us["region"] == "US"
    assert us["strict"] is False
    names = [entry["name"] for entry in us["entries"]]
    assert names[0] == "Water"
    # 0.6 % of a 20 % solution: its water joins the rest, its acid stands by itself.
    (acid,) = [entry for entry in us["entries"] if entry["name"] == "Citric Acid"]
    assert acid["percent"] == "0.12"
    assert "Region Mars?" in hand.does("formula", "label", "HC", "--region", "Mars", code=2)


def test_a_label_of_what_was_weighed(hand: Hand) -> None:
    refused = hand.does("formula", "label", "HC", "--batch", hand.small.first, code=2)
    assert "citric-acid-20-percent was not weighed" in " ".join(refused.split())
    hand.does("weigh", *WEIGHED)
    found = json.loads(hand.does("formula", "label", "--batch", hand.open, "--json"))
    assert found["made"] == hand.open
    salt = next(entry for entry in found["entries"] if entry["name"] == "Sodium Chloride")
    assert float(salt["percent"]) == pytest.approx(200 / 101.23, rel=1e-4)
    assert not salt["any order"]  # 0.8 % was meant, 2 g were weighed
    assert "is a batch of HC, not of LO" in hand.does(
        "formula", "label", "LO", "--batch", hand.open, code=2
    )


WEIGHED = (
    "sunflower-oil=14", "beeswax=2.5", "polyglyceryl-3-diisostearate=4.5", "water=74.13",
    "glycerin=3", "sodium-chloride=2", "sodium-benzoate=0.5", "citric-acid-20-percent=0.6",
)  # fmt: skip


# Cost ---------------------------------------------------------------------------------------------


def _lot(hand: Hand, name: str, ingredient: str, more: str) -> None:
    put(hand.root, f"lots/{name}.yaml", f'id: "l-{name}"\ningredient: {ingredient}\n{more}')


def test_cost_by_packs(hand: Hand) -> None:
    _lot(hand, "oil-1", "sunflower-oil", 'size: 1 kg\nprice: "10 EUR"\nopened: 2026-01-01\n')
    _lot(hand, "wax-1", "beeswax", 'size: 100 g\nprice: "£5.00"\nopened: 2026-01-01\n')
    said = hand.says("formula", "cost", "HC", "--size", "200g")
    assert re.search(r"sunflower-oil +28 +g +0\.28 +EUR", said)
    assert re.search(r"beeswax +5 +g +0\.25 +GBP", said)
    assert "unknown     polyglyceryl-3-diisostearate: no lot in the notebook" in said
    assert "together    at least 0.28 EUR and 0.25 GBP" in said
    assert "Prices stay in the notebook" in said
    found = json.loads(hand.does("formula", "cost", "HC", "--json"))
    assert found["size"] == "100"
    assert found["at least"] is True
    assert found["totals"] == [["EUR", "0.14"], ["GBP", "0.125"]]


def test_cost_of_a_batch_by_the_packs_that_went_in(hand: Hand) -> None:
    _lot(hand, "oil-1", "sunflower-oil", 'size: 1 kg\nprice: "10 EUR"\nopened: 2026-01-01\n')
    hand.does("weigh", *WEIGHED)
    # A dearer pack is opened later: the batch was made from the first.
    _lot(hand, "oil-2", "sunflower-oil", 'size: 1 kg\nprice: "20 EUR"\nopened: 2026-05-01\n')
    hand.does("close", "--jars", "2", "--places", "room")
    found = json.loads(hand.does("formula", "cost", "--batch", hand.open, "--json"))
    assert found["totals"] == [["EUR", "0.14"]]
    assert [jar["cost"] for jar in found["jars"]] == ["0.07", "0.07"]
    assert all(jar["even"] for jar in found["jars"])
    today = json.loads(hand.does("formula", "cost", "HC", "--json"))
    assert today["totals"] == [["EUR", "0.28"]]
    assert "has the size that was weighed" in hand.does(
        "formula", "cost", "HC", "--batch", hand.open, "--size", "50g", code=2
    )


def test_prices_never_reach_the_journal(hand: Hand, tmp_path: Path) -> None:
    _lot(hand, "oil-1", "sunflower-oil", 'size: 1 kg\nprice: "17.31 EUR"\nopened: 2026-01-01\n')
    assert "0.24 EUR" in hand.does("formula", "cost", "HC")
    hand.does("journal", "public", "HC")
    hand.does("journal", "build", "--output", tmp_path / "site")
    pages = [path for path in (tmp_path / "site").rglob("*") if path.is_file()]
    assert any(b"Hand cream for throwers" in path.read_bytes() for path in pages)
    assert not any(b"17.31" in path.read_bytes() for path in pages)
