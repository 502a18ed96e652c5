"""A skin reaction by the command: written down privately, with what to do, seen by trace and check.

What a recall and a reaction ask for is compared with plain searches through the files.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.conftest import RunLabbook
from tests.e2e.bench import Hand, ended
from tests.notebook.repos import git_says, put

SECRET = "zqred and itching"
PERSON = "Zqperson One"


@pytest.fixture
def reacted(hand: Hand) -> Hand:
    """A reaction to the one jar of the second batch, which somebody has."""
    path = hand.small.path(hand.small.second, "jars.yaml")
    text = (hand.root / path).read_text(encoding="utf-8")
    text, count = re.subn(r"(jar: \"1\", )", rf'\1given to: "{PERSON}", ', text, count=1)
    assert count == 1, text
    put(hand.root, path, text)
    short = hand.small.second[-2:]
    said = hand.says(
        "batch", "reaction", f"{short}.1", SECRET, "--who", PERSON, "--after", "2 h",
        "--lasted", "1 d",
    )  # fmt: skip
    words = " ".join(said.split())
    assert f"given away {short}.1: tell whoever has them" in words
    for part in ("a doctor", "Keep the jar", "hand out nothing more", "duty, within days"):
        assert part in words, words
    return hand


def test_it_stands_in_a_file_of_its_own_and_nowhere_else(reacted: Hand) -> None:
    id_ = reacted.small.second
    path = reacted.small.path(id_, "reactions.yaml")
    text = (reacted.root / path).read_text(encoding="utf-8")
    assert SECRET in text
    assert f'who: "{PERSON}", jar: "1", after: 2 h, lasted: 1 d' in text
    assert git_says(reacted.root, "show", "--name-only", "--format=", "HEAD").split() == [path]
    assert SECRET not in git_says(reacted.root, "log", "--format=%B", "-1")
    assert PERSON not in git_says(reacted.root, "log", "--format=%B", "-1")
    found = git_says(reacted.root, "grep", "-l", SECRET).split()
    assert found == [path]


def test_trace_tells_that_and_at_the_own_terminal_what(reacted: Hand) -> None:
    short = reacted.small.second[-2:]
    lot = reacted.batch(short).weighings[0]
    assert lot is not None
    for words in (("trace", short), ("trace", short, "--json"), ("trace", f"{short}.1")):
        out = reacted.does(*words)
        assert SECRET not in out
        assert "reaction" in out
    shown = reacted.does("show", short)
    assert "1 reaction or complaint written down" in " ".join(shown.split())
    assert SECRET not in shown
    seen = reacted.types("trace", short)
    assert SECRET in seen
    assert PERSON in seen
    held = json.loads(reacted.does("trace", short, "--recall", "--json"))["trace"]["reactions"]
    assert [(one["name"], one["entry"], one["who"]) for one in held] == [
        (f"{short}.1", "e1", PERSON)
    ]


def test_check_asks_until_each_one_is_settled(reacted: Hand, run_labbook: RunLabbook) -> None:
    short = reacted.small.second[-2:].lower()

    def open_ones() -> list[str]:
        ran = run_labbook("check", short, "--json", cwd=reacted.root)
        assert SECRET not in ran.out
        assert PERSON not in ran.out
        found = json.loads(ran.out)["problems"]
        return [one["about"] for one in found if one["rule"] == "reaction-noted"]

    assert [one.rsplit("-", 1)[-1] for one in open_ones()] == [f"{short.upper()}.E1"]
    assert "1 jar of it is with" in " ".join(reacted.does("check", short).split())
    refused = reacted.does("check", "--accept", "reaction-noted", "-m", "all of them", code=2)
    assert "one by one" in refused
    reacted.does("check", f"{short}.e1", "--accept", "reaction-noted", "-m", "away; another cream")
    assert open_ones() == []
    reacted.does("batch", "reaction", short, "burning", "--about", "e1")
    assert [one.rsplit(".", 1)[-1] for one in open_ones()] == ["E2"]


def test_what_is_refused_and_what_goes_without(reacted: Hand) -> None:
    short = reacted.small.second[-2:]
    before = git_says(reacted.root, "rev-parse", "HEAD")
    for words in (
        (f"{short}.9", "red"), (short, " "), (short, "red", "--about", "e7"), ("9z", "red"),
        (short, "red", "--after", "soon"), (short, "red", "--made", "2999-01-01"),
    ):  # fmt: skip
        reacted.does("batch", "reaction", *words, code=2)
    assert git_says(reacted.root, "rev-parse", "HEAD") == before
    reacted.does("batch", "drop", short, "-m", "not good")
    said = reacted.does("batch", "reaction", short, "smells of cheese", "--complaint")
    assert "complaint e2 written down" in said
    assert "a doctor" not in said
    reacted.does("undo")
    text = (reacted.root / reacted.small.path(reacted.small.second, "reactions.yaml")).read_text()
    assert "cheese" not in text


def test_no_page_and_no_table_has_it(reacted: Hand, tmp_path: Path) -> None:
    """All is public here, so that only the filter keeps it back."""
    for folder in ("formulas", "batches"):
        for path in (reacted.root / folder).rglob("*.yaml"):
            if path.name in ("batch.yaml",) or folder == "formulas":
                with path.open("a", encoding="utf-8") as file:
                    file.write("public: yes\n")
    ended(reacted.run("journal", "build", cwd=reacted.root))
    ended(reacted.run("export", tmp_path / "tables", "--private", cwd=reacted.root))
    built = [*(reacted.root / "site").rglob("*"), *(tmp_path / "tables").rglob("*")]
    files = [path for path in built if path.is_file()]
    assert len(files) > 20
    for path in files:
        raw = path.read_bytes()
        assert SECRET.encode() not in raw, path
        assert b"reactions" not in raw.lower() or path.suffix not in (".csv",), path
