"""`stability plan`: the looks of a batch, and exceptions to its protocol, with the command."""

import json
from pathlib import Path

import pytest

from tests.conftest import RunLabbook
from tests.e2e.bench import Hand
from tests.notebook.repos import git_says


@pytest.fixture
def short(hand: Hand) -> str:
    """The closed batch of the small notebook: two jars in the room, one in the fridge."""
    return hand.small.first[-2:]


def states(hand: Hand, short: str) -> dict[str, dict[str, str]]:
    found = json.loads(hand.does("stability", "plan", short, "--json"))
    return {
        jar["jar"]: {str(look.get("point", look.get("cycle"))): look["state"]
                     for look in jar["looks"]}
        for jar in found["jars"]
    }  # fmt: skip


def commits(hand: Hand) -> int:
    return int(git_says(hand.root, "rev-list", "--count", "HEAD"))


def test_the_screen_tells_each_jar(hand: Hand, short: str) -> None:
    out = hand.says("stability", "plan", short)
    assert out.startswith(f"{short}  HC@1, protocol home")
    lines = out.splitlines()
    assert f"{short}.1        room, since 2026-03-02" in lines
    assert lines[lines.index(f"{short}.1        room, since 2026-03-02") + 1].startswith("  done")
    assert f"{short}.3        fridge, since 2026-03-02" in lines
    assert all(len(line) <= 80 for line in lines)


def test_asking_writes_nothing(hand: Hand, short: str) -> None:
    before = commits(hand)
    hand.does("stability", "plan", short)
    hand.does("stability", "plan", short, "--json")
    assert commits(hand) == before
    assert states(hand, short)["1"]["7 d"] == "done"


def test_another_protocol_for_this_batch_alone(hand: Hand, short: str) -> None:
    before = commits(hand)
    out = hand.says("stability", "plan", short, "--protocol", "short", "-m", "a quick answer")
    assert f"{short}  HC@1, protocol short" in out
    assert "until now   home" in out
    assert commits(hand) == before + 1
    message = git_says(hand.root, "log", "-1", "--format=%B")
    assert message.startswith(f"Plan looks of {short}: by the protocol short\n\na quick answer\n")
    changed = git_says(hand.root, "show", "--name-only", "--format=", "HEAD")
    assert changed == hand.small.path(hand.small.first, "jars.yaml")
    assert "3 d" in states(hand, short)["1"]
    other = json.loads(hand.does("stability", "plan", hand.small.second, "--json"))
    assert other["protocol"] == "home"
    assert hand.does("check") is not None


def test_one_look_more(hand: Hand, short: str) -> None:
    before = commits(hand)
    hand.does("stability", "plan", short, "--add", "room 45 d", "--add", "fridge 45 d", "-m", "!")
    assert commits(hand) == before + 1
    found = states(hand, short)
    assert {"45 d", "7 d"} <= set(found["1"])
    assert "45 d" in found["3"]
    hand.does("stability", "plan", short, "--add", "room 46 d")
    assert {"45 d", "46 d"} <= set(states(hand, short)["2"])
    own = list((hand.root / "protocols").glob("looks-*.yaml"))
    assert len(own) == 1
    home = (hand.root / "protocols/home.yaml").read_text(encoding="utf-8")
    assert "45 d" not in home
    assert hand.does("check") is not None


def test_a_look_that_was_added_falls_due(run_labbook: RunLabbook, tmp_path: Path) -> None:
    run_labbook("demo", "studio", cwd=tmp_path)
    root = tmp_path / "studio"
    assert run_labbook("stability", "plan", "h5", "--add", "room 21 d", cwd=root).code == 0
    due = json.loads(run_labbook("due", "--json", cwd=root).out)
    assert [(o["short"], o["point"]) for o in due["today"] if o["short"] == "H5"] == [
        ("H5", "21 d")
    ]
    assert run_labbook("look", "h5.1", "0", cwd=root).code == 0
    looked = next(root.glob("batches/2026/*-H5/stability.yaml")).read_text(encoding="utf-8")
    assert "planned: 21 d" in looked.splitlines()[-1]


def test_undo_takes_the_exception_back(hand: Hand, short: str) -> None:
    before = states(hand, short)
    hand.does("stability", "plan", short, "--add", "room 45 d")
    assert states(hand, short) != before
    hand.does("undo")
    assert states(hand, short) == before
    assert not list((hand.root / "protocols").glob("looks-*.yaml"))


def test_json_of_a_change_names_what_was_written(hand: Hand, short: str) -> None:
    said = hand.does("stability", "plan", short, "--add", "freeze-thaw 2 cycles", "--json", code=2)
    assert "3 cycles of freeze-thaw already" in " ".join(said.split())
    found = json.loads(hand.does("stability", "plan", short, "--add", "heat 5 d", "--json"))
    assert found["before"] == "home"
    assert len(found["written"]) == 2
    assert any("No jar stands in 'heat'" in remark for remark in found["remarks"])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--protocol", "nope"), "The notebook has no protocol nope."),
        (("--protocol", "home"), "has the protocol home already"),
        (("--add", "room"), "names no look"),
        (("--add", "room 45"), "names no look"),
        (("--add", "room 45 g"), "45 g"),
        (("--add", "room 7 d"), "asks for room 7 d already"),
    ],
)
def test_a_slip_writes_nothing(hand: Hand, short: str, words: tuple[str, str], told: str) -> None:
    before = git_says(hand.root, "rev-parse", "HEAD")
    assert told in " ".join(hand.does("stability", "plan", short, *words, code=2).split())
    assert git_says(hand.root, "rev-parse", "HEAD") == before
    assert git_says(hand.root, "status", "--porcelain") == ""


def test_a_batch_without_jars_has_no_plan(hand: Hand) -> None:
    assert "has no jars yet" in hand.does("stability", "plan", hand.open, code=2)
