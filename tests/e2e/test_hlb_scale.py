"""`formula hlb`, and `formula scale` with premixes, with the installed command."""

from __future__ import annotations

import json
import re

import pytest

from tests.e2e.bench import Hand
from tests.notebook.repos import git_says, put

LOTION = """\
code: TW
title: Trial lotion
id: "f-9zz8yd"
version: 0
emulsion: oil-in-water
batch size: 50 g
phases:
  - phase: A
    name: oil
    lines:
      mineral-oil: 12
      isopropyl-myristate: 6
      beeswax: 1
      tocopherol: 0.2
      polysorbate-80: 2
      sorbitan-oleate: 3
  - phase: B
    name: water
    lines:
      - {ingredient: water, percent: qs}
      - {ingredient: sodium-benzoate, percent: 0.5, role: preservative}
"""


@pytest.fixture
def lotion(hand: Hand) -> Hand:
    """A notebook with a lotion of two emulsifiers and their sheets; invented figures."""
    put(hand.root, "formulas/TW.yaml", LOTION)
    hand.does("ingredient", "new", "--missing")
    return hand


def test_what_the_oil_phase_asks_for_and_the_pair_that_gives_it(lotion: Hand) -> None:
    said = lotion.says("formula", "hlb", "TW")
    lines = said.splitlines()
    assert lines[0].startswith("TW  Trial lotion: HLB") and lines[0].endswith("oil-in-water")
    flat = " ".join(said.split())
    # (12 x 10.5 + 6 x 11.5 + 9) / 19 and (12 x 12 + 6 x 11.5 + 12) / 19; (2 x 15 + 3 x 4.3) / 5.
    assert "asks for 10.7 to 11.8, as far as 99 % of it has a figure" in flat
    assert "the emulsifiers give 8.6, which is lower." in flat
    assert re.search(r"beeswax +1 +% +9 to 12", said)
    assert "tocopherol: no required HLB in the sheet; not counted" in said
    # At 10.74: (10.74 - 4.3) / 10.7 of 5 %, in 50 g.
    assert re.search(r"for 10\.7 +polysorbate-80, HLB 15 +60\.2 +% +3\.01 +% +1\.50 +g", said)
    assert "ocl-journal.org" in said and "questionai.com.tr" in said
    assert "Lists disagree" in said
    assert all(len(one) <= 80 for one in lines)


def test_the_same_as_json(lotion: Hand) -> None:
    data = json.loads(lotion.says("formula", "hlb", "TW", "--need", "10.5", "--json"))
    assert data["need"] == "10.5"
    assert data["required"]["low"] == "10.74" and data["given"]["high"] == "8.58"
    (solved,) = data["solved"]
    assert solved["first"]["ingredient"] == "polysorbate-80"
    assert (solved["first"]["share"], solved["second"]["share"]) == ("57.9", "42.1")


def test_a_named_pair_and_its_share_of_the_formula(lotion: Hand) -> None:
    # The textbook's worked example: 5 g for an HLB of 10.5 are 2.9 g and 2.1 g
    # (pharmacy textbook Eq. 27.2, questionai.com.tr/amp/questions-txTZ4SHqbb0A).
    pair = ("--with", "polysorbate-80", "--and", "sorbitan-oleate")
    said = lotion.does("formula", "hlb", "TW", "--need", "10.5", "--emulsifier", "10", *pair)
    assert re.search(r"polysorbate-80, HLB 15 +57\.9 +% +5\.79 +% +2\.90 +g", said)
    assert re.search(r"sorbitan-oleate, HLB 4\.3 +42\.1 +% +4\.21 +% +2\.10 +g", said)
    typed = lotion.does("formula", "hlb", "TW", "--need", "10,5", "--with", "mine=15", *pair[2:])
    assert "mine, HLB 15" in typed


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("--with", "polysorbate-80", "--and", "polysorbate-20", "--need", "8"), "not reachable"),
        (("--with", "polysorbate-80"), "A pair has two emulsifiers."),
        (("--with", "nosuch", "--and", "polysorbate-80"), "There is no sheet for nosuch."),
        (("--with", "cetearyl-olivate", "--and", "polysorbate-80"), "gives no HLB"),
        (("--with", "lecithin", "--and", "polysorbate-80"), "lecithin is amphoteric"),
        (("--need", "ten"), "ten is no figure for --need."),
        (("--need", "0"), "0 is no figure for --need."),
        (("--need", "180"), "An HLB of 180 is on no list."),
        (("--emulsifier", "100"), "leaves nothing to emulsify"),
    ],
)
def test_a_pair_that_cannot_be(lotion: Hand, words: tuple[str, ...], what: str) -> None:
    said = lotion.does("formula", "hlb", "TW", *words, code=2)
    assert what in " ".join(said.split())
    assert "mend " in said


