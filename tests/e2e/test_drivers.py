"""What git shows and merges, by hand: with labbook, and where labbook is gone or fails."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from tests.e2e.bench import Hand
from tests.notebook.repos import commit, git_says, put, run_git
from tests.work.driver_places import gone, instead, program_in
from tests.work.harm import swap
from tests.work.notebooks import PATH

POSIX = pytest.mark.skipif(os.name == "nt", reason="a stand-in for the program is a shell script")


def edit(root: Path, path: str, old: str, new: str) -> None:
    text = (root / path).read_text(encoding="utf-8")
    put(root, path, swap(old, new)(text))


def without_index(text: str) -> list[str]:
    return [line for line in text.splitlines() if not line.startswith("index ")]


# With labbook ------------------------------------------------------------------------------------


def test_git_diff_speaks_of_the_formula(hand: Hand) -> None:
    edit(hand.root, PATH, "beeswax: 2.5", "beeswax: 3.5")
    said = git_says(hand.root, "diff")
    assert said.startswith(PATH)
    assert "changed     beeswax" in said
    assert "follows     water, q.s." in said
    assert "@@" not in said


def test_git_diff_speaks_of_entries(hand: Hand) -> None:
    path = hand.small.path(hand.small.open)
    edit(hand.root, path, "state: open", "state: open   # for now\naim: softer")
    said = git_says(hand.root, "diff")
    assert "added       aim: softer" in said


def test_git_diff_of_a_file_that_cannot_be_read_is_gits_own(hand: Hand) -> None:
    edit(hand.root, PATH, "beeswax: 2.5", "beeswax: [2.5")
    said = git_says(hand.root, "diff")
    plain = git_says(hand.root, "diff", "--no-ext-diff", "--no-textconv")
    assert "+      beeswax: [2.5" in said
    assert said.splitlines() == without_index(plain)


def test_git_log_show_and_blame_have_a_line_for_each_ingredient(hand: Hand) -> None:
    edit(hand.root, PATH, "beeswax: 2.5", "beeswax: 3.5")
    commit(hand.root, "firmer")
    for words in (("log", "-p", "-1"), ("show",)):
        said = git_says(hand.root, *words)
        assert "-phase A, beeswax  2.5 %" in said
        assert "+phase A, beeswax  3.5 %" in said
    blame = git_says(hand.root, "blame", "-s", PATH).splitlines()
    assert sum("phase A, beeswax  3.5 %" in line for line in blame) == 1
    assert sum("water  q.s." in line for line in blame) == 1


def test_both_forms_of_a_line_are_the_same_to_git(hand: Hand) -> None:
    edit(
        hand.root, PATH, "- {ingredient: water, percent: qs}", "- {percent: qs, ingredient: water}"
    )
    commit(hand.root, "the other way round")
    said = git_says(hand.root, "show", "--format=")
    assert "@@" not in said


def test_init_sets_up_a_clone(hand: Hand, tmp_path: Path) -> None:
    run_git(tmp_path, "clone", "-q", str(hand.root), "copy")
    clone = tmp_path / "copy"
    edit(clone, PATH, "beeswax: 2.5", "beeswax: 3.5")
    assert "@@" in git_says(clone, "diff")  # named, but not set up: git's own
    hand.does("init", clone)
    assert git_says(clone, "diff").startswith(PATH)
    assert git_says(clone, "log", "-1", "--format=%H") == git_says(hand.root, "rev-parse", "HEAD")


def test_init_names_the_drivers_in_an_older_notebook(hand: Hand) -> None:
    text = (hand.root / ".gitattributes").read_text(encoding="utf-8")
    older = "".join(line for line in text.splitlines(keepends=True) if "labbook" not in line)
    put(hand.root, ".gitattributes", "# mine\n" + older)
    commit(hand.root, "older")
    hand.does("init", ".")
    assert (hand.root / ".gitattributes").read_text(encoding="utf-8") == "# mine\n" + text
    assert git_says(hand.root, "status", "--porcelain") == ""
    before = git_says(hand.root, "rev-parse", "HEAD")
    hand.does("init", ".")
    assert git_says(hand.root, "rev-parse", "HEAD") == before


@POSIX
@pytest.mark.parametrize("odd", ["it's 100% mine", 'say "so"', "$HOME here"])
def test_a_program_in_a_folder_with_an_odd_name(hand: Hand, tmp_path: Path, odd: str) -> None:
    there = program_in(tmp_path / odd)
    gone(hand.root, there)
    edit(hand.root, PATH, "beeswax: 2.5", "beeswax: 3.5")
    assert git_says(hand.root, "diff").startswith(PATH)
    run_git(hand.root, "commit", "-qam", "firmer")
    assert "+phase A, beeswax  3.5 %" in git_says(hand.root, "show")
    run_git(hand.root, "checkout", "-q", "-b", "other", "HEAD^")
    edit(hand.root, PATH, "glycerin, percent: 3}", "glycerin, percent: 4}")
    run_git(hand.root, "commit", "-qam", "more glycerin")
    assert run_git(hand.root, "merge", "-q", "main", check=False).returncode == 0
    assert "version: 4\n" in (hand.root / PATH).read_text(encoding="utf-8")


# Without labbook ---------------------------------------------------------------------------------

SCRIPTS = {
    "fails": "#!/bin/sh\necho half >&2; exit 70",
    "can't start": "#!/bin/sh\nexit 1",
    "its Python is gone": "#!/nowhere/python",
    "is killed": "#!/bin/sh\nkill -9 $$",
}
WAYS = ("gone", *SCRIPTS)


def without(root: Path, folder: Path, way: str) -> None:
    """Takes the program away from a clone in one of these ways."""
    if way == "gone":
        gone(root, folder / "nowhere" / "labbook")
    else:
        instead(root, folder, SCRIPTS[way])


@POSIX
@pytest.mark.parametrize("way", WAYS)
def test_git_goes_on_as_plain_git(hand: Hand, tmp_path: Path, way: str) -> None:
    root = hand.root
    plain = tmp_path / "plain"
    shutil.copytree(root, plain)
    for key in ("merge.labbook", "diff.labbook"):
        run_git(plain, "config", "--remove-section", key)
    without(root, tmp_path, way)
    for each in (root, plain):
        edit(each, PATH, "beeswax: 2.5", "beeswax: 3.5")
        put(each, "formulas/NEW.yaml", "code: NEW\n")
        (each / "formulas/LO.yaml").unlink()
        run_git(each, "add", "-N", "formulas/NEW.yaml")
    assert without_index(git_says(root, "diff")) == without_index(git_says(plain, "diff"))
    for each in (root, plain):
        run_git(each, "add", "-A")
        run_git(each, "commit", "-q", "-m", "by hand", "--date=@0 +0000")
    for words in (("log", "-p", "-1", "--format=%s"), ("show", "--format=%s")):
        assert git_says(root, *words) == git_says(plain, *words)
    broken, bare = (
        [line.partition(")")[2] for line in git_says(each, "blame", "-s", PATH).splitlines()]
        for each in (root, plain)
    )
    assert broken == bare


@POSIX
@pytest.mark.parametrize(
    ("way", "clash"), [("gone", False), *((way, True) for way in WAYS), ("fails", False)]
)
def test_git_merges_as_plain_git(hand: Hand, tmp_path: Path, way: str, *, clash: bool) -> None:
    root = hand.root
    without(root, tmp_path, way)
    run_git(root, "checkout", "-q", "-b", "other")
    edit(root, PATH, "beeswax: 2.5", "beeswax: 3.5")
    run_git(root, "commit", "-qam", "firmer")
    run_git(root, "checkout", "-q", "main")
    old, new = ("beeswax: 2.5", "beeswax: 1.5") if clash else ("notes: |\n", "notes: |\n  New.\n")
    edit(root, PATH, old, new)
    run_git(root, "commit", "-qam", "other")
    ran = run_git(root, "merge", "other", check=False)
    text = (root / PATH).read_text(encoding="utf-8")
    assert ran.returncode == (1 if clash else 0), ran
    assert "beeswax: 3.5" in text
    assert ("<<<<<<<" in text) == clash
    assert ("beeswax: 1.5" in text) == clash
    assert bool(git_says(root, "ls-files", "-u")) == clash
