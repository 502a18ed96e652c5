"""Laws that hold for any pair and any other batches."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from labbook.evidence.book import Book
from labbook.evidence.factors import Question, ask, ask_formula
from labbook.model.batch import Batch, Dropped
from labbook.model.quantities import parse_quantity as q
from tests.evidence.factors.notebooks import START, TODAY, a_batch, a_book, a_rule, pH

RULES = (
    a_rule("salt", "amount", "more helps", functions=("electrolyte",)),
    a_rule("emulsifier", "amount", "more helps", functions=("emulsifier",), strength="plausible"),
    a_rule("gap", "gap", "more hurts", step="combine"),
    a_rule("mixer", "shear", "optimum"),
)

recipes: st.SearchStrategy[Any] = st.fixed_dictionaries(
    {},
    optional={
        "salt": st.sampled_from(["0.2", "0.4", "0.6", "0.8", "1.2"]),
        "glyceryl-oleate": st.sampled_from(["3.0", "3.6", "4.5"]),
        "sunflower-oil": st.sampled_from(["15", "20", "25"]),
        "lavender-oil": st.sampled_from([("C", "0.5"), ("A", "0.5")]),
    },
)
doings = st.fixed_dictionaries(
    {},
    optional={
        "took": st.sampled_from([q("1 min"), q("3 min"), q("6 min"), None]),
        "rate": st.sampled_from(["slow", "poured", None]),
        "speed": st.sampled_from(["3000 rpm", "9000 rpm", "2", None]),
    },
)


@st.composite
def made(draw: st.DrawFn, short: str, day: int = 0) -> Batch:
    """A batch that differs from the usual one in some things."""
    lots = draw(st.dictionaries(st.sampled_from(["salt", "sunflower-oil"]),
                                st.sampled_from(["p1", "p2", "p3"])))  # fmt: skip
    return a_batch(
        short,
        day,
        lines=draw(recipes),
        lots=lots,
        b=draw(st.sampled_from(["50 °C", "58 °C", "64 °C", "71 °C", None])),
        done=draw(doings),
        mixer=draw(st.sampled_from(["blender", "whisk", "no-name", None])),
        readings=draw(st.sampled_from([(), pH("4.9"), pH("5.6")])),
    )


@st.composite
def questions(draw: st.DrawFn, most: int = 5) -> tuple[Batch, Batch, list[tuple[Batch, bool]]]:
    """A failed batch, a good one, and others that held or failed."""
    count = draw(st.integers(0, most))
    others = [(draw(made(f"{n}X", 2 + n)), draw(st.booleans())) for n in range(count)]
    return draw(made("9T", 1)), draw(made("4M")), others


def book_of(pair: tuple[Batch, Batch], others: list[tuple[Batch, bool]], **more: Any) -> Book:
    return a_book((pair[0], False), (pair[1], True), *others, rules=RULES, **more)


def asked(pair: tuple[Batch, Batch], others: list[tuple[Batch, bool]], **more: Any) -> Question:
    return ask(book_of(pair, others, **more), pair[0].id, pair[1].id, until=7)


@settings(max_examples=60, deadline=None)
@given(questions())
def test_the_pair_stands_on_either_side_of_each_factor(drawn: Any) -> None:
    bad, good, others = drawn
    for factor in asked((bad, good), others).factors:
        assert factor.sides[bad.id].side is True
        assert factor.sides[good.id].side is False
        assert 0.05 <= factor.prior <= 0.5


@settings(max_examples=60, deadline=None)
@given(questions())
def test_the_pair_turned_round_swaps_the_sides(drawn: Any) -> None:
    bad, good, others = drawn
    one = asked((bad, good), others)
    other = asked((good, bad), others)
    turned = {f.key: f for f in other.factors}
    assert {f.key for f in one.factors} == set(turned)
    for factor in one.factors:
        back = turned[factor.key]
        assert (factor.failed, factor.good) == (back.good, back.failed)
        for unit, side in factor.sides.items():
            if factor.rule is None and back.rule is None:
                swapped = back.sides[unit].side
                assert side.side == (None if swapped is None else not swapped)


@settings(max_examples=40, deadline=None)
@given(questions(), st.randoms(use_true_random=False))
def test_the_order_of_batches_is_immaterial(drawn: Any, chance: Any) -> None:
    bad, good, others = drawn
    book = book_of((bad, good), others)
    items = list(book.batches.items())
    chance.shuffle(items)
    shuffled = replace(book, batches=dict(items))
    assert ask(book) == ask(shuffled)
    assert ask_formula(book, "HC") == ask_formula(shuffled, "HC")


@settings(max_examples=40, deadline=None)
@given(questions(3), made("8Q", 5), st.booleans())
def test_a_dropped_or_too_young_batch_changes_nothing(drawn: Any, more: Batch, held: bool) -> None:
    bad, good, others = drawn
    before = ask(book_of((bad, good), others), bad.id)
    gone = replace(more, dropped=Dropped(time=START, why="spilt"))
    assert ask(book_of((bad, good), [*others, (gone, held)]), bad.id) == before
    day = (TODAY - START.date()).days - 4
    made_ = START + timedelta(days=day)
    young = replace(more, id="HC-260528-8Q", made=made_, closed=None)
    book = book_of((bad, good), others)
    with_young = replace(book, batches={**book.batches, young.id: young},
                         contents={**book.contents, young.id: book.contents[bad.id]})  # fmt: skip
    after = ask(with_young, bad.id)
    assert after.left_out == ((young.id, "not watched in room"),)
    assert replace(after, left_out=()) == before


@settings(max_examples=40, deadline=None)
@given(questions(3), st.booleans())
def test_a_batch_like_the_failed_one_is_on_its_side_of_everything(drawn: Any, held: bool) -> None:
    bad, good, others = drawn
    twin = replace(bad, id="HC-260106-9U")
    found = asked((bad, good), [*others, (twin, held)])
    assert all(f.sides[twin.id].side is True for f in found.factors if f.kind != "session")
    like_good = replace(good, id="HC-260105-4N")
    found = asked((bad, good), [*others, (like_good, held)])
    assert all(f.sides[like_good.id].side is False for f in found.factors if f.kind != "session")


@settings(max_examples=30, deadline=None)
@given(questions())
def test_every_row_has_a_side_of_every_factor(drawn: Any) -> None:
    bad, good, others = drawn
    for found in (asked((bad, good), others), ask_formula(book_of((bad, good), others), "HC")):
        units = [row.unit for row in found.rows]
        assert all(list(factor.sides) == units for factor in found.factors)
        assert len({factor.name for factor in found.factors}) == len(found.factors)
