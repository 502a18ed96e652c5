"""What undoing, correcting and putting back make of harm that was done to a closed batch."""

from __future__ import annotations

import pytest

from labbook.work.bench import Bench
from labbook.work.correct import as_it_was_closed, correct, drop
from labbook.work.save import undo
from tests.notebook.repos import git_says
from tests.work.corruptions import ALL, MAKINGS
from tests.work.harm import Harm, commit_by_hand
from tests.work.notebooks import Maker, Small, findings

BY_NAME = {harm.name: harm for harm in ALL}


def test_undo_washes_nothing(small: Small, maker: Maker) -> None:
    BY_NAME["weighed mass"].do(small, small.root)
    commit = commit_by_hand(small.root, "tidied up")
    correct(maker.bench, small.first, "r1.value=5.2", "read again")
    assert findings(small) == ()  # the correction put the first figure back
    undo(maker.bench)
    (problem,) = findings(small)
    assert problem.rule == "closed-batch-changed"
    assert problem.commit == commit


def test_an_undo_written_by_hand_is_none(small: Small) -> None:
    closing = git_says(small.root, "log", "--format=%H", "-1", "--grep=^Close", "--", "batches")
    BY_NAME["opened again"].do(small, small.root)
    commit = commit_by_hand(small.root, f"Undo\n\nUndoes: {closing}")
    assert {p.commit for p in findings(small)} == {commit}


@pytest.mark.parametrize(
    "harm", [h for h in MAKINGS if h.which == "first" and h.change], ids=lambda harm: harm.name
)
def test_as_closed_puts_all_of_it_back(small: Small, maker: Maker, harm: Harm) -> None:
    before = Bench(small.root).batch(small.first)
    harm.do(small, small.root)
    commit_by_hand(small.root, "tidied up")
    as_it_was_closed(maker.bench, small.first)
    assert findings(small) == ()
    assert Bench(small.root).batch(small.first) == before


def test_putting_back_keeps_later_corrections_and_a_drop(small: Small, maker: Maker) -> None:
    BY_NAME["correction changed"].do(small, small.root)
    commit_by_hand(small.root, "tidied up")
    BY_NAME["value of a reading"].do(small, small.root)
    drop(maker.bench, small.first, "the jar broke")
    as_it_was_closed(maker.bench, small.first)
    assert findings(small) == ()
    batch = Bench(small.root).batch(small.first)
    assert batch.dropped
    assert [c.now for c in batch.corrections] == ["14.20 g"]
