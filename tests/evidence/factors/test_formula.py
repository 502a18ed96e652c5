"""Without a pair: cuts and names over all batches, what failed ones share, the nine questions."""

from dataclasses import replace
from typing import Any

import pytest

from labbook.evidence.book import Book
from labbook.evidence.factors import ask_formula, shared, unanswered
from labbook.model.batch import Batch
from labbook.model.errors import Unclear, UnknownName
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from tests.evidence.factors.notebooks import (
    SHEETS,
    a_batch,
    a_book,
    a_lot,
    a_rule,
    looked,
    pH,
)


def salted(*values: tuple[str, bool], rules: Any = ()) -> Book:
    """Batches that differ in their salt; each held or failed."""
    return a_book(
        *((a_batch(f"{n}X", n, lines={"salt": salt}), held)
          for n, (salt, held) in enumerate(values)),
        rules=rules,
    )  # fmt: skip


def cuts(book: Book) -> list[tuple[str, str]]:
    return [(f.failed, f.good) for f in ask_formula(book, "HC").factors if f.what == "salt"]


def test_a_cut_lies_in_the_gap_between_two_values() -> None:
    assert cuts(salted(("0.4", False), ("0.8", True))) == [("up to 0.4 %", "from 0.8 %")]
    assert cuts(salted(("0.4", True), ("0.8", False))) == [("from 0.8 %", "up to 0.4 %")]
    assert cuts(salted(("0.75", False), ("0.8", True))) == []


def test_the_three_widest_gaps_share_one_chance() -> None:
    values = [("0.2", False), ("0.5", True), ("0.9", True), ("1.1", True), ("2.0", True)]
    found = [f for f in ask_formula(salted(*values), "HC").factors if f.what == "salt"]
    assert {f.failed for f in found} == {"up to 1.1 %", "up to 0.5 %", "up to 0.2 %"}
    assert sum(f.prior for f in found) == pytest.approx(0.05 / 2)  # either way could be worse
    rule = a_rule("salt", "amount", "more helps", functions=("electrolyte",))
    ruled = ask_formula(salted(*values, rules=[rule]), "HC").factors
    assert sum(f.prior for f in ruled) == pytest.approx(0.5)


def test_a_rule_turns_a_cut_the_way_that_it_calls_worse() -> None:
    rule = a_rule("salt", "amount", "more hurts", functions=("electrolyte",))
    book = salted(("0.4", False), ("0.8", True), rules=[rule])
    assert cuts(book) == [("from 0.8 %", "up to 0.4 %")]


def test_each_name_stands_against_the_rest() -> None:
    batches = [(a_batch("1A", 1, mixer="no-name"), False), (a_batch("2B", 2), True),
               (a_batch("3C", 3, mixer=None), True)]  # fmt: skip
    found = {f.failed: f for f in ask_formula(a_book(*batches), "HC").factors}
    assert set(found) == {"gift", "stick blender (high shear)"}
    gift = found["gift"]
    assert [side.side for side in gift.sides.values()] == [True, False, None]
    assert sum(f.prior for f in found.values()) == pytest.approx(0.05)


def test_what_fills_up_is_no_cut_of_its_own() -> None:
    names = {f.what for f in ask_formula(salted(("0.4", False), ("9.0", True)), "HC").factors}
    assert names == {"salt"}


def test_a_pair_is_not_named() -> None:
    found = ask_formula(salted(("0.4", False), ("0.8", True)), "HC")
    assert (found.failed, found.good, found.codes) == ("", "", ("HC",))
    assert [row.state for row in found.rows] == ["failed", "intact"]


def test_the_horizon_is_where_most_batches_are_decided() -> None:
    book = salted(("0.4", False), ("0.4", False), ("0.8", True))
    late = next(b for b in book.batches.values() if b.short == "1X")
    book = replace(book, stability={**book.stability, late.id: looked(late, (7, 0), (14, 3))})
    assert ask_formula(book, "HC").event.horizon == 14
    first = ask_formula(book, "HC", until=7)
    assert (first.event.horizon, first.later) == (7, (late.id,))


def test_without_a_failure_there_is_no_question() -> None:
    with pytest.raises(Unclear, match="No batch of HC has failed"):
        ask_formula(salted(("0.4", True)), "HC")
    with pytest.raises(UnknownName, match="no formula XX"):
        ask_formula(salted(("0.4", True)), "XX")


# What failed batches share -----------------------------------------------------------------------


def test_the_four_counts() -> None:
    book = salted(("0.4", False), ("0.4", False), ("0.4", True), ("0.8", True), ("0.8", False))
    best = shared(book, "HC").singles[0]
    assert [(part.what, part.text) for part in best.parts] == [("salt", "up to 0.4 %")]
    assert best.counts == (2, 1, 1, 1)
    assert not best.clean


