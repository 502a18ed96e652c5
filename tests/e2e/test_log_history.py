"""`log` and `diff` across renamed files, merges, restores, cherry-picks, in real repositories."""

import json
import re
from typing import Any

import pytest

from labbook.model.ids import short_commit
from tests.e2e.bench import Hand
from tests.notebook.repos import git_says, put, run_git
from tests.work.driver_places import plain_git
from tests.work.notebooks import PATH

RENAMED = "formulas/HAND.yaml"


@pytest.fixture
def on_main(hand: Hand) -> Hand:
    run_git(hand.root, "checkout", "-q", "-B", "main")
    plain_git(hand.root)
    return hand


def change(hand: Hand, old: str, new: str, path: str = PATH) -> None:
    text = (hand.root / path).read_text(encoding="utf-8")
    assert text.count(old) == 1, (old, text)
    put(hand.root, path, text.replace(old, new))


def saved(hand: Hand, old: str, new: str, path: str = PATH) -> None:
    """A change, and the version that holds it."""
    change(hand, old, new, path)
    hand.does("save", path.removeprefix("formulas/").removesuffix(".yaml"))


def rename(hand: Hand) -> None:
    run_git(hand.root, "mv", PATH, RENAMED)
    change(hand, "code: HC\n", "code: HAND\n", RENAMED)
    run_git(hand.root, "commit", "-qam", "a better code")


def entries(hand: Hand, code: str = "HC") -> dict[int, dict[str, Any]]:
    """What `log --json` says of each version."""
    found = json.loads(hand.says("log", code, "--json"))
    numbers = [entry["version"]["number"] for entry in found["entries"]]
    assert numbers == sorted(numbers, reverse=True)
    return {entry["version"]["number"]: entry for entry in found["entries"]}


def percents(hand: Hand, *words: str) -> dict[str, tuple[Any, Any]]:
    found = json.loads(hand.says("diff", *words, "--json"))
    return {one["ingredient"]: (one["from_percent"], one["to_percent"]) for one in found["lines"]}


def margin(screen: str) -> list[str]:
    """The versions and batches down the margin of a log."""
    words = [line[:12].strip() for line in screen.splitlines()[1:]]
    return [word for word in words if re.fullmatch(r"@\d+|\d[A-Z]|[A-Z]\d", word)]


# A renamed file -----------------------------------------------------------------------------------


def test_a_renamed_file_keeps_its_versions_and_batches(on_main: Hand) -> None:
    before = on_main.says("log", "HC")
    rename(on_main)
    after = on_main.says("log", "HAND")
    assert margin(after) == margin(before)
    assert len(margin(after)) == 6  # three versions, three batches
    assert after.replace("HAND", "HC").splitlines()[2:] == before.splitlines()[2:]
    assert on_main.does("check") is not None


def test_versions_on_both_sides_of_a_renaming_are_told_apart(on_main: Hand) -> None:
    rename(on_main)
    saved(on_main, "sunflower-oil: 14", "sunflower-oil: 15", RENAMED)
    found = entries(on_main, "HAND")
    assert found[4]["what"] == ["sunflower-oil 14 → 15 %, water takes it up"]
    assert percents(on_main, "HAND", "3", "4")["sunflower-oil"] == ("14", "15")
    assert set(percents(on_main, "HAND@1", "HAND")) == {
        "sunflower-oil", "beeswax", "glycerin", "water",
    }  # fmt: skip


def test_renamed_changed_and_numbered_in_one_commit(on_main: Hand) -> None:
    """By hand, all at once: git itself sees one file gone and another one come."""
    run_git(on_main.root, "mv", PATH, RENAMED)
    for old, new in (
        ("code: HC\n", "code: HAND\n"),
        ("sunflower-oil: 14", "sunflower-oil: 16"),
        ("version: 3", "version: 4"),
    ):
        change(on_main, old, new, RENAMED)
    run_git(on_main.root, "commit", "-qam", "HAND@4: by hand")
    found = entries(on_main, "HAND")
    assert sorted(found) == [1, 2, 3, 4]
    assert "sunflower-oil 14 → 16 %, water takes it up" in found[4]["what"]
    day = git_says(on_main.root, "log", "-1", "--format=%as")
    assert percents(on_main, f"HAND@{day}", "HAND") == {}


