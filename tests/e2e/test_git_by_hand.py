"""A person who uses git by hand in a notebook: what git does, and what labbook then says."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.e2e.two_copies import Copy, two_copies
from tests.notebook.repos import assert_sound, git_says, put, run_git
from tests.work.notebooks import PATH, Small


@pytest.fixture
def one(small_made: Small, tmp_path: Path) -> Copy:
    """A copy with a branch: other waxes on `aside`, another glycerin on `main`, both saved."""
    copy = two_copies(small_made.root, tmp_path)[0]
    run_git(copy.root, "checkout", "-q", "-b", "aside")
    copy.edits("beeswax: 2.5", "beeswax: 3.5")
    copy.types("save", "HC")
    run_git(copy.root, "checkout", "-q", "main")
    copy.edits("glycerin, percent: 3}", "glycerin, percent: 4}")
    copy.types("save", "HC")
    return copy


def git(copy: Copy, *words: str, code: int = 0) -> str:
    ran = run_git(copy.root, *words, check=False)
    said = (ran.stdout + ran.stderr).decode()
    assert ran.returncode == code, said
    return said


def holds_both(copy: Copy, number: int) -> None:
    text = copy.text()
    assert "beeswax: 3.5" in text
    assert "glycerin, percent: 4}" in text
    assert f"version: {number}\n" in text
    assert_sound(copy.root)


def test_pull_and_merge(small_made: Small, tmp_path: Path) -> None:
    first, second, _ = two_copies(small_made.root, tmp_path)
    first.edits("beeswax: 2.5", "beeswax: 3.5")
    first.types("save", "HC")
    git(first, "push", "-q", "origin", "main")
    second.edits("glycerin, percent: 3}", "glycerin, percent: 4}")
    second.types("save", "HC")
    git(second, "pull", "-q", "--no-rebase", "--no-edit")
    holds_both(second, 5)
    assert "merge-kept-number" not in second.ran("check").out
    assert "@5" in second.types("log", "HC")
    git(second, "push", "-q", "origin", "main")
    git(first, "pull", "-q", "--ff-only")
    holds_both(first, 5)


def test_a_clean_merge_by_plain_git_is_told(one: Copy) -> None:
    for section in ("merge.labbook", "diff.labbook"):
        git(one, "config", "--remove-section", section)
    one.edits("beeswax: 2.5", "beeswax: 2.4")
    git(one, "commit", "-q", "-am", "a little less, and not numbered")
    git(one, "checkout", "-q", "-b", "more", "HEAD^")
    put(one.root, PATH, one.text().replace("hold: 10 min", "hold: 12 min"))
    git(one, "commit", "-q", "-am", "longer, and not numbered")
    git(one, "merge", "-q", "--no-edit", "main")
    said = one.types("check", "HC", code=1)
    assert "merge-kept-number" in said
    assert "labbook save HC" in said
    one.types("save", "HC")
    assert "error" not in one.types("check", "HC")


def test_a_merge_by_labbook_is_not_told(one: Copy) -> None:
    git(one, "merge", "-q", "--no-edit", "aside")
    holds_both(one, 5)
    assert "merge-kept-number" not in one.types("check", "HC")


def test_merge_with_a_conflict(one: Copy) -> None:
    one.edits("beeswax: 2.5", "beeswax: 1.5")
    one.types("save", "HC")
    assert "CONFLICT" in git(one, "merge", "aside", code=1)
    assert "<<<<<<<" not in one.text()
    assert "merge-conflict" in one.types("check", code=1)
    assert "two machines changed" in one.types("show", "HC", code=3)
    one.mends()
    git(one, "commit", "-q", "-am", "merged")
    assert "error" not in one.types("check", "HC")
    assert "version: 6\n" in one.text()


def test_rebase(one: Copy) -> None:
    git(one, "checkout", "-q", "aside")
    git(one, "rebase", "-q", "main")
    holds_both(one, 5)
    assert "error" not in one.types("check", "HC")


def test_an_entry_in_the_middle_of_a_rebase_waits(one: Copy, small_made: Small) -> None:
    one.edits("beeswax: 2.5", "beeswax: 1.5")
    one.types("save", "HC")
    git(one, "checkout", "-q", "aside")
    git(one, "rebase", "main", code=1)
    said = one.types("note", small_made.open[-2:], "pH 5.0 water phase", code=4)
    assert "git rebase --continue" in said
    assert "5.0" in one.text(small_made.path(small_made.open))
    one.mends()
    git(one, "add", "-u")  # git goes on with a clean tree alone, and so takes the entry along
    git(one, "-c", "core.editor=true", "rebase", "--continue")
    one.types("note", small_made.open[-2:], "smells of wax")
    assert one.text(small_made.path(small_made.open)).count("value: 5.0") == 1
    assert git_says(one.root, "status", "--porcelain") == ""
    assert_sound(one.root)


def test_cherry_pick(one: Copy) -> None:
    git(one, "cherry-pick", "aside")
    holds_both(one, 5)
    assert "error" not in one.types("check", "HC")


def test_revert_brings_number_and_content_back(one: Copy) -> None:
    git(one, "revert", "--no-edit", "HEAD")
    assert "glycerin, percent: 3}" in one.text()
    assert "version: 3\n" in one.text()
    assert "error" not in one.types("check", "HC")


def test_revert_of_an_older_version_is_a_content_of_its_own(one: Copy) -> None:
    older = git_says(one.root, "rev-parse", "HEAD")
    one.edits("beeswax: 2.5", "beeswax: 3.5")
    one.types("save", "HC")
    git(one, "revert", "--no-edit", older)
    assert "glycerin, percent: 3}" in one.text()
    assert "beeswax: 3.5" in one.text()
    assert "version: 6\n" in one.text()
    assert "error" not in one.types("check", "HC")


def test_stash(one: Copy) -> None:
    one.edits("beeswax: 2.5", "beeswax: 3.5")
    git(one, "stash", "-q")
    assert "beeswax: 2.5" in one.text()
    git(one, "checkout", "-q", "HEAD^")
    git(one, "stash", "pop", "-q")
    assert "beeswax: 3.5" in one.text()
    git(one, "checkout", "-q", "--", PATH)
    git(one, "checkout", "-q", "main")
    one.edits("beeswax: 2.5", "beeswax: 1.5")
    git(one, "stash", "-q")
    one.edits("glycerin, percent: 4}", "glycerin, percent: 5}")
    one.types("save", "HC")
    git(one, "stash", "pop", "-q")
    assert "beeswax: 1.5" in one.text()
    assert "glycerin, percent: 5}" in one.text()
    assert "version: 6\n" in one.text()
    one.types("save", "HC")
    assert "error" not in one.types("check", "HC")
    assert "version: 6\n" in one.text()


def test_bisect(one: Copy) -> None:
    first = git_says(one.root, "rev-list", "--max-parents=0", "HEAD")
    git(one, "bisect", "start", "HEAD", first)
    assert one.ran("check").code in (0, 1)
    said = one.types("formula", "new", "ZZ", "--type", "gel", code=4)
    assert "git bisect reset" in said
    git(one, "bisect", "reset")
    assert "ZZ" in one.types("formula", "list")  # what was typed stays in its file
    assert "error" not in one.types("check", "HC")
    one.types("save", "ZZ")
    assert git_says(one.root, "status", "--porcelain") == ""


def test_worktree(one: Copy, small_made: Small, tmp_path: Path) -> None:
    git(one, "worktree", "add", "-q", str(tmp_path / "tree"), "aside")
    tree = Copy(tmp_path / "tree")
    tree.edits("beeswax: 3.5", "beeswax: 3.6")
    assert git_says(tree.root, "diff").startswith(PATH)
    tree.types("save", "HC")
    tree.types("note", small_made.open[-2:], "pH 5.0 water phase")
    one.types("note", small_made.open[-2:], "smells of wax")
    git(one, "merge", "-q", "--no-edit", "aside")
    text = one.text(small_made.path(small_made.open))
    assert "5.0" in text
    assert "smells of wax" in text
    assert "beeswax: 3.6" in one.text()
    assert "version: 6\n" in one.text()
    assert "error" not in one.types("check", "HC")
    assert_sound(one.root)


def test_criss_cross(one: Copy) -> None:
    """Two branches that have merged each other's older commits: git merges their bases first."""
    git(one, "branch", "left", "main")
    git(one, "branch", "right", "aside")
    for branch, other in (("left", "aside"), ("right", "main")):
        git(one, "checkout", "-q", branch)
        git(one, "merge", "-q", "--no-edit", other)
    one.edits("hold: 10 min", "hold: 12 min")
    one.types("save", "HC")
    git(one, "merge", "-q", "--no-edit", "left")
    holds_both(one, 6)
    assert "hold: 12 min" in one.text()


def test_criss_cross_over_a_conflict(one: Copy) -> None:
    one.edits("beeswax: 2.5", "beeswax: 1.5")
    one.types("save", "HC")
    git(one, "branch", "left", "main")
    git(one, "branch", "right", "aside")
    for branch, other in (("left", "aside"), ("right", "main")):
        git(one, "checkout", "-q", branch)
        git(one, "merge", "-q", other, code=1)
        one.mends()
        git(one, "commit", "-q", "-am", "merged")
    one.edits("hold: 10 min", "hold: 12 min")
    one.types("save", "HC")
    git(one, "merge", "-q", "--no-edit", "left")
    assert "hold: 12 min" in one.text()
    assert "conflict" not in one.text()
    assert "beeswax: 1.5" in one.text()
