"""Two machines through real git: random edits, exchanged with `sync`; both end alike.

The same edits as in `tests/notebook/two_machines`, which tries many more without git.
"""

from __future__ import annotations

import re
from pathlib import Path
from random import Random

import pytest

from tests.e2e.two_copies import Copy, two_copies
from tests.notebook.repos import assert_sound, commit, git_says, put
from tests.notebook.two_machines import EDITS, START, Edit, check_nothing_is_lost
from tests.notebook.two_machines import Run as Seen

SEEDS = range(4)
STEPS = 9


@pytest.fixture(scope="module")
def began(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("began") / "nb"
    Copy(root.parent).types("init", root)
    for path, text in START.items():
        put(root, path, text)
    commit(root, "the first day")
    return root


def exchange(copy: Copy, seen: Seen) -> None:
    """Types `sync` until it is through; a conflict is put right, always in one way."""
    if copy.ran("sync").code == 0:
        return
    for path in git_says(copy.root, "diff", "--name-only", "--diff-filter=U").splitlines():
        other = copy.text(path).partition("# Two machines changed")[2]
        seen.given_up |= {edit.mark for edit in seen.marks if edit.mark and edit.mark in other}
        copy.mends(path)
    copy.types("sync")


@pytest.mark.parametrize("seed", SEEDS)
def test_both_end_alike(began: Path, tmp_path: Path, seed: int) -> None:
    random = Random(seed)
    first, second, store = two_copies(began, tmp_path)
    seen = Seen(random)
    last: list[tuple[int, int]] = []
    for step in range(STEPS):
        copy = random.choice((first, second))
        if random.random() < 0.15:
            exchange(copy, seen)
            continue
        # Every third edit is the like of the one before, on whichever machine.
        make, which = last[-1] if last and step % 3 == 0 else (
            random.randrange(len(EDITS)), random.randrange(20)
        )  # fmt: skip
        last.append((make, which))
        made: Edit = EDITS[make](random, f"m{seed}x{step}e", which)
        before = copy.text(made.path)
        put(copy.root, made.path, made.apply(before))
        if copy.text(made.path) != before:
            commit(copy.root, made.kind)
        seen.marks.append(made)
    for copy in (first, second, first):
        exchange(copy, seen)
    trees = {
        git_says(root, "rev-parse", "main^{tree}") for root in (first.root, second.root, store)
    }
    assert len(trees) == 1
    check_nothing_is_lost(seen, {path: first.text(path) for path in START})
    for root in (first.root, second.root):
        assert git_says(root, "status", "--porcelain") == ""
        assert_sound(root)
    said = first.ran("check").out
    assert not re.search(r"rule +(merge-conflict|entry-changed|entries-taken-away)", said), said