def test_not_reachable_says_what_is(lotion: Hand) -> None:
    pair = ("--with", "polysorbate-80", "--and", "polysorbate-20")
    said = lotion.does("formula", "hlb", "TW", "--need", "8", *pair, code=2)
    assert "it gives 15.0 to 16.7" in " ".join(said.split())


def test_outside_oil_in_water_there_is_no_number(hand: Hand) -> None:
    said = hand.does("formula", "hlb", "HC")
    body = "\n".join(said.splitlines()[1:])
    assert "HLB does not apply here. This is water-in-oil" in " ".join(body.split())
    assert not re.search(r"\d", body)
    data = json.loads(hand.does("formula", "hlb", "HC", "--json"))
    assert data["why not"] and "required" not in data and data["solved"] == []


def test_too_few_figures_make_no_target(hand: Hand) -> None:
    # The starter lotion has one known oil among several: no verdict is made of it.
    flat = " ".join(hand.does("formula", "hlb", "LO").split())
    assert "isn't known" in flat and "which is" not in flat
    pair = ("--with", "polysorbate-80", "--and", "sorbitan-oleate")
    assert "name one: --need 10.5" in " ".join(hand.does("formula", "hlb", "LO", *pair).split())


def test_it_only_reads(lotion: Hand) -> None:
    before = git_says(lotion.root, "status", "--porcelain")
    lotion.does("formula", "hlb", "TW", "--with", "steareth-20", "--and", "steareth-2")
    assert git_says(lotion.root, "status", "--porcelain") == before


# Weighing -----------------------------------------------------------------------------------------


def test_a_small_line_gets_a_premix_with_its_arithmetic(lotion: Hand) -> None:
    lotion.does("equipment", "add", "coarse", "--kind", "balance", "--readability", "0.1 g")
    said = lotion.does("formula", "scale", "TW", "--size", "100", "--balance", "coarse")
    flat = " ".join(said.split())
    assert "sodium-benzoate: 0.5 g on a balance that shows 0.1 g is good to about 10 %" in flat
    assert "fine from 200 g: then every line can be weighed within 5 %" in flat
    found = re.search(
        r"As a premix: (\S+) g sodium-benzoate in (\S+) g water, which makes (\S+) g at (\S+) %;"
        r" mixed until even, weigh (\S+) g of it, which holds (\S+) g,"
        r" and (\S+) g of water instead of (\S+)\. Good to about 5 %",
        flat,
    )
    assert found, said
    part, carrier, whole, strength, weigh, holds, left, before = map(float, found.groups())
    assert part + carrier == pytest.approx(whole)
    assert 100 * part / whole == pytest.approx(strength, abs=0.01)
    assert weigh * strength / 100 == pytest.approx(holds, rel=0.01)
    assert weigh + left == pytest.approx(before + 0.5)
    assert re.search(r"sodium-benzoate, preservative +0\.5 +% +0\.09", said)  # twice 0.0408


def test_make_warns_with_the_same_premix(lotion: Hand) -> None:
    # The usual balance reads 0.01 g where the notebook has none.
    flat = " ".join(lotion.does("make", "TW", "--size", "15").split())
    assert "sodium-benzoate: 0.08 g on a balance that shows 0.01 g" in flat
    assert "As a premix:" in flat and "g sodium-benzoate in" in flat


def test_strict_asks_for_the_minimum_weight(lotion: Hand) -> None:
    flat = " ".join(lotion.does("formula", "scale", "TW", "--size", "100", "--strict").split())
    assert "strict USP <41>: nothing below 8.2 g on this balance" in flat
    assert "fine from 1640 g: then every line can be weighed by USP <41>" in flat
    assert "A balance that shows 0.0001 g would weigh it as it is." in flat
    data = json.loads(lotion.does("formula", "scale", "TW", "--strict", "--json"))
    assert data["strict"] is True and data["fine from"] == "1640 g"
    benzoate = next(x for x in data["lines"] if x["ingredient"] == "sodium-benzoate")
    assert benzoate["too small"] is True
