"""The calibration itself: tables on a few notebooks, its worlds, and one without a catch."""

from __future__ import annotations

from random import Random

import pytest

from labbook.evidence.causes import Row, Suspect, reckon, word
from tests.benchmarks.calibration import WORDS, Claim, looked_back, main, refuted
from tests.benchmarks.worlds import WORLDS, World, question


def test_all_tables_are_printed(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--notebooks", "50"])
    printed = capsys.readouterr().out
    for world in WORLDS:
        assert printed.count(world.name) >= 4
    assert all(said in printed for said in WORDS)
    assert "as proposed" in printed


def test_the_same_seed_draws_the_same_notebooks() -> None:
    assert looked_back(WORLDS[0], 5) == looked_back(WORLDS[0], 5)
    assert looked_back(WORLDS[0], 5) != looked_back(WORLDS[0], 5, seed=1)


def test_a_word_is_refuted_by_shares_below_it() -> None:
    assert refuted("very likely", [True] * 80 + [False] * 20)
    assert not refuted("very likely", [True] * 90 + [False] * 10)
    assert not refuted("very likely", [False])
    assert refuted("nearly cleared", [True] * 20 + [False] * 80)
    assert not refuted("unlikely", [])
    assert not refuted("nearly cleared", [False] * 5000 + [True] * 340)
    assert refuted("nearly cleared", [False] * 5000 + [True] * 420)


def test_suspects_are_what_the_failed_and_the_good_batch_differ_in() -> None:
    for n in range(50):
        asked = question(World(name="any", missing_good=0.3), Random(n))
        for i in asked.attributes:
            assert asked.failed.values[i] != asked.good.values[i]
        assert {r.failed for r in asked.rows} == {True, False}


def test_chances_hold_where_the_world_is_the_one_assumed() -> None:
    """Drawn from the reckoning's own assumptions, nine in ten is nine in ten."""
    chance = Random(3)
    found: list[Claim] = []
    priors = (0.5, 0.25, 0.25, 0.05)
    for _ in range(2000):
        base = chance.betavariate(1, 1 if chance.random() < 0.2 else 9)
        rate = chance.betavariate(*chance.choice(((9, 1), (2, 2))))
        true = [chance.random() < p for p in priors]
        rows = []
        for n in range(chance.randint(2, 15)):
            sides = tuple(chance.random() < 0.4 for _ in priors)
            acts = any(t and s for t, s in zip(true, sides, strict=True))
            rows.append(Row(str(n), chance.random() < (rate if acts else base), sides))
        who = [Suspect(str(i), p) for i, p in enumerate(priors)]
        for p, t in zip(reckon(who, rows).marginals, true, strict=True):
            found.append(Claim(p, word(p), t, t, False))
    for said in WORDS:
        called = [c for c in found if c.said == said]
        expected = sum(c.chance for c in called)
        spread = sum(c.chance * (1 - c.chance) for c in called) ** 0.5
        assert len(called) > 50
        assert abs(sum(c.true for c in called) - expected) < 4 * spread