def test_the_old_code_is_offered_no_more_and_says_so(on_main: Hand) -> None:
    rename(on_main)
    assert "The notebook has no formula HC." in on_main.does("log", "HC", code=2)


def test_a_batch_made_before_the_renaming_is_told_apart_from_one_after(on_main: Hand) -> None:
    rename(on_main)
    saved(on_main, "sunflower-oil: 14", "sunflower-oil: 15", RENAMED)
    short = on_main.opens("HAND")
    out = on_main.says("diff", on_main.small.first[-2:], short)
    assert re.search(r"changed +sunflower-oil", out)
    assert short in margin(on_main.says("log", "HAND"))


# Merges -------------------------------------------------------------------------------------------


def forked(hand: Hand, here: tuple[str, str], there: tuple[str, str]) -> None:
    """Each branch saves a version of its own; then `side` is merged into `main` by plain git.

    Both wrote the same next number, so the line of the number itself is no conflict.
    """
    run_git(hand.root, "branch", "side")
    saved(hand, *here)
    run_git(hand.root, "checkout", "-q", "side")
    saved(hand, *there)
    run_git(hand.root, "checkout", "-q", "main")
    run_git(hand.root, "merge", "-q", "-m", "together", "side")


def test_two_branches_that_raised_the_number_alike(on_main: Hand) -> None:
    forked(
        on_main,
        ("sunflower-oil: 14", "sunflower-oil: 15"),
        ("glycerin, percent: 3}", "glycerin, percent: 5}"),
    )
    tips = {short_commit(git_says(on_main.root, "rev-parse", f"HEAD^{n}")) for n in (1, 2)}
    told = " ".join(on_main.says("log", "HC").split())
    assert "today changed since HC@4" in told
    both = re.search(r"(\w{7,}) and (\w{7,}) both have the number 4, and differ", told)
    assert both
    assert set(both.groups()) == tips
    assert f"labbook diff HC@{both[1]} HC@{both[2]}" in told
    assert percents(on_main, f"HC@{both[1]}", f"HC@{both[2]}")
    on_main.does("save", "HC", "-m", "both at once")
    found = entries(on_main)
    assert sorted(found) == [1, 2, 3, 4, 5]
    assert found[5]["said"] == "both at once"
    merged = percents(on_main, "HC@3", "HC@5")
    assert (merged["sunflower-oil"], merged["glycerin"]) == (("14", "15"), ("3", "5"))


def test_each_of_two_contents_under_one_number_has_a_name(on_main: Hand) -> None:
    forked(
        on_main,
        ("sunflower-oil: 14", "sunflower-oil: 15"),
        ("glycerin, percent: 3}", "glycerin, percent: 5}"),
    )
    one, other = "HC@HEAD^1", "HC@HEAD^2"
    found = percents(on_main, one, other)
    assert (found["sunflower-oil"], found["glycerin"]) == (("15", "14"), ("3", "5"))


def test_a_merge_of_a_branch_with_more_versions(on_main: Hand) -> None:
    run_git(on_main.root, "checkout", "-q", "-b", "side")
    saved(on_main, "sunflower-oil: 14", "sunflower-oil: 15")
    saved(on_main, "sunflower-oil: 15", "sunflower-oil: 16")
    run_git(on_main.root, "checkout", "-q", "main")
    put(on_main.root, "journal/words.md", "Unrelated words.\n")
    run_git(on_main.root, "add", "-A")
    run_git(on_main.root, "commit", "-qm", "words")
    run_git(on_main.root, "merge", "-q", "--no-ff", "-m", "together", "side")
    found = entries(on_main)
    assert sorted(found) == [1, 2, 3, 4, 5]
    assert found[4]["what"] == ["sunflower-oil 14 → 15 %, water takes it up"]
    assert found[5]["what"] == ["sunflower-oil 15 → 16 %, water takes it up"]
    assert "both have the number" not in on_main.says("log", "HC")


def test_a_merge_that_was_mended_by_hand_is_numbered_by_save(on_main: Hand) -> None:
    """Both branches changed the same line; the person writes a third content."""
    run_git(on_main.root, "branch", "side")
    saved(on_main, "sunflower-oil: 14", "sunflower-oil: 15")
    run_git(on_main.root, "checkout", "-q", "side")
    saved(on_main, "sunflower-oil: 14", "sunflower-oil: 13")
    run_git(on_main.root, "checkout", "-q", "main")
    assert run_git(on_main.root, "merge", "-q", "side", check=False).returncode == 1
    run_git(on_main.root, "checkout", "-q", "--ours", "--", PATH)
    change(on_main, "sunflower-oil: 15", "sunflower-oil: 14.5")
    run_git(on_main.root, "add", "-A")
    run_git(on_main.root, "commit", "-qm", "together")
    on_main.does("save", "HC")
    assert percents(on_main, "HC", "3", "5")["sunflower-oil"] == ("14", "14.5")


