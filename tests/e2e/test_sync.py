"""`sync`: two copies of one notebook, exchanged through a third place."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from labbook.notebook import gitremote
from labbook.work.bench import Bench
from tests.e2e.bench import Hand
from tests.e2e.two_copies import Copy, two_copies
from tests.notebook.repos import assert_sound, commit, git_says, hook, put, run_git, subjects
from tests.work.notebooks import PATH, Small

POSIX = pytest.mark.skipif(os.name == "nt", reason="hooks and programs are shell scripts")


@pytest.fixture
def copies(small_made: Small, tmp_path: Path) -> tuple[Copy, Copy, Path]:
    return two_copies(small_made.root, tmp_path)


def alike(one: Copy, two: Copy) -> bool:
    trees = [git_says(each.root, "rev-parse", "HEAD^{tree}") for each in (one, two)]
    return trees[0] == trees[1]


def looks(copy: Copy, batch: str) -> list[tuple[str, str]]:
    bench = Bench(copy.root)
    return [(o.id, o.jar) for o in bench.snapshot.stability[bench.batch_id(batch)].looks]


def test_without_another_copy_it_says_what_it_is_for(hand: Hand) -> None:
    said = hand.does("sync")
    assert "exchanges entries" in said
    assert "no such copy yet" in said
    assert git_says(hand.root, "remote") == ""


def test_entries_of_both_come_together(copies: tuple[Copy, Copy, Path], small_made: Small) -> None:
    first, second, _ = copies
    batch = small_made.first[-2:]
    before = len(looks(first, batch))
    first.types("look", f"{batch}.1", "0")
    second.types("look", f"{batch}.2", "1")
    first.types("note", small_made.open[-2:], "pH 5.0 water phase")
    assert "2 commits" in first.types("sync")
    said = second.types("sync")
    assert "1 look" in said
    assert "1 reading" in said
    assert "now; both sides had used" in said
    first.types("sync")
    assert alike(first, second)
    found = looks(first, batch)
    assert len(found) == before + 2
    assert len({ident for ident, _ in found}) == len(found)
    assert sorted(jar for _, jar in found[-2:]) == ["1", "2"]
    for each in (first, second):
        assert_sound(each.root)
        assert "entry-changed" not in each.ran("check").out
        assert "nothing; the other copy has all of it" in each.types("sync")


def test_a_merged_formula_is_numbered(copies: tuple[Copy, Copy, Path]) -> None:
    first, second, _ = copies
    first.edits("beeswax: 2.5", "beeswax: 3.5")
    first.types("save", "HC")
    second.edits("glycerin, percent: 3}", "glycerin, percent: 4}")
    second.types("save", "HC")
    first.types("sync")
    said = second.types("sync")
    assert "the merged content is version 5" in said
    assert "HC@4 stands for 2 contents" in said
    first.types("sync")
    assert alike(first, second)
    text = first.text()
    assert "version: 5\n" in text
    assert "beeswax: 3.5" in text
    assert "glycerin, percent: 4}" in text
    assert "@5" in first.types("log", "HC")
    assert "stands for" not in first.types("sync")  # said once


def test_a_conflict_stops_it_until_it_is_put_right(copies: tuple[Copy, Copy, Path]) -> None:
    first, second, store = copies
    first.edits("beeswax: 2.5", "beeswax: 3.5")
    second.edits("beeswax: 2.5", "beeswax: 1.5")
    for each in (first, second):
        each.types("save", "HC")
    first.types("sync")
    sent = git_says(store, "rev-parse", "main")
    said = second.types("sync", code=4)
    assert PATH in said
    assert "phases, A, lines, beeswax" in said
    assert "labbook sync" in said
    assert "git merge --abort" in said
    assert "merge-conflict" in second.types("check", code=1)
    assert "two machines changed" in second.types("make", "HC", code=3)
    assert "beeswax" in second.types("sync", code=4)  # not put right yet
    assert git_says(store, "rev-parse", "main") == sent
    second.mends()
    assert "Exchanged" in second.types("sync")
    first.types("sync")
    assert alike(first, second)
    assert "beeswax: 1.5" in first.text()
    assert "version: 5\n" in first.text()
    assert "merge-conflict" not in first.ran("check").out


def test_git_commit_ends_a_merge_as_well(copies: tuple[Copy, Copy, Path]) -> None:
    first, second, _ = copies
    for each, amount in ((first, "3.5"), (second, "1.5")):
        each.edits("beeswax: 2.5", f"beeswax: {amount}")
        each.types("save", "HC")
    first.types("sync")
    second.types("sync", code=4)
    second.mends()
    run_git(second.root, "add", PATH)
    run_git(second.root, "commit", "-q", "--no-edit")
    second.types("sync")
    first.types("sync")
    assert alike(first, second)


def test_taken_away_here_and_changed_there(copies: tuple[Copy, Copy, Path]) -> None:
    first, second, _ = copies
    put(first.root, "formulas/LO.yaml", first.text("formulas/LO.yaml") + "# more\n")
    commit(first.root, "by hand")
    run_git(second.root, "rm", "-q", "formulas/LO.yaml")
    run_git(second.root, "commit", "-q", "-m", "away")
    first.types("sync")
    assert "taken away in one copy" in second.types("sync", code=4)
    assert "git rm" in second.types("sync", code=4)
    run_git(second.root, "add", "formulas/LO.yaml")
    second.types("sync")
    first.types("sync")
    assert alike(first, second)


def test_two_batches_of_one_ending_are_told(copies: tuple[Copy, Copy, Path]) -> None:
    first, second, _ = copies
    for each, day in ((first, "2026-03-20"), (second, "2026-03-21")):
        bench = Bench(each.root)
        full = f"HC-{day[2:].replace('-', '')}-Z9"
        old = bench.snapshot.of_batch(next(iter(bench.snapshot.batches)))
        assert old is not None
        text = (each.root / old.path).read_text(encoding="utf-8")
        ident = old.path.split("/")[2]
        put(each.root, f"batches/2026/{full}/batch.yaml", text.replace(ident, full))
        commit(each.root, full)
    first.types("sync")
    said = second.types("sync")
    assert "Z9 is the ending of HC-260320-Z9 and HC-260321-Z9" in said


def test_uncommitted_edits_stand_in_the_way_only_where_they_meet(
    copies: tuple[Copy, Copy, Path],
) -> None:
    first, second, _ = copies
    first.edits("beeswax: 2.5", "beeswax: 3.5")
    first.types("save", "HC")
    first.types("sync")
    put(second.root, "notes.txt", "mine")
    second.edits("glycerin, percent: 3}", "glycerin, percent: 4}")
    before = second.text()
    refused = second.types("sync", code=4)
    assert PATH in refused
    assert "labbook save" in refused
    assert second.text() == before
    assert git_says(second.root, "stash", "list") == ""
    second.types("save", "HC")
    second.types("sync")
    assert "beeswax: 3.5" in second.text()
    assert (second.root / "notes.txt").read_text() == "mine"


def test_an_entry_that_a_hook_refused_is_committed_first(
    copies: tuple[Copy, Copy, Path], small_made: Small
) -> None:
    first, second, _ = copies
    hook(first.root, "pre-commit", "exit 1")
    first.types("note", small_made.open[-2:], "pH 5.0 water phase", code=4)
    (first.root / ".git" / "hooks" / "pre-commit").unlink()
    first.types("sync")
    second.types("sync")
    assert "pH 5.0" in second.text(small_made.path(small_made.open)) or alike(first, second)
    assert any("pH 5.0" in subject for subject in subjects(second.root))


@POSIX
def test_something_newer_in_the_meantime_is_fetched_again(
    copies: tuple[Copy, Copy, Path], small_made: Small
) -> None:
    first, second, _ = copies
    first.types("note", small_made.open[-2:], "pH 5.0 water phase")
    second.types("look", f"{small_made.first[-2:]}.1", "0")
    turns: list[Path] = []

    def late(root: Path, other: gitremote.Other, **given: Any) -> bool:
        turns.append(root)
        if len(turns) == 1:
            first.types("sync")  # between the other's fetch and its push
        return push(root, other, **given)

    push = gitremote.push
    with mock.patch.object(gitremote, "push", late):
        second.types("sync")
    assert turns == [second.root, first.root, second.root]
    first.types("sync")
    assert alike(first, second)


@POSIX
def test_a_copy_that_declines(copies: tuple[Copy, Copy, Path], small_made: Small) -> None:
    first, _, store = copies
    script = store / "hooks" / "pre-receive"
    script.write_text("#!/bin/sh\necho 'not on Sundays' >&2\nexit 1\n")
    script.chmod(0o755)
    first.types("note", small_made.open[-2:], "pH 5.0 water phase")
    said = first.types("sync", code=4)
    assert "did not take" in said
    assert "not on Sundays" in said


def test_a_copy_that_is_not_there(copies: tuple[Copy, Copy, Path], tmp_path: Path) -> None:
    first, _, store = copies
    store.rename(tmp_path / "moved.git")
    said = first.types("sync", code=4)
    assert "can't be read" in said
    assert "git remote -v" in said


@pytest.mark.parametrize(
    "url", ["ext::sh -c 'touch RAN'", "--upload-pack=touch RAN", "-oProxyCommand=touch RAN"]
)
def test_an_address_never_starts_a_program(hand: Hand, url: str) -> None:
    run_git(hand.root, "config", "remote.origin.url", url)
    hand.does("sync", code=4)
    assert not list(hand.root.rglob("RAN"))
    assert not (Path.cwd() / "RAN").exists()


@pytest.mark.parametrize("name", ["-x", "--upload-pack=x", "a b", "x..y"])
def test_names_that_look_like_options_are_refused(hand: Hand, name: str, tmp_path: Path) -> None:
    run_git(hand.root, "config", f"remote.{name}.url", str(tmp_path))
    run_git(hand.root, "config", f"remote.{name}.fetch", "+refs/heads/*:refs/remotes/x/*")
    said = " ".join(hand.does("sync", code=2).split())
    assert "could take for something else" in said or "no other copy" in said
    assert "no other copy called" in hand.does("sync", "nowhere", code=2)


def test_modules_inside_are_not_fetched(copies: tuple[Copy, Copy, Path], tmp_path: Path) -> None:
    first, second, _ = copies
    put(first.root, ".gitmodules", f'[submodule "x"]\n\tpath = x\n\turl = {tmp_path / "none"}\n')
    head = git_says(first.root, "rev-parse", "HEAD")
    run_git(first.root, "update-index", "--add", "--cacheinfo", f"160000,{head},x")
    run_git(first.root, "add", ".gitmodules")
    run_git(first.root, "commit", "-q", "-m", "a module")
    run_git(second.root, "config", "submodule.recurse", "true")
    run_git(second.root, "config", "fetch.recurseSubmodules", "true")
    first.types("sync")
    second.types("sync")
    assert not list((second.root / "x").glob("*"))


def test_it_sends_nothing_when_told_not_to(
    copies: tuple[Copy, Copy, Path], small_made: Small
) -> None:
    first, _, store = copies
    first.types("note", small_made.open[-2:], "pH 5.0 water phase")
    before = git_says(store, "rev-parse", "main")
    first.types("sync", "--no-send")
    assert git_says(store, "rev-parse", "main") == before
    found = json.loads(first.types("sync", "--json"))
    assert found["sent"] == 1
    assert found["open"] == []


def test_in_the_middle_of_something_else_it_keeps_out(copies: tuple[Copy, Copy, Path]) -> None:
    first, _, _ = copies
    run_git(first.root, "checkout", "-q", "-b", "aside")
    first.edits("beeswax: 2.5", "beeswax: 3.5")
    commit(first.root, "aside")
    run_git(first.root, "checkout", "-q", "main")
    first.edits("beeswax: 2.5", "beeswax: 1.5")
    commit(first.root, "here")
    run_git(first.root, "merge", "aside", check=False)  # a merge that is nobody's sync
    before = git_says(first.root, "status", "--porcelain")
    assert "git merge --abort" in first.types("sync", code=4)
    assert git_says(first.root, "status", "--porcelain") == before
    run_git(first.root, "merge", "--abort")
    run_git(first.root, "checkout", "-q", "--detach")
    assert "git switch" in first.types("sync", code=4)


def test_notebooks_that_did_not_begin_as_one(
    copies: tuple[Copy, Copy, Path], tmp_path: Path
) -> None:
    first, _, store = copies
    other = Copy(tmp_path / "another")
    first.types("init", other.root)
    run_git(other.root, "remote", "add", "origin", str(store))
    if git_says(other.root, "symbolic-ref", "--short", "HEAD") != "main":
        run_git(other.root, "branch", "-m", "main")
    assert "no common beginning" in other.types("sync", code=4)


def test_a_clone_that_shows_nothing_is_not_made_a_notebook(tmp_path: Path, hand: Hand) -> None:
    run_git(tmp_path, "init", "-q", "--bare", "-b", "elsewhere", "store.git")
    run_git(hand.root, "push", "-q", str(tmp_path / "store.git"), "main")
    run_git(tmp_path, "clone", "-q", "store.git", "copy")
    assert "git switch main" in Copy(tmp_path / "copy").types("init", code=2)
    assert not (tmp_path / "copy" / "labbook.yaml").exists()


def test_a_union_of_lines_is_refused(copies: tuple[Copy, Copy, Path]) -> None:
    first, second, _ = copies
    first.edits("beeswax: 2.5", "beeswax: 3.5")
    first.types("save", "HC")
    first.types("sync")
    put(second.root, ".gitattributes", second.text(".gitattributes") + "formulas/* merge=union\n")
    commit(second.root, "joined")
    before = second.text()
    assert "merge=union" in second.types("sync", code=4)
    assert second.text() == before
