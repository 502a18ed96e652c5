"""`check` on formulas and batches by the rules of the trade, and `help RULE`, with the command."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from labbook.work.help_rules import rule_names
from tests.e2e.bench import Hand, through_the_door
from tests.notebook.repos import put
from tests.work.notebooks import HC

BAD = """\
code: BAD
title: Everything wrong at once   # invented
id: "f-bad001"
emulsion: water-in-oil
use: leave-on
batch size: 20 g
phases:
  - phase: A
    name: oil
    lines:
      - {ingredient: sunflower-oil, percent: 66}
      - {ingredient: glyceryl-stearate-se, percent: 32.4}
  - phase: B
    name: water
    lines:
      - {ingredient: water, percent: qs}
      - {ingredient: glycerin, percent: qs}
      - {ingredient: potassium-sorbate, percent: 0.9}
      - {ingredient: sodium-gluconate, percent: 0.1}
  - phase: C
    lines:
      - {ingredient: fragrance, precent: 2.1}
method:
  - {id: s1, do: heat, set: {A: 60 °C, B: 60 °C}, hold: 10 min}
  - {id: s2, do: combine, add: B, into: A, rate: slow, then mix: 5 min}
  - {id: s3, do: add, add: C, at: 70 °C}
"""
WET = """\
code: WET
title: Nothing against microbes   # invented
id: "f-wet001"
emulsion: oil-in-water
phases:
  - phase: A
    lines: {sunflower-oil: 20, glyceryl-stearate-se: 5}
  - phase: B
    lines: {water: qs, glycerin: 3}
"""
STARTERS = ("glyceryl-stearate-se", "potassium-sorbate", "sodium-gluconate", "fragrance")


@pytest.fixture
def bad(hand: Hand) -> Hand:
    """The small notebook with two formulas beside it that nobody should make."""
    for name in STARTERS:
        hand.does("ingredient", "new", name)
    hand.does("equipment", "add", "scale", "--kind", "balance", "--readability", "0.1g")
    put(hand.root, "formulas/BAD.yaml", BAD)
    put(hand.root, "formulas/WET.yaml", WET)
    settings = (hand.root / "labbook.yaml").read_text(encoding="utf-8")
    put(hand.root, "labbook.yaml", f"{settings}region: EU\n")
    return hand


def checked(hand: Hand, *words: str) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """What `check --json` says: the whole, and its findings."""
    ran = through_the_door("check", *words, "--json", cwd=hand.root)
    result: dict[str, Any] = json.loads(ran.out)
    return result, result["problems"]


def of(problems: list[dict[str, Any]], rule: str) -> list[dict[str, Any]]:
    return [one for one in problems if one["rule"] == rule]


# One bad formula ---------------------------------------------------------------------------------


def test_everything_wrong_is_said_in_one_run(bad: Hand) -> None:
    _, problems = checked(bad)
    by_rule = {one["rule"]: one for one in problems if one["about"] in ("BAD", "WET")}
    for rule in (
        "two-qs", "mistyped-key", "total-not-100", "emulsifier-melts-above-heating",
        "above-highest-temperature", "too-small-for-the-balance", "eu-sorbic-acid",
        "no-preservative", "over-highest-use",
    ):  # fmt: skip
        assert rule in by_rule, rule
    assert "101.5 %" in by_rule["total-not-100"]["what"]
    assert "0.672 % sorbic-acid" in by_rule["eu-sorbic-acid"]["what"]
    assert by_rule["eu-sorbic-acid"]["severity"] == "error"
    small = [one["what"] for one in of(problems, "too-small-for-the-balance")]
    assert any("0.02 g sodium-gluconate" in what for what in small)
    assert "60" in by_rule["emulsifier-melts-above-heating"]["what"]
    assert by_rule["no-preservative"]["about"] == "WET"


def test_findings_stand_at_their_line_and_column(bad: Hand) -> None:
    _, problems = checked(bad, "BAD")
    lines = BAD.splitlines()
    for rule, word in (
        ("eu-sorbic-acid", "potassium-sorbate"), ("mistyped-key", "precent"),
        ("above-highest-temperature", "fragrance"), ("two-qs", "glycerin"),
    ):  # fmt: skip
        place = of(problems, rule)[0]["place"]
        path, line, column = place.rsplit(":", 2) if isinstance(place, str) else place.values()
        assert path == "formulas/BAD.yaml"
        assert word in lines[int(line) - 1]
        assert 1 <= int(column) <= len(lines[int(line) - 1])


def test_the_screen_reads_figure_reason_remedy_source(bad: Hand) -> None:
    screen = through_the_door("check", "BAD", cwd=bad.root).out
    block = screen[screen.index("0.9 % potassium-sorbate counts") :]
    block = block[: block.index("\n\n")]
    order = ["0.672 %", "entry 4", "At most 0.80 %", "rule      eu-sorbic-acid;"]
    at = [block.index(part) for part in order]
    assert at == sorted(at)
    assert all(len(line) <= 80 for line in screen.splitlines())


def test_a_sound_formula_beside_it_is_not_touched(bad: Hand) -> None:
    _, problems = checked(bad, "HC")
    own = {one["rule"] for one in problems if one["about"] == "HC"}
    assert own == {"too-small-for-the-balance"}  # tenths of a gram on a scale that shows 0.1 g


def test_every_check_says_what_it_did_not_check(hand: Hand) -> None:
    result, _ = checked(hand)
    said = " / ".join(result["not checked"])
    assert "from texts as of 2015-08-10" in said
    assert "no region" in said
    assert "EU" in said
    assert "microbes" in said
    assert "skin" in said
    settings = (hand.root / "labbook.yaml").read_text(encoding="utf-8")
    put(hand.root, "labbook.yaml", f"{settings}region: Brazil\n")
    said = " / ".join(checked(hand)[0]["not checked"])
    assert "Brazil: there is no table" in said


def test_ingredients_without_a_sheet_are_counted_to_a_few(hand: Hand) -> None:
    names = [f"mystery-{n}" for n in range(7)]
    lines = "".join(f"      {name}: 2\n" for name in names)
    put(hand.root, "formulas/MM.yaml", WET.replace("WET", "MM").replace("f-wet001", "f-mm0001")
        .replace("lines: {water: qs, glycerin: 3}", f"lines:\n{lines}      water: qs"))  # fmt: skip
    said = " / ".join(checked(hand, "MM")[0]["not checked"])
    assert "mystery-0, mystery-1" in said
    assert "and 4 more" in said or "and 5 more" in said


# A notebook's own word ---------------------------------------------------------------------------

OWN = """\
limits:
  - name: studio-glycerin
    region: house
    ingredients: [glycerin]
    highest: 3.5
    text: "house rule"
    read: 2026-01-09
    source: "the potter"
    severity: warning
