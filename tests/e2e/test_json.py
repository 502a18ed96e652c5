"""Every reading command can answer in JSON, which parses and holds what the screen holds."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.e2e.bench import Hand

READING = {
    "a formula": ("show", "HC"),
    "a version": ("show", "HC@1"),
    "a batch": ("show", "{first}"),
    "an ingredient": ("show", "beeswax"),
    "a pack": ("show", "beeswax-0815"),
    "a tool": ("show", "bench"),
    "formulas": ("formula", "list"),
    "a formula, long": ("formula", "show", "HC"),
    "scaled": ("formula", "scale", "HC"),
    "batches": ("batch", "list"),
    "a batch, long": ("batch", "show", "{first}"),
    "versions": ("log", "HC"),
    "two versions": ("diff", "HC", "1", "2"),
    "two batches": ("diff", "{first}", "{second}"),
    "today against the version": ("diff", "HC"),
    "findings": ("check",),
    "ingredients": ("ingredient", "list"),
    "an ingredient, long": ("ingredient", "show", "beeswax"),
    "packs": ("ingredient", "lot", "list"),
    "equipment": ("equipment", "list"),
    "due": ("due",),
    "outcomes": ("outcomes", "HC"),
    "outcomes by lot": ("outcomes", "HC", "--by", "lot"),
    "a trend": ("stability", "trend", "HC"),
}


@pytest.mark.parametrize("name", READING)
def test_it_parses(hand: Hand, name: str) -> None:
    if name in ("a tool", "equipment"):
        hand.does("equipment", "add", "bench", "--kind", "balance", "--readability", "0.01g")
    ids = {"first": hand.small.first, "second": hand.small.second}
    said = hand.does(*(word.format(**ids) for word in READING[name]), "--json")
    found: Any = json.loads(said)
    assert found
    assert "then        labbook" not in said


def test_digits_stay_as_typed(hand: Hand) -> None:
    shown = json.loads(hand.does("show", hand.small.first, "--json"))
    masses = [w["mass"] for w in shown["batch"]["weighings"]]
    assert "4.50 g" in masses
    assert all(isinstance(mass, str) for mass in masses)
    assert shown["batch"]["id"] == hand.small.first


def test_it_speaks_json_to_a_console_without_utf8(hand: Hand) -> None:
    env = {"PYTHONIOENCODING": "ascii"}
    said = hand.says("show", "HC", "--json", env=env)
    assert json.loads(said)["formula"]["code"] == "HC"
