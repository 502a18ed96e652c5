"""`trace` and `ingredient stock` as installed, against plain searches through the files."""

from __future__ import annotations

import csv
import json
import re
from fractions import Fraction
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import RunLabbook
from tests.e2e.bench import Hand, ended, through_the_door
from tests.notebook.repos import git_says, put

# Without types of its own; the other reader of YAML that tests use.
yaml: Any = import_module("yaml")


@pytest.fixture(scope="session")
def studio(replayed: Path) -> Path:
    """The sample notebook; nobody writes into it."""
    return replayed


def says(studio: Path, *words: str) -> Any:
    return json.loads(ended(through_the_door(*words, "--json", cwd=studio)).out)


def batch_files(studio: Path) -> dict[str, dict[str, Any]]:
    """Every batch file by its id, read by another YAML reader; weighings keep their text."""
    return {
        path.parent.name: yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
        for path in studio.glob("batches/*/*/batch.yaml")
    }


def jars_in(studio: Path, ids: set[str]) -> set[str]:
    found = set()
    for path in studio.glob("batches/*/*/jars.yaml"):
        if path.parent.name in ids:
            held = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
            found |= {f"{path.parent.name}.{jar['jar']}" for jar in held["jars"]}
    return found


# The sample ---------------------------------------------------------------------------------------


def test_every_lot_leads_to_what_a_plain_search_finds(studio: Path) -> None:
    """Nothing in the sample is split, reworked or a premix: naming the lot is all there is."""
    texts = {
        path.parent.name: path.read_text(encoding="utf-8")
        for path in studio.glob("batches/*/*/batch.yaml")
    }
    lots = [path.stem for path in studio.glob("lots/*.yaml")]
    assert len(lots) > 20
    for name in lots:
        expected = {id_ for id_, text in texts.items() if re.search(rf"lot: {name}\b", text)}
        found = says(studio, "trace", name)
        assert {hop["id"] for hop in found["forward"]} == expected
        assert {jar["id"] for jar in found["jars"]} == jars_in(studio, expected)


def test_every_batch_leads_back_to_the_lots_in_its_file(studio: Path) -> None:
    for id_, batch in batch_files(studio).items():
        found = says(studio, "trace", id_)
        lots = {hop["id"] for hop in found["back"] if hop["kind"] == "lot"}
        assert lots == {one["lot"] for one in batch["weighings"] if "lot" in one}
        tools = {hop["id"] for hop in found["back"] if hop["kind"] == "equipment"}
        assert set(batch["tools"].values()) <= tools


def test_every_ingredient_leads_to_the_batches_that_name_it(studio: Path) -> None:
    """By name in a line or an addition, by a lot of it, or by a blend whose sheet lists it."""
    sheets = {path.stem: path.read_text(encoding="utf-8") for path in studio.glob("ingredients/*")}
    lots = {path.stem: path.read_text(encoding="utf-8") for path in studio.glob("lots/*.yaml")}
    assert len(sheets) > 15
    for name in sheets:
        blends = {
            blend
            for blend, text in sheets.items()
            if re.search(rf"ingredient: \"?{name}\"?[,}}\s]", text.partition("contains:")[2])
        }
        known = {name, *blends}
        packs = {
            lot
            for lot, text in lots.items()
            if re.search(rf"^ingredient: \"?({'|'.join(known)})\"?$", text, re.MULTILINE)
        }
        expected = set()
        for id_, batch in batch_files(studio).items():
            lines = {line["id"]: line["ingredient"] for line in batch["lines"]}
            for one in batch["weighings"]:
                weighed = {one.get("ingredient", ""), lines.get(one.get("line", ""), "")}
                if "struck" not in one and (weighed & known or one.get("lot") in packs):
                    expected.add(id_)
        found = says(studio, "trace", name)
        assert {hop["id"] for hop in found["forward"] if hop["kind"] == "batch"} >= expected, name
        assert {jar["batch"] for jar in found["jars"]} >= {
            id_ for id_ in expected if jars_in(studio, {id_})
        }
        extra = {hop["id"] for hop in found["forward"] if hop["kind"] == "batch"} - expected
        assert all(batch_files(studio)[id_]["state"] == "closed" for id_ in extra), (name, extra)


def test_every_jar_leads_back_to_the_lots_of_its_batch(studio: Path) -> None:
    for id_, batch in batch_files(studio).items():
        for jar in sorted(jars_in(studio, {id_})):
            found = says(studio, "trace", jar)
            lots = {hop["id"] for hop in found["back"] if hop["kind"] == "lot"}
            assert lots == {one["lot"] for one in batch["weighings"] if "lot" in one}
            assert [one["id"] for one in found["jars"]] == [jar]


def test_what_is_left_is_what_the_files_add_up_to(studio: Path) -> None:
    """All masses of the sample are in g; one weighing of C3 was corrected after closing."""
    used: dict[str, Fraction] = {}
    for batch in batch_files(studio).values():
        now = {c["of"]: c["now"] for c in batch.get("corrections", ()) if c["key"] == "mass"}
        for one in batch["weighings"]:
            if "struck" not in one and "lot" in one:
                mass = now.get(one["id"], one["mass"]).removesuffix(" g")
                used[one["lot"]] = used.get(one["lot"], Fraction()) + Fraction(mass)
    found = says(studio, "ingredient", "stock")
    told = {lot["name"]: lot for one in found["ingredients"] for lot in one["lots"]}
    assert len(told) > 20
    for name, lot in told.items():
        assert Fraction(lot["used"]) == used.get(name, Fraction())
        assert Fraction(lot["left"]) == Fraction(lot["size"]) - used.get(name, Fraction())