def test_a_pair_is_told_where_it_says_more_than_either_alone() -> None:
    """Less water and one fragrance only failed together: after a maker's own reading of a log."""
    oil, lavender = {"sunflower-oil": "30"}, {"lavender-oil": ("C", "0.5")}
    both: dict[str, Any] = {**oil, **lavender}
    made = [(both, False), (both, False), (oil, True), (oil, True), (lavender, True),
            (lavender, True), ({}, True)]  # fmt: skip
    batches = [(a_batch(f"{n}X", n, lines=lines), held) for n, (lines, held) in enumerate(made)]
    found = shared(a_book(*batches), "HC")
    assert not found.singles[0].clean
    best = found.pairs[0]
    assert [(part.what, part.text) for part in best.parts] == [
        ("lavender-oil", "from 0.5 %"), ("sunflower-oil", "from 30 %"),
    ]  # fmt: skip
    assert (best.clean, best.counts) == (True, (2, 0, 0, 5))
    assert shared(a_book(*batches), "HC", pairs=False).pairs == ()


def test_features_of_the_same_batches_are_told_as_one() -> None:
    batches = [(a_batch("1A", 1, lines={"salt": "0.4", "glyceryl-oleate": "3"}), False),
               (a_batch("2B", 2), True)]  # fmt: skip
    found = shared(a_book(*batches), "HC").singles
    assert len(found) == 1
    assert {found[0].parts[0].what, found[0].alike[0][0].what} == {"salt", "glyceryl-oleate"}


def test_who_did_not_write_it_down_is_unknown() -> None:
    batches = [(a_batch("1A", 1, b="50 °C"), False), (a_batch("2B", 2), True),
               (a_batch("3C", 3, b=None), False)]  # fmt: skip
    found = shared(a_book(*batches), "HC").singles
    cold = next(one for one in found if one.parts[0].text == "up to 50 °C")
    assert (cold.counts, [unit[-2:] for unit in cold.unknown]) == ((1, 0, 0, 1), ["3C"])


# The nine questions ------------------------------------------------------------------------------


def questions(batch: Batch, **more: Any) -> dict[int, tuple[str, str]]:
    after = a_batch("9Z", 300)
    book = a_book((a_batch("1A", -10), True), (batch, False), (after, None), **more)
    return {one.number: (one.lacks, one.line) for one in unanswered(book, batch.id)}


FULL = a_batch("9T", readings=pH("4.9"), done={"with_": "blender"})


def test_a_full_record_leaves_nothing_open() -> None:
    assert questions(FULL) == {}


@pytest.mark.parametrize(
    ("batch", "number", "lacks", "line"),
    [
        (a_batch("9T", readings=pH("5"), done={"speed": None}), 2, "the speed",
         'labbook note 9t "s1 speed ..."'),
        (a_batch("9T", readings=pH("5"), mixer=None), 2, "with what it was mixed",
         'labbook note 9t "mixed with ..."'),
        (a_batch("9T", readings=pH("5"), b=None), 3, "how warm phase B was when combined",
         'labbook note 9t "B ..." --step s1'),
        (a_batch("9T"), 4, "no pH was read", 'labbook note 9t "pH ... water phase"'),
        (a_batch("9T", readings=pH("5"), lines={"sodium-benzoate": None}), 5,
         "no line is marked as the preservative", "labbook edit HC"),
        (a_batch("9T", readings=pH("5"), weighed=False), 5,
         "how much sodium-benzoate was weighed",
         'labbook batch correct 9t sodium-benzoate=... -m "..."'),
    ],
)  # fmt: skip
def test_what_the_record_does_not_say(batch: Batch, number: int, lacks: str, line: str) -> None:
    assert questions(batch)[number] == (lacks, line)


def test_a_blend_that_nobody_has_described() -> None:
    blend = Ingredient(id="emulsifying-wax", functions=("emulsifier", "blend"))
    sheets = Sheets({**SHEETS.by_file, "emulsifying-wax": blend})
    batch = replace(FULL, lines=a_batch("9T", lines={"emulsifying-wax": ("A", "2")}).lines,
                    weighings=())  # fmt: skip
    assert questions(batch, sheets=sheets)[1] == (
        "nothing says what emulsifying-wax is made of", "labbook edit emulsifying-wax",
    )  # fmt: skip


def test_where_it_stood_and_whether_it_was_made_again() -> None:
    book = a_book((FULL, False), jars={})
    found = {one.number: one.lacks for one in unanswered(book, FULL.id)}
    assert found == {
        7: "there is no batch before it to hold it against",
        8: "where its jars stood",
        9: "it wasn't made again",
    }


def test_packs_of_one_ingredient_stand_once() -> None:
    lots = {**a_lot("s1", "salt", grade="fine", supplier="A"),
            **a_lot("s2", "salt", grade="coarse", supplier="B")}  # fmt: skip
    batches = [(a_batch("1A", 1, lots={"salt": "s1"}), True),
               (a_batch("2B", 2, lots={"salt": "s2"}), False)]  # fmt: skip
    found = ask_formula(a_book(*batches, lots=lots), "HC").factors
    assert {f.kind for f in found} == {"grade"}


def test_packs_of_one_shopping_day_stand_once() -> None:
    old, new = {"salt": "s1", "sunflower-oil": "o1"}, {"salt": "s2", "sunflower-oil": "o2"}
    batches = [(a_batch("1A", 1, lots=old), True), (a_batch("2B", 2, lots=new), False)]
    found = [f.members for f in ask_formula(a_book(*batches), "HC").factors]
    assert found == [("lot of sunflower-oil", "lot of salt")] * 2