pairs:
  - rule: honey-with-salt
    severity: note
    one: {ingredients: [glycerin]}
    other: {ingredients: [sodium-chloride]}
    what: "{one} stands with {other}"
    why: "An invented reason."
    mend: "Leave one out."
    source: "the potter"
checks:
  - rule: less-beeswax
    severity: warning
    of: {ingredients: [beeswax]}
    where: formula
    to: 1
    why: "The hands say so."
    mend: "Take less."
    source: "the potter"
"""


def changed(hand: Hand, text: str) -> None:
    put(hand.root, "rules/mine.yaml", text)


def test_own_limit_own_pair_and_own_bound(hand: Hand) -> None:
    put(hand.root, "formulas/HC.yaml", HC)
    rules = ("studio-glycerin", "honey-with-salt", "less-beeswax")
    before = checked(hand, "HC")[1]
    assert [one for one in before if one["rule"] in rules] == []
    changed(hand, OWN)
    found = [one for one in checked(hand, "HC")[1] if one["about"] == "HC"]
    assert {one["rule"] for one in found} >= set(rules)
    for rule in rules:
        assert "the potter" in of(found, rule)[0]["source"]
    said = hand.does("help", "less-beeswax")
    assert "this notebook brought or changed it: rules/mine.yaml" in said
    assert "to: 1 %" in said


@pytest.mark.parametrize("severity", ["note", "off"])
def test_a_rule_is_softened_or_switched_off(bad: Hand, severity: str) -> None:
    for rule in ("eu-sorbic-acid", "no-preservative"):
        changed(bad, f"checks:\n  - {{rule: {rule}, severity: {severity}}}\n")
        _, problems = checked(bad)
        found = [one["severity"] for one in of(problems, rule)]
        assert found == ([] if severity == "off" else ["note"])
        said = bad.does("help", rule)
        assert said.splitlines()[0].split() == [rule, severity]


def test_one_figure_of_a_rule_is_changed(bad: Hand) -> None:
    changed(bad, "checks:\n  - {rule: no-preservative, figures: {water from in %: 99}}\n")
    assert of(checked(bad)[1], "no-preservative") == []
    assert "water from in %: 99" in bad.does("help", "no-preservative")


def test_a_finding_is_accepted_with_a_reason(bad: Hand) -> None:
    rule = "above-highest-temperature"
    assert len(of(checked(bad)[1], rule)) == 1
    bad.does("check", "BAD", "--accept", rule, "-m", "this one stands 80 °C")
    result, problems = checked(bad)
    assert of(problems, rule) == []
    assert [one["rule"] for one in result["accepted"]] == [rule]
    assert "BAD: this one stands 80 °C" in bad.does("help", rule)
    refused = bad.does("check", "BAD", "--accept", "eu-sorbic-acid", "-m", "I dare", code=2)
    assert "is an error and can't be accepted" in refused


# Batches -----------------------------------------------------------------------------------------


def test_a_batch_over_a_limit_by_its_weighing_is_said(hand: Hand) -> None:
    opened = hand.opens("HC", "--size", "100 g")
    for line in ("sunflower-oil=14", "beeswax=2.5", "polyglyceryl-3-diisostearate=4.5",
                 "water=74", "glycerin=3", "sodium-chloride=0.8", "citric-acid-20-percent=0.6",
                 "sodium-benzoate=0.9"):  # fmt: skip
        hand.does("weigh", opened, line)
    _, problems = checked(hand, opened)
    found = of(problems, "eu-benzoic-acid-leave-on")
    assert len(found) == 1
    assert f"{opened} as made: " in found[0]["what"]
    assert "batch.yaml" in str(found[0]["place"])
    assert of(checked(hand, "HC")[1], "eu-benzoic-acid-leave-on") == found


def test_a_batch_repeats_nothing_that_its_plan_says(bad: Hand) -> None:
    """What the formula's file says is said there once, not again for each of its batches."""
    wet = WET.replace("glyceryl-stearate-se: 5}", "glyceryl-stearate-se: 4}")
    put(bad.root, "formulas/WET.yaml", wet)
    opened = bad.opens("WET", "--size", "100 g")
    for line in ("sunflower-oil=20", "glyceryl-stearate-se=4", "water=73", "glycerin=3"):
        bad.does("weigh", opened, line)
    assert [one["about"] for one in of(checked(bad)[1], "no-preservative")] == ["WET"]