def test_the_screens_read_by_their_margin(studio: Path) -> None:
    out = ended(through_the_door("trace", "sunflower-oil-2602", cwd=studio)).out
    words = [line[:12].strip() for line in out.splitlines()[1:] if line[:12].strip()]
    assert words == ["comes from", "went into", "jars"]
    assert re.search(r"^went into   G2 +KHB@2 +2026-02-25 +54\.65 +g$", out, re.MULTILINE)
    assert max(map(len, out.splitlines())) <= 80
    out = ended(through_the_door("ingredient", "stock", cwd=studio)).out
    assert re.search(r"^enough      benzyl-alcohol +96\.4 +1\.6 +1\.2  SHL$", out, re.MULTILINE)
    assert max(map(len, out.splitlines())) <= 80


def test_what_has_no_trace(studio: Path) -> None:
    for word, said in (
        ("SBC", "is a formula"), ("beeswx-2511", "Near it: beeswax-2511"), ("k2.9", "K2.1, K2.2"),
    ):  # fmt: skip
        assert said in ended(through_the_door("trace", word, cwd=studio), 2).err


# Who has it ---------------------------------------------------------------------------------------


@pytest.fixture
def given(hand: Hand) -> Hand:
    """A lot in the second batch, whose one jar was given to somebody."""
    hand.does(
        "ingredient", "lot", "add", "sunflower-oil", "--name", "oil-1", "--supplier", "Shop X"
    )
    path = hand.small.path(hand.small.second)
    text = (hand.root / path).read_text(encoding="utf-8")
    text = re.sub(r"(line: \"?a1\"?, mass: 14.02 g)", r"\1, lot: oil-1", text, count=1)
    assert "lot: oil-1" in text
    put(hand.root, path, text)
    path = hand.small.path(hand.small.second, "jars.yaml")
    text = (hand.root / path).read_text(encoding="utf-8")
    text, count = re.subn(r"(jar: \"1\", )", r'\1given to: "@Person One", ', text, count=1)
    assert count == 1, text
    put(hand.root, path, text)
    return hand


def test_people_stand_in_the_terminal_and_in_a_recall_only(given: Hand, tmp_path: Path) -> None:
    short = given.small.second[-2:]
    for words in (("trace", "oil-1"), ("trace", "oil-1", "--json"), ("trace", short)):
        out = given.says(*words)
        assert "Person One" not in out
        assert "Shop X" not in out
    assert "with @Person One" in given.types("trace", "oil-1")
    assert "Shop X, private" in given.types("trace", "oil-1")
    file = tmp_path / "jars.csv"
    given.says("trace", "oil-1", "--csv", file)
    assert "Person One" not in file.read_text(encoding="utf-8-sig")


def test_a_recall_as_text_json_and_table(given: Hand, tmp_path: Path) -> None:
    short = given.small.second[-2:]
    before = git_says(given.root, "rev-parse", "HEAD")
    said = given.says("trace", "oil-1", "--recall", "-m", "rancid when it came")
    assert re.search(rf"^tell        @Person One +{short}\.1$", said, re.MULTILINE)
    assert "Rancid when it came." in " ".join(said.split())
    found = json.loads(given.says("trace", "oil-1", "--recall", "--json"))
    assert found["holders"][0]["jars"] == [f"{short}.1"]
    assert found["trace"]["supplier"] == "Shop X"
    file = tmp_path / "recall.csv"
    given.says("trace", "oil-1", "--recall", "--csv", file)
    rows = list(csv.DictReader(file.read_text(encoding="utf-8-sig").splitlines()))
    assert [(row["jar"], row["given to"]) for row in rows] == [(f"{short}.1", "'@Person One")]
    assert git_says(given.root, "rev-parse", "HEAD") == before


def test_premix_split_and_rework_by_the_commands(hand: Hand) -> None:
    hand.does("ingredient", "lot", "add", "glycerin", "--name", "g-1", "--size", "100g")
    first = hand.small.first
    premix = hand.opens("HC", "--size", "100g")
    hand.does("weigh", premix, "glycerin=3", "--lot", "g-1")
    child = hand.opens("HC", "--rework", f"{premix}:20g")
    hand.does("weigh", child, "sunflower-oil=5", "--premix", premix)
    found = json.loads(hand.says("trace", "g-1", "--json"))
    assert {(h["name"], h["mass"]) for h in found["forward"]} == {(premix, "3"), (child, "25")}
    assert set(found["potted"]) == {premix, child}
    left = json.loads(hand.says("ingredient", "stock", "--json"))
    lots = {lot["name"]: lot for one in left["ingredients"] for lot in one["lots"]}
    assert (lots["g-1"]["used"], lots["g-1"]["left"]) == ("3", "97")
    assert [(b["short"], b["used"]) for b in left["bulks"]] == [(premix, "25")]
    assert "left" not in left["bulks"][0]  # only one line of it is weighed yet
    assert first not in found["potted"]


def test_both_commands_only_read(hand: Hand, run_labbook: RunLabbook) -> None:
    before = git_says(hand.root, "status", "--porcelain")
    for words in (
        ("trace", hand.open),
        ("ingredient", "stock"),
        ("ingredient", "stock", "beeswax"),
    ):
        ended(run_labbook(*words, cwd=hand.root))
    assert git_says(hand.root, "status", "--porcelain") == before
