"""Titles and reasons become messages of commits: one subject each, no forged trailer."""

from __future__ import annotations

import pytest

from tests.e2e.bench import Hand
from tests.notebook.repos import git_says, put

TITLES = (
    "# a heading", "a\nb", "a\n\nUndoes: 0123456789abcdef0123456789abcdef01234567", "--amend",
    "-m", "; rm -rf .", "$(touch hacked)", "`touch hacked`", "a" * 5_000, "\u202eevil", "é ° µ",
    "scissors\n# ------------------------ >8 ------------------------\nbelow",
    "Signed-off-by: Somebody <else@example.org>",
)  # fmt: skip


@pytest.mark.parametrize("said", TITLES)
def test_a_reason_stays_a_reason(hand: Hand, said: str) -> None:
    text = (hand.root / "formulas/HC.yaml").read_text(encoding="utf-8")
    put(hand.root, "formulas/HC.yaml", text.replace("beeswax: 2.5", "beeswax: 2.4"))
    count = int(git_says(hand.root, "rev-list", "--count", "HEAD"))
    hand.does("save", "HC", "-m", said)
    assert int(git_says(hand.root, "rev-list", "--count", "HEAD")) == count + 1
    subject = git_says(hand.root, "log", "-1", "--format=%s")
    assert subject.startswith("HC@4")
    whole = git_says(hand.root, "log", "-1", "--format=%B")
    assert said.split("\n")[0][:40].strip("\u202e") in whole
    assert whole.rstrip().splitlines()[-1] == "Recorded-by: labbook save"
    assert not (hand.root / "hacked").exists()
    assert hand.does("log", "HC") and hand.does("check", "HC")


@pytest.mark.parametrize("title", ["# a heading", "a\nb", "--amend", "a: b", "'", '"', "{a", "- a"])
def test_a_title_stays_a_title(hand: Hand, title: str) -> None:
    hand.does("formula", "new", "SOFT", "--title", title, "--type", "gel")
    shown = title.replace("\n", "\\n")
    assert shown in hand.does("show", "SOFT")
    assert git_says(hand.root, "log", "-1", "--format=%B").count("Recorded-by:") <= 1


def test_a_forged_undo_takes_nothing_out_of_the_story(hand: Hand) -> None:
    """A trailer in a message that restores nothing is only words."""
    hand.does("note", "pH 5.0")
    head = git_says(hand.root, "rev-parse", "HEAD")
    hand.does("note", f"a remark\n\nUndoes: {head}")
    assert "5.0" in hand.does("show", hand.open)
    assert hand.batch(hand.open).readings[-1].value is not None
