"""Weights from a premix are judged by what they hold, and what else it brings is no slip."""

from __future__ import annotations

from pathlib import Path

import pytest

from labbook.model.errors import NotAllowed
from labbook.work.bench import Bench
from labbook.work.weigh import weigh
from tests.work.notebooks import Small, small_notebook
from tests.work.premixes import with_premix


@pytest.fixture
def small(tmp_path: Path) -> Small:
    return with_premix(small_notebook(tmp_path / "nb"))


def premix_of(small: Small) -> str:
    return next(b.id for b in Bench(small.root).snapshot.batches.values() if b.lines[1:2] and
                b.formula.code == "SBW")  # fmt: skip


def test_five_times_the_target_of_a_fifth_is_what_is_wanted(small: Small) -> None:
    """0.50 g wanted, 2.50 g at 20 %: neither asked about nor too much."""
    premix = premix_of(small)
    bench = Bench(small.root)
    told = weigh(bench, small.open, ["sodium-benzoate=2.50"], from_batch=premix)
    assert told.slips == ()
    shown = next(line for line in told.lines if line.ingredient == "sodium-benzoate")
    assert (shown.weighed, shown.over) == ("2.50", f"from {premix[-2:]}")
    last = Bench(small.root).snapshot.batches[small.open].weighings[-1]
    assert (str(last.mass), last.batch, last.lot) == ("2.50 g", premix, None)


def test_without_the_premix_the_same_weight_is_asked_about(small: Small) -> None:
    with pytest.raises(NotAllowed, match="is wanted"):
        weigh(Bench(small.root), small.open, ["sodium-benzoate=2.50"])


def test_ten_times_off_is_asked_about_of_a_premix_too(small: Small) -> None:
    with pytest.raises(NotAllowed, match="is wanted"):
        weigh(Bench(small.root), small.open, ["sodium-benzoate=25"], from_batch=premix_of(small))


def test_as_target_takes_what_holds_the_target(small: Small) -> None:
    weigh(Bench(small.root), small.open, ["sodium-benzoate=*"], from_batch=premix_of(small))
    last = Bench(small.root).snapshot.batches[small.open].weighings[-1]
    assert (str(last.mass), last.as_target) == ("2.50 g", True)
