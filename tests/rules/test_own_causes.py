"""A notebook's own rules about causes: one changed, one added, one switched off."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from labbook.model.rulebook import rulebook_of
from labbook.model.rules import Rules
from labbook.notebook.rulebook import read_rulebook
from labbook.notebook.snapshot import read_bytes
from tests.rules.pairs import asked, book, made, speaks

OWN = """\
causes:
  - name: less-salt-in-water-in-oil
    factor: amount
    of: {functions: [electrolyte]}
    emulsions: [water-in-oil]
    groups: [separation]
    direction: more helps
    strength: known
    matters from: 0.1
    full: 0.4
    unit: points
    mechanism: "Seen in three batches of this studio."
    says: "less salt, as here so often"
    source: "our own batches"
  - name: the-window-side-of-the-shelf
    factor: place
    groups: [separation]
    direction: depends
    strength: plausible
    mechanism: "The sun comes round the kiln at four."
    says: "the window side of the shelf"
    source: "our own batches"
  - name: little-emulsifier-in-water-in-oil
    factor: amount
    direction: more helps
    strength: known
    mechanism: "Off here."
    says: "off"
    source: "our own batches"
    severity: "off"
"""


def test_a_notebook_changes_a_rule_adds_one_and_switches_one_off(tmp_path: Path) -> None:
    mine = read_bytes("rules/mine.yaml", OWN.encode())
    assert [str(one) for one in mine.problems] == []
    assert isinstance(mine.record, Rules)
    held = read_rulebook(tmp_path, {"mine": mine.record})
    assert len(held.causes) == len(book().causes) + 1
    salt = held.causes["less-salt-in-water-in-oil"]
    assert (salt.strength, salt.says) == ("known", "less salt, as here so often")
    added = "the-window-side-of-the-shelf"
    assert {salt.name, added, "little-emulsifier-in-water-in-oil"} == held.own

    program = book().causes[salt.name]
    low, high = made(program, "0.40"), made(program, "0.80")
    few = {"emulsion": "water-in-oil", "group": "separation"}
    before = asked(low, high, book().causes.values(), **few)
    after = asked(low, high, held.causes.values(), **few)
    assert [f.prior for f in before.factors] == [pytest.approx(0.25)]
    assert [f.prior for f in after.factors] == [pytest.approx(0.50)]

    off = book().causes["little-emulsifier-in-water-in-oil"]
    low, high = made(off, "3.60"), made(off, "4.50")
    known = [asked(low, high, one.causes.values(), **few) for one in (book(), held)]
    assert [f.rule.name for f in known[0].factors if f.rule] == [off.name]
    assert off.name not in [f.rule.name for f in known[1].factors if f.rule]

    sun = held.causes[added]
    found = asked(made(sun, "sill"), made(sun, "shelf"), held.causes.values(), **few)
    assert [f.rule.name for f in found.factors if f.rule] == [added]


def test_a_rule_switched_off_is_kept_and_never_speaks() -> None:
    rule = replace(book().causes["less-salt-in-water-in-oil"], severity="off")
    held = rulebook_of([Rules(causes=(rule,))])
    assert held.causes[rule.name] == rule
    pair = (made(rule, "0.40"), made(rule, "0.80"))
    assert not speaks(asked(*pair, [rule], emulsion="water-in-oil", group="separation"))