# Restores and cherry-picks ------------------------------------------------------------------------


def test_a_restored_version_gets_a_number_and_says_whose_content_it_has(on_main: Hand) -> None:
    on_main.does("restore", "HC@1")
    found = entries(on_main)
    assert found[4]["version"]["same as"] == 1
    assert "@4 " in (screen := on_main.says("log", "HC"))
    assert "same as @1" in screen
    assert percents(on_main, "HC", "1", "4") == {}
    back = percents(on_main, "HC", "3", "4")
    assert {name: pair[::-1] for name, pair in back.items()} == percents(on_main, "HC", "1", "3")


def test_restoring_after_a_renaming_keeps_the_new_code(on_main: Hand) -> None:
    rename(on_main)
    on_main.does("restore", "HAND@1")
    on_main.does("restore", "HAND@HEAD~2")  # before the renaming
    assert entries(on_main, "HAND")[4]["version"]["same as"] == 1
    assert "code: HAND\n" in (on_main.root / RENAMED).read_text(encoding="utf-8")
    assert percents(on_main, "HAND", "3", "5") == {}


def test_a_version_that_was_picked_onto_another_branch_is_one_version(on_main: Hand) -> None:
    run_git(on_main.root, "checkout", "-q", "-b", "side")
    saved(on_main, "sunflower-oil: 14", "sunflower-oil: 15")
    tip = git_says(on_main.root, "rev-parse", "HEAD")
    run_git(on_main.root, "checkout", "-q", "main")
    put(on_main.root, "journal/words.md", "Unrelated words.\n")
    run_git(on_main.root, "add", "-A")
    run_git(on_main.root, "commit", "-qm", "words")
    run_git(on_main.root, "cherry-pick", tip)
    picked = entries(on_main)
    run_git(on_main.root, "merge", "-q", "--no-ff", "-m", "together", "side")
    merged = entries(on_main)
    assert sorted(picked) == sorted(merged) == [1, 2, 3, 4]
    assert merged[4]["version"]["clashes"] == []
    assert merged[4]["what"] == picked[4]["what"]


def test_a_picked_version_may_skip_a_number(on_main: Hand) -> None:
    run_git(on_main.root, "checkout", "-q", "-b", "side")
    saved(on_main, "sunflower-oil: 14", "sunflower-oil: 15")
    saved(on_main, "beeswax: 2.5", "beeswax: 2.0")
    tip = git_says(on_main.root, "rev-parse", "HEAD")
    run_git(on_main.root, "checkout", "-q", "main")
    run_git(on_main.root, "cherry-pick", "-X", "theirs", tip)
    found = entries(on_main)
    assert sorted(found) == [1, 2, 3, 5]
    assert "@5 " in on_main.says("log", "HC")
    assert set(percents(on_main, "HC", "3", "5")) >= {"beeswax", "water"}


def test_a_reverted_version_keeps_its_number_and_the_file_has_changed_since(on_main: Hand) -> None:
    saved(on_main, "sunflower-oil: 14", "sunflower-oil: 15")
    run_git(on_main.root, "revert", "--no-edit", "HEAD")
    found = entries(on_main)
    assert sorted(found) == [1, 2, 3, 4]
    assert percents(on_main, "HC@4", "HC")["sunflower-oil"] == ("15", "14")
    on_main.says("log", "HC")


def test_a_formula_that_came_back_from_the_dead(on_main: Hand) -> None:
    text = (on_main.root / PATH).read_text(encoding="utf-8")
    run_git(on_main.root, "rm", "-q", PATH)
    run_git(on_main.root, "commit", "-qm", "away")
    put(on_main.root, PATH, text.replace("sunflower-oil: 14", "sunflower-oil: 15"))
    on_main.does("save", "HC")
    found = entries(on_main)
    assert sorted(found) == [1, 2, 3, 4]
    assert found[4]["what"] == ["sunflower-oil 14 → 15 %, water takes it up"]
