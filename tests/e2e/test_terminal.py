"""Weighing at a terminal, the way a person with a number pad does it; and what else asks."""

from __future__ import annotations

import os
import re
from decimal import Decimal

import pytest

from tests.e2e.bench import Hand, ended
from tests.e2e.terminal import END, at_terminal
from tests.notebook.repos import git_says, subjects

pytestmark = pytest.mark.skipif(os.name == "nt", reason="pseudo-terminals are a POSIX matter")


def weights(hand: Hand) -> list[tuple[str, str]]:
    """Ingredient and mass of what counts, in the order it was weighed."""
    batch = hand.batch(hand.open)
    names = {line.id: line.ingredient for line in batch.lines}
    return [(names[w.line or ""], str(w.mass)) for w in batch.weighings if not w.struck]


def test_the_number_pad_suffices(hand: Hand) -> None:
    said = hand.types(
        "weigh",
        answers=[
            ("sunflower-oil, 14.00 g: ", "14,02"),
            ("beeswax, 2.50 g: ", ""),  # left open
            ("polyglyceryl-3-diisostearate, 4.50 g: ", "*"),
            ("water, q.s., ", "-"),  # back
            ("has 4.5 g: ", "/"),
            ("has 4.5 g: ", "4.52"),
            ("1 or 2: ", "1"),
            ("water, q.s., ", "x"),
            ("'x' is no weight. ", END),
        ],
    )
    assert "as target, not read" in said
    assert "l LOT names the pack" in said
    assert "stopped; what was typed is kept" in said
    assert weights(hand) == [
        ("sunflower-oil", "14.02 g"), ("polyglyceryl-3-diisostearate", "4.52 g")
    ]  # fmt: skip
    assert git_says(hand.root, "status", "--porcelain") == ""
    assert subjects(hand.root)[-1] == f"Weigh {hand.open}: 3 entries"


def test_going_on_asks_only_for_what_is_open(hand: Hand) -> None:
    hand.does("weigh", "sunflower-oil=14.02", "polyglyceryl-3-diisostearate=4.5")
    said = hand.types("weigh", answers=[("beeswax, 2.50 g: ", "2.51"), ("water, q.s., ", "end")])
    assert "phase A     sunflower-oil, 14.00 g" not in said
    assert len(weights(hand)) == 3


def test_ten_times_off_is_asked_about_once(hand: Hand) -> None:
    hand.types(
        "weigh",
        answers=[
            ("sunflower-oil, 14.00 g: ", "1.4"),
            ("1.4 g where 14.00 g is wanted? ", "14.01"),  # the right one is taken
            ("beeswax, 2.50 g: ", "0.25"),
            ("0.25 g where 2.50 g is wanted? ", "0,25"),  # the same again confirms it
            ("polyglyceryl", END),
        ],
    )
    assert weights(hand) == [("sunflower-oil", "14.01 g"), ("beeswax", "0.25 g")]


def test_too_much_left_in(hand: Hand) -> None:
    said = hand.types(
        "weigh",
        answers=[("sunflower-oil, 14.00 g: ", "16"), ("1, 2 or 3: ", ""), ("1, 2 or 3: ", "1"),
                 ("beeswax, 2.50 g: ", END)],
    )  # fmt: skip
    # 16 g in a batch of 102 g: 15.69 % by weight.
    assert "2 g over. 1 leave it: 15.69 % of 102.00 g" in said
    assert weights(hand) == [("sunflower-oil", "16 g")]


def test_too_much_and_the_rest_weighed_up_to_it(hand: Hand) -> None:
    hand.does("weigh", "beeswax=2.5")
    said = hand.types(
        "weigh",
        answers=[
            ("sunflower-oil, 14.00 g: ", "21"),
            ("1, 2 or 3: ", "2"),
            # Half as much again of everything: 2.50 g of wax become 3.75 g.
            ("beeswax, 1.25 g more, to 3.75 g: ", "1.25"),
            ("polyglyceryl-3-diisostearate, 6.75 g: ", END),
        ],
    )
    assert "2 weigh the rest up to it: 150 g in all" in said
    batch = hand.batch(hand.open)
    assert str(batch.size) == "150 g"
    assert [line.target.value for line in batch.lines if line.target][:3] == [
        Decimal("21"), Decimal("3.75"), Decimal("6.75")
    ]  # fmt: skip
    assert weights(hand) == [
        ("beeswax", "2.5 g"), ("sunflower-oil", "21 g"), ("beeswax", "1.25 g")
    ]  # fmt: skip
    assert "weighed up to 7 g too much sunflower-oil" in batch.deviations[0].text


def test_too_much_and_taken_out_again(hand: Hand) -> None:
    hand.types(
        "weigh",
        answers=[("sunflower-oil, 14.00 g: ", "16"), ("1, 2 or 3: ", "3"),
                 ("sunflower-oil, 14.00 g: ", "14.03"), ("beeswax", END)],
    )  # fmt: skip
    assert weights(hand) == [("sunflower-oil", "14.03 g")]
    assert [w.struck for w in hand.batch(hand.open).weighings] == ["taken out again", None]


def test_a_second_portion_on_top(hand: Hand) -> None:
    hand.does("weigh", "sunflower-oil=10")
    hand.types(
        "weigh",
        answers=[("beeswax", "-"), ("has 10 g: ", "4"), ("1 or 2: ", "2"), ("beeswax", END)],
    )
    assert weights(hand) == [("sunflower-oil", "10 g"), ("sunflower-oil", "4 g")]


def test_the_pack_is_named(hand: Hand) -> None:
    said = hand.types(
        "weigh",
        answers=[("sunflower-oil, 14.00 g: ", "l nope"),
                 ("no lot nope. ", ""), ("beeswax, ", "l beeswax-0815"),
                 ("beeswax, ", "2.5"), ("polyg", END)],
    )  # fmt: skip
    assert "beeswax 2.5 g, lot beeswax-0815" in said


def test_at_the_end_nothing_is_open(hand: Hand) -> None:
    lines = [line.ingredient for line in hand.batch(hand.open).lines]
    said = hand.types("weigh", answers=[(f"{name}, ", "*") for name in lines])
    assert "stopped" not in said
    assert "in the pot" in said
    assert f"labbook close {hand.open}" in said
    assert len(weights(hand)) == len(lines)


def test_the_commands_to_type_next_are_for_a_person(hand: Hand) -> None:
    assert re.search(r"^then +labbook ", hand.types("show", "HC"), re.MULTILINE)
    assert "then  " not in hand.says("show", "HC")


@pytest.mark.parametrize("columns", [0, 80, 100])
def test_the_screen_keeps_to_its_width(hand: Hand, columns: int) -> None:
    ran = ended(at_terminal("show", hand.open, cwd=hand.root, columns=columns))
    widest = max(len(line) for line in ran.out.splitlines())
    assert 60 < widest <= 80  # a terminal that was never told its size is taken as 80 wide


def test_a_long_command_keeps_apart_from_its_gloss(hand: Hand) -> None:
    ran = ended(at_terminal("init", "other", cwd=hand.root.parent))
    assert "labbook formula new HC --type water-in-oil\n" in ran.out
