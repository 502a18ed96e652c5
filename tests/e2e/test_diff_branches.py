"""`diff` between branches and other revisions, with the installed command in a real repository."""

import json
from typing import Any

import pytest

from tests.e2e.bench import Hand
from tests.notebook.repos import git_says, put, run_git
from tests.work.notebooks import PATH


@pytest.fixture
def forked(hand: Hand) -> Hand:
    """HC goes on differently on two branches, one commit each; the person stands on `main`."""
    run_git(hand.root, "checkout", "-q", "-B", "main")
    run_git(hand.root, "branch", "softer")
    change(hand, "sunflower-oil: 14", "sunflower-oil: 15")
    hand.does("save", "HC", "-m", "richer")
    run_git(hand.root, "checkout", "-q", "softer")
    change(hand, "beeswax: 2.5", "beeswax: 1.5")
    hand.does("save", "HC", "-m", "softer")
    run_git(hand.root, "checkout", "-q", "main")
    return hand


def change(hand: Hand, old: str, new: str, path: str = PATH) -> None:
    text = (hand.root / path).read_text(encoding="utf-8")
    assert text.count(old) == 1, (old, text)
    put(hand.root, path, text.replace(old, new))


def lines_of(hand: Hand, *words: str) -> dict[str, tuple[Any, Any]]:
    found = json.loads(hand.says("diff", *words, "--json"))
    return {one["ingredient"]: (one["from_percent"], one["to_percent"]) for one in found["lines"]}


def test_two_branches(forked: Hand) -> None:
    found = lines_of(forked, "HC@main", "HC@softer")
    assert set(found) == {"sunflower-oil", "beeswax", "water"}
    assert found["sunflower-oil"] == ("15", "14")
    assert found["beeswax"] == ("2.5", "1.5")
    turned = lines_of(forked, "HC@softer", "HC@main")
    assert turned == {name: (after, before) for name, (before, after) in found.items()}


def test_the_screen_names_the_branches_and_the_days(forked: Hand) -> None:
    first, *rest = forked.says("diff", "HC@main", "HC@softer").splitlines()
    day = git_says(forked.root, "log", "-1", "--format=%as", "softer")
    assert first.startswith("HC@main → HC@softer")
    assert first.endswith(f"{day} → {day}")
    assert any(line.startswith("changed     beeswax") for line in rest)


def test_a_branch_against_todays_file(forked: Hand) -> None:
    change(forked, "glycerin, percent: 3}", "glycerin, percent: 5}")
    found = lines_of(forked, "HC@softer", "HC")
    assert found["glycerin"] == ("3", "5")
    assert found["beeswax"] == ("1.5", "2.5")
    assert forked.says("diff", "HC@softer", "HC").splitlines()[0].startswith("HC@softer → HC")


def test_revisions_of_any_form(forked: Hand) -> None:
    tip = git_says(forked.root, "rev-parse", "softer")
    run_git(forked.root, "tag", "-a", "-m", "for the fair", "fair", "softer")
    named = lines_of(forked, "HC@main", "HC@softer")
    for revision in (tip, tip[:10], "fair", "refs/heads/softer"):
        assert lines_of(forked, "HC@main", f"HC@{revision}") == named
    assert lines_of(forked, "HC@main~1", "HC@softer~1") == {}
    assert lines_of(forked, "HC@3", "HC@main~1") == {}


def test_a_version_of_this_branch_against_the_other_branch(forked: Hand) -> None:
    assert set(lines_of(forked, "HC@4", "HC@softer")) == {"sunflower-oil", "beeswax", "water"}


def test_the_same_content_on_both_branches_differs_in_nothing(forked: Hand) -> None:
    run_git(forked.root, "branch", "again")
    out = forked.says("diff", "HC@main", "HC@again", "--exit-code")
    assert out.startswith("HC@main → HC@again")
    ended = forked.run("diff", "HC@main", "HC@softer", "--exit-code", cwd=forked.root)
    assert ended.code == 1


def test_a_branch_on_which_the_file_has_another_code(forked: Hand) -> None:
    run_git(forked.root, "checkout", "-q", "softer")
    run_git(forked.root, "mv", PATH, "formulas/SOFT.yaml")
    change(forked, "code: HC\n", "code: SOFT\n", "formulas/SOFT.yaml")
    run_git(forked.root, "commit", "-qam", "another code")
    assert set(lines_of(forked, "SOFT@main", "SOFT")) == {"sunflower-oil", "beeswax", "water"}
    run_git(forked.root, "checkout", "-q", "main")
    assert set(lines_of(forked, "HC@main", "HC@softer")) == {"sunflower-oil", "beeswax", "water"}


def test_another_formula_under_the_same_code_is_not_taken_for_it(forked: Hand) -> None:
    """On the other branch HC was given away: its file is another formula, HC itself is OLD."""
    run_git(forked.root, "checkout", "-q", "softer")
    run_git(forked.root, "mv", PATH, "formulas/OLD.yaml")
    change(forked, "code: HC\n", "code: OLD\n", "formulas/OLD.yaml")
    lotion = (forked.root / "formulas/LO.yaml").read_text(encoding="utf-8")
    other = lotion.replace("code: LO", "code: HC").replace('id: "f-', 'id: "f-9')
    assert other != lotion
    put(forked.root, PATH, other)
    run_git(forked.root, "add", "-A")
    run_git(forked.root, "commit", "-qm", "HC is a lotion now")
    run_git(forked.root, "checkout", "-q", "main")
    assert set(lines_of(forked, "HC@main", "HC@softer")) == {"sunflower-oil", "beeswax", "water"}


def test_a_formula_that_only_the_other_branch_has(forked: Hand) -> None:
    run_git(forked.root, "checkout", "-q", "softer")
    forked.does("formula", "new", "SOFT", "--from", "HC@3")
    change(forked, "beeswax: 2.5", "beeswax: 2.0", "formulas/SOFT.yaml")
    forked.does("save", "SOFT")
    run_git(forked.root, "checkout", "-q", "main")
    assert "SOFT" in forked.says("diff", "SOFT@softer", "SOFT@softer~1")
    assert set(lines_of(forked, "HC@3", "SOFT@softer")) == {"beeswax", "water"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("HC@nowhere", "HC"), "“nowhere” names no commit of this notebook."),
        (("HC@--all", "HC"), "“--all” names no commit of this notebook."),
        (("HC@softer",), "HC@softer and which other?"),
        (("ZZ@softer", "HC"), "ZZ was not in the notebook at softer."),
    ],
)
def test_a_revision_that_is_none(forked: Hand, words: tuple[str, ...], told: str) -> None:
    assert told in " ".join(forked.says("diff", *words, code=2).split())


def test_a_detached_head_reads_as_well(forked: Hand) -> None:
    named = lines_of(forked, "HC@main", "HC@softer")
    run_git(forked.root, "checkout", "-q", "--detach", "softer")
    assert lines_of(forked, "HC@main", "HC") == named
