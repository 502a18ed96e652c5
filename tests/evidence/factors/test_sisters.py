"""Parts of one bulk: what they share counts once, and what split them is told apart."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labbook.evidence.answer import answer, rows_of
from labbook.evidence.causes import Row, Suspect, reckon
from labbook.evidence.factors import Question, ask
from labbook.model.batch import Batch, Weighing
from labbook.model.quantities import parse_quantity as q
from tests.evidence.factors.notebooks import a_batch, a_book, a_rule, named, sides, split_from
from tests.evidence.factors.test_laws import made

COLD = "water phase when combined"
BULK = a_batch("2P", 3, b="50 °C")
GOOD = a_batch("4M")
OUTSIDE = 0.2


def scented(bulk: Batch, short: str, mass: str = "0.5 g", name: str = "lavender-oil") -> Batch:
    """A part of a bulk with something weighed into it."""
    drop = Weighing(id=f"w-{short}", ingredient=name, phase="C", mass=q(mass))
    return replace(split_from(bulk, short), weighings=(drop,))


def asked(
    bad: Batch, *rows: tuple[Batch, bool | None], good: Batch = GOOD, **more: Any
) -> Question:
    book = a_book((good, True), (bad, False), *rows, **more)
    return ask(book, bad.id, good.id)


def odds(question: Question, what: str) -> float:
    """How probable it is that just one factor is a cause, against none, among all the rows."""
    at = [factor.what for factor in question.factors].index(what)
    rows = [Row(row.name, row.failed, (row.sides[at],)) for row in rows_of(question)]
    found = reckon([Suspect(what, 0.05)], rows, outside=OUTSIDE)
    return found.marginals[0] / (1 - found.marginals[0])


# Parts that ended alike --------------------------------------------------------------------------


def test_of_parts_that_all_failed_none_of_what_was_added_is_to_blame() -> None:
    plain, one, two = (
        split_from(BULK, "5A"),
        scented(BULK, "5B"),
        scented(BULK, "5C", "0.4 g", "salt"),
    )
    found = asked(one, (BULK, None), (plain, False), (two, False))
    assert sides(found, COLD) == {"4M": False, "5B": True}
    scent = named(found)["lavender-oil"].sides[one.id]
    assert (scent.side, scent.why) == (False, "shared")
    assert scent.text == "0.99 %, and 5A failed without"
    assert dict(found.left_out)[plain.id] == f"counts as one with {one.id}"
    told = {one.what: one for one in answer(found, "HC").suspects}
    assert (told["lavender-oil"].like_failed.of, told["lavender-oil"].like_good.of) == (0, 1)
    assert told[COLD].like_failed.failed == 1


def test_a_rule_does_not_speak_for_what_a_part_failed_without() -> None:
    scent = a_rule("scent", "amount", functions=("fragrance",))
    one = scented(BULK, "5B")
    alone = asked(one, (BULK, None), rules=[scent])
    assert named(alone)["lavender-oil"].prior == pytest.approx(0.5)
    found = asked(one, (BULK, None), (split_from(BULK, "5A"), False), rules=[scent])
    assert named(found)["lavender-oil"].prior == 0.05


def test_parts_that_all_held_held_with_whatever_any_of_them_had() -> None:
    bad = a_batch("9T", 9, lines={"lavender-oil": ("C", "1.0")}, b="50 °C")
    parts = (split_from(BULK, "5A"), True), (scented(BULK, "5B"), True)
    found = asked(bad, (BULK, None), *parts)
    assert sides(found, "lavender-oil") == {"4M": False, "9T": True, "5B": True}
    assert sides(found, COLD) == {"4M": False, "9T": True, "5B": True}


def test_two_scents_that_held_in_two_parts_are_one_bulk_that_held_with_both() -> None:
    oils = {"lavender-oil": ("C", "1.0"), "shea-butter": ("A", "1.0")}
    bad = a_batch("9T", 9, lines=oils, b="50 °C")
    parts = (scented(BULK, "5B"), True), (scented(BULK, "5C", name="shea-butter"), True)
    found = asked(bad, (BULK, None), *parts)
    assert sides(found, "lavender-oil") == {"4M": False, "9T": True, "5B": True}
    assert sides(found, "shea-butter") == {"4M": False, "9T": True, "5B": True}
    assert named(found)["shea-butter"].sides[parts[0][0].id].text == "0.99 % in 5C"


def test_the_good_batch_of_the_pair_stays_as_it_is() -> None:
    warm = a_batch("2W", 3)
    plain = split_from(warm, "5A")
    bad = a_batch("9T", 9, lines={"lavender-oil": ("C", "1.0")})
    found = asked(bad, (warm, None), (scented(warm, "5B"), True), good=plain)
    assert sides(found, "lavender-oil") == {"5A": False, "9T": True, "5B": True}


# Parts that ended otherwise ----------------------------------------------------------------------


def test_a_part_that_held_and_lacks_what_failed_is_held_against_it_alone() -> None:
    one, plain = scented(BULK, "5B"), split_from(BULK, "5A")
    found = asked(one, (BULK, None), (plain, True))
    assert sides(found, "lavender-oil") == {"4M": False, "5B": True}
    said = f"held, but counts as one with {one.id}, which failed"
    assert dict(found.left_out)[plain.id] == said
    near = ask(a_book((GOOD, True), (BULK, None), (one, False), (plain, True)), one.id)
    assert (near.good, [f.what for f in near.factors]) == (plain.id, ["lavender-oil"])


def test_a_part_that_held_with_more_speaks_for_what_it_has_more() -> None:
    bad = a_batch("9T", 9, lines={"lavender-oil": ("C", "1.0")}, b="50 °C")
    one, plain = scented(BULK, "5B"), split_from(BULK, "5A")
    found = asked(bad, (BULK, None), (plain, False), (one, True))
    assert sides(found, "lavender-oil") == {"4M": False, "9T": True, "5A": False, "5B": True}
    shared = named(found)[COLD].sides[one.id]
    assert (shared.side, shared.why, shared.text) == (None, "shared", f"shared with {plain.id}")
    told = {one.what: one for one in answer(found, "HC").suspects}
    assert (told[COLD].like_failed.of, told[COLD].like_good.of) == (2, 1)
    assert told[COLD].between == told[COLD].unrecorded == ()


def test_two_that_failed_each_with_something_of_its_own_stay_two() -> None:
    warm = a_batch("2W", 3)
    oils = {"lavender-oil": ("C", "1.0"), "shea-butter": ("A", "1.0")}
    bad = a_batch("9T", 9, lines=oils)
    parts = (scented(warm, "5B"), False), (scented(warm, "5C", name="shea-butter"), False)
    found = asked(bad, (warm, None), *parts)
    assert sides(found, "lavender-oil") == {"4M": False, "9T": True, "5B": True, "5C": False}
    assert sides(found, "shea-butter") == {"4M": False, "9T": True, "5B": False, "5C": True}


# The law -----------------------------------------------------------------------------------------


@st.composite
def families(draw: st.DrawFn) -> tuple[Batch, list[tuple[Batch, bool]], Batch, Batch]:
    """A cold bulk, other batches, a part of the bulk that failed, and a sister of that part."""
    bulk = replace(
        draw(made("2P", 3)), lines=BULK.lines, weighings=BULK.weighings, steps=BULK.steps
    )
    count = draw(st.integers(0, 5))
    others = [(draw(made(f"{i}X", 4 + i)), draw(st.booleans())) for i in range(count)]

    def a_part(short: str) -> Batch:
        if draw(st.booleans()):
            return split_from(bulk, short)
        name = draw(st.sampled_from(["lavender-oil", "salt", "sunflower-oil"]))
        return scented(bulk, short, draw(st.sampled_from(["0.4 g", "2.0 g"])), name)

    return bulk, others, a_part("5A"), a_part("5B")


def changes(drawn: Any, *, held: bool) -> list[float]:
    """By how much the sister changes the odds of each thing of the making that the two share."""
    bulk, others, part, sister = drawn
    rows = [(bulk, None), *others]
    before = ask(a_book((GOOD, True), (part, False), *rows), part.id, GOOD.id, until=7)
    book = a_book((GOOD, True), (part, False), *rows, (sister, held))
    after = ask(book, part.id, GOOD.id, until=7)
    shared = [f.what for f in before.factors if f.key[0] not in ("lines", "session")]
    assert COLD in shared
    return [odds(after, what) / odds(before, what) for what in shared]


@settings(max_examples=150, deadline=None)
@given(families())
def test_a_sister_that_failed_too_changes_nothing_for_what_she_shares(drawn: Any) -> None:
    found = changes(drawn, held=False)
    assert found == pytest.approx([1.0] * len(found))


@settings(max_examples=150, deadline=None)
@given(families())
def test_nor_does_one_that_held_without_anything_of_her_own(drawn: Any) -> None:
    bulk, others, part, sister = drawn
    alone = split_from(bulk, sister.short)
    found = changes((bulk, others, part, alone), held=True)
    assert found == pytest.approx([1.0] * len(found))
