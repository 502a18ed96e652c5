"""Ten weighings and a calibration by the commands, and what check makes of the log."""

from __future__ import annotations

import json
import statistics
from collections.abc import Sequence

import pytest

from labbook.model.materials import Equipment
from labbook.work.bench import Bench
from tests.e2e.bench import Hand, ended
from tests.notebook.repos import git_says, put

TEN = ("100.01", "100.00", "99,99", "100.01", "100.02 g", "100.00", "100.01", "99.99", "100.00",
       "100.00")  # fmt: skip
PLAIN = [one.replace(",", ".").removesuffix(" g") for one in TEN]


@pytest.fixture
def tools(hand: Hand) -> Hand:
    """A balance of 0.01 g and a pH meter of the notebook's own."""
    hand.does("equipment", "add", "scale-1", "--kind", "balance", "--readability", "0.01g",
              "--default")  # fmt: skip
    hand.does("equipment", "add", "meter-1", "--kind", "pH meter", "--default")
    return hand


def tool(hand: Hand, name: str) -> Equipment:
    return Bench(hand.root).snapshot.equipment[name]


def written(hand: Hand) -> None:
    """The ten weighings are in the balance's file, with the deviation that Python reckons."""
    found = tool(hand, "scale-1")
    entry = found.calibrations[-1]
    assert [f"{one:f}" for one in entry.shown] == PLAIN
    deviation = statistics.stdev(map(float, PLAIN))
    assert entry.standard_deviation == found.repeatability
    assert float(found.repeatability.value if found.repeatability else 0) == pytest.approx(
        deviation, abs=0.00005
    )
    assert str(entry.spread) == "0.03 g"
    assert git_says(hand.root, "status", "--porcelain") == ""


def test_ten_weighings_by_option(tools: Hand) -> None:
    said = tools.says(
        "equipment", "check", "--mass", "100g", "--shown", " ".join(PLAIN), "--on", "2026-03-01"
    )
    written(tools)
    assert "standard deviation 0.0095 g" in said
    assert "+0.0030 g off the mass" in said
    # USP <41>: 2000 × s, of the deviation as it is kept.
    assert "19.00 g" in said
    assert tool(tools, "scale-1").calibrations[-1].mass is not None


def test_ten_weighings_asked_one_by_one(tools: Hand) -> None:
    answers = [(f"{number} of 10, g", one) for number, one in enumerate(TEN, start=1)]
    wrong = [("3 of 10, g", "lots"), ("3 of 10, g", "77"), ("4 of 10, g", "-")]
    said = tools.types(
        "equipment", "check", "scale-1", answers=[*answers[:2], *wrong, *answers[2:]]
    )
    assert "standard deviation 0.0095 g" in said
    written(tools)


@pytest.mark.parametrize(
    "words",
    [
        (), ("--shown", "100 100"), ("--shown", "ten times"), ("meter-1", "--shown", "1 " * 10),
        ("nothing", "--shown", "1 " * 10), ("--mass", "5 ml", "--shown", "1 " * 10),
        ("--mass", "0", "--shown", "1 " * 10),
    ],
)  # fmt: skip
def test_without_a_terminal_options_only(tools: Hand, words: Sequence[str]) -> None:
    before = git_says(tools.root, "rev-parse", "HEAD")
    tools.does("equipment", "check", *words, code=2)
    assert git_says(tools.root, "rev-parse", "HEAD") == before


def test_a_calibration_with_its_slope(tools: Hand) -> None:
    """177.48 mV between pH 4 and 7 is 100 % at 25 °C (59.16 mV for one pH); here 98.6 %."""
    said = tools.says(
        "equipment", "calibrate", "meter-1", "--buffer", "4.00=173.5mV", "--buffer",
        "7.00=-1.5 mV", "--at", "25 C", "--slope", "98.5%", "--by", "the potter",
    )  # fmt: skip
    assert "98.6 % of Nernst's, -58.33 mV for one pH" in said
    assert "98.5 %, as the meter tells it" in said
    assert "worn" not in said
    entry = tool(tools, "meter-1").calibrations[-1]
    assert [(f"{p.buffer:f}", f"{p.millivolts:f}") for p in entry.points] == [
        ("4.00", "173.5"), ("7.00", "-1.5")
    ]  # fmt: skip
    assert (str(entry.at), f"{entry.slope:f}", entry.by) == ("25 °C", "98.5", "the potter")
    found = json.loads(
        tools.does(
            "equipment", "calibrate", "meter-1", "--buffer", "4.00=140mV", "--buffer",
            "7.00=-1.5mV", "--json",
        )
    )  # fmt: skip
    assert found["in order"] is False


def test_what_is_no_buffer(tools: Hand) -> None:
    before = git_says(tools.root, "rev-parse", "HEAD")
    for words in (
        ("--buffer", "seven"), ("--buffer", "7.00=xmV"), ("--buffer", "15"), ("--slope", "98"),
        ("--buffer", "7.00", "--buffer", "7.0"), (),
    ):  # fmt: skip
        tools.does("equipment", "calibrate", "meter-1", *words, code=2)
    assert git_says(tools.root, "rev-parse", "HEAD") == before
    tools.does("equipment", "calibrate", "scale-1", "checked with 100 g", "--result", "99.99 g")
    assert tool(tools, "scale-1").calibrations[-1].result == "99.99 g"


def rules(hand: Hand) -> list[str]:
    ran = hand.run("check", "--json", cwd=hand.root)
    found = json.loads(ran.out)["problems"]
    return [one["rule"] for one in found if one["rule"].startswith("meter-")]


def test_check_asks_how_old_the_calibration_was(tools: Hand) -> None:
    batch = tools.opens("HC", "--size", "100g")
    assert rules(tools) == []
    tools.does("note", batch, "pH 5.4 water phase")
    made = tools.batch(batch)
    assert made.readings[-1].with_ == "meter-1", "the batch takes the notebook's meter"
    assert rules(tools) == ["meter-without-calibration"]
    tools.does("equipment", "calibrate", "meter-1", "--buffer", "7.00", "--on", "2020-01-01")
    assert rules(tools) == ["meter-calibration-old"]
    path = "equipment/meter-1.yaml"
    text = (tools.root / path).read_text(encoding="utf-8")
    put(tools.root, path, text.replace("kind: pH meter", "kind: pH meter\ncheck every: 9000 d"))
    assert rules(tools) == []
    put(tools.root, path, text)
    tools.does("equipment", "calibrate", "meter-1", "--buffer", "7.00", "--buffer", "4.01")
    ended(tools.run("check", cwd=tools.root))
    assert rules(tools) in ([], ["meter-calibration-old"])