# Scope and help ----------------------------------------------------------------------------------


def test_an_entry_of_the_journal_is_checked_by_its_name(hand: Hand) -> None:
    hand.does("journal", "new", "first-week")
    path = next((hand.root / "journal").rglob("*first-week*.md"))
    text = path.read_text(encoding="utf-8")
    put(hand.root, str(path.relative_to(hand.root)),
        text.replace('public: "no"', "public: yes") + "\nIt heals eczema.\n")  # fmt: skip
    name = path.stem
    said = hand.does("check", name)
    assert said.startswith(name)
    assert "not checked" in said
    assert "neither" in hand.does("check", "nosuch", code=2)


def test_help_explains_a_rule_and_offers_near_names(hand: Hand, tmp_path: Path) -> None:
    said = hand.does("help", "eu-sorbic-acid")
    for part in ("0.6 %", "potassium-sorbate", "entry 4", "2015-08-10", "severity: off"):
        assert part in said
    assert "eu-sorbic-acid" in hand.does("help", "eu-sorbic-acd", code=2)
    assert "Usage" in hand.does("help", "check")


def test_every_rule_that_check_can_print_has_an_explanation(hand: Hand) -> None:
    """The names stand in the source as words; each has its row."""
    import re

    import labbook

    root = Path(labbook.__file__).parent
    rooms = ("work/check*.py", "notebook/rules_of_file.py", "notebook/validate.py",
             "notebook/values.py", "notebook/shaping.py", "notebook/nodes.py",
             "notebook/builder.py", "notebook/snapshot.py", "notebook/entries.py",
             "trade/composition.py", "trade/expand.py")  # fmt: skip
    word = re.compile(r'"([a-z]+(?:-[a-z]+)+)"')
    found = {
        w for room in rooms for path in root.glob(room) for w in word.findall(path.read_text())
    }
    no_rules = {"oil-in-water", "water-in-oil", "leave-on", "rinse-off", "entry-unread", "f-unread"}
    known = set(rule_names())
    assert sorted(found - known - no_rules) == []
    assert len(known) > 150
