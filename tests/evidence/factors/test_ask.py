"""Which failure, which good batch, until when, and who counts."""

from dataclasses import replace
from datetime import date

import pytest

from labbook.evidence.factors import ask, horizons
from labbook.model.batch import Dropped
from labbook.model.errors import Unclear, UnknownName
from labbook.model.formula import Limit
from labbook.model.quantities import parse_quantity as q
from tests.evidence.factors.notebooks import (
    BAD,
    FORMULA,
    GOOD,
    START,
    TODAY,
    a_batch,
    a_book,
    looked,
    named,
    standing,
)

FAILED = a_batch("9T", 10, lines={"salt": "0.4"})
HELD = a_batch("4M")
OTHER = a_batch("6R", 20, b="58 °C")


def test_the_latest_failure_is_held_against_the_batch_that_differs_least() -> None:
    far = a_batch("3K", 9, lines={"salt": "0.8", "glyceryl-oleate": "3.0"}, b="50 °C")
    book = a_book((FAILED, False), (HELD, True), (far, True), (a_batch("1B", 2, b="40 °C"), False))
    found = ask(book)
    assert (found.failed, found.good, found.runner_up) == (FAILED.id, HELD.id, far.id)
    assert found.event.group == "separation"
    assert (found.event.condition, found.event.unit) == ("room", "days")
    assert found.modes == ("water below",)


def test_a_trial_that_failed_is_no_new_question() -> None:
    trial = a_batch("7S", 20, lines={"salt": "0.4"}, asks=(FAILED.id, HELD.id))
    control = a_batch("8T", 20, asks=(FAILED.id, HELD.id))
    book = a_book((FAILED, False), (HELD, True), (trial, False), (control, False))
    assert ask(book).failed == FAILED.id
    assert ask(book, trial.id).failed == trial.id
    gone = replace(FAILED, dropped=Dropped(time=START, why="spilt"))
    only = a_book((gone, False), (HELD, True), (trial, False))
    assert ask(only).failed == trial.id  # nothing else is left to ask about


def test_of_two_batches_alike_the_closest_in_time_is_the_good_one() -> None:
    near = a_batch("2C", 12)
    book = a_book((FAILED, False), (HELD, True), (near, True))
    assert ask(book).good == near.id
    assert ask(book).runner_up == HELD.id


def test_two_named_batches_are_taken_in_either_order() -> None:
    book = a_book((FAILED, False), (HELD, True), (OTHER, True))
    assert ask(book, FAILED.id, OTHER.id) == ask(book, OTHER.id, FAILED.id)
    assert ask(book, HELD.id, FAILED.id).failed == FAILED.id


def test_of_two_that_failed_the_later_one_is_good_for_as_long_as_it_held() -> None:
    book = a_book((FAILED, False), (HELD, False))
    late = looked(HELD, (7, 0), (28, 0), (60, 3))
    book = replace(book, stability={**book.stability, HELD.id: late})
    found = ask(book, HELD.id, FAILED.id)
    assert (found.failed, found.good) == (FAILED.id, HELD.id)
    assert found.event.horizon == 7


def test_a_batch_not_watched_long_enough_can_not_be_the_good_one() -> None:
    book = a_book((FAILED, False), (HELD, True))
    short = replace(book, stability={**book.stability, HELD.id: looked(HELD, (1, 0), (6, 0))})
    with pytest.raises(Unclear, match="No other batch was watched intact in room until day 7"):
        ask(short)
    with pytest.raises(Unclear, match="4M was not watched intact in room until day 7"):
        ask(short, FAILED.id, HELD.id)


def test_the_good_batch_has_to_be_watched_in_the_same_condition() -> None:
    book = a_book((FAILED, False), (HELD, True))
    cold = replace(book, jars={**book.jars, HELD.id: standing(HELD, {"condition": "fridge"})})
    with pytest.raises(Unclear, match="in room"):
        ask(cold)


def test_dropped_batches_are_out() -> None:
    gone = Dropped(time=START, why="wrong jar")
    book = a_book((FAILED, False), (HELD, True), (replace(OTHER, dropped=gone), True))
    assert OTHER.id not in {row.unit for row in ask(book).rows}
    with pytest.raises(UnknownName, match="was dropped"):
        ask(book, FAILED.id, OTHER.id)
    with pytest.raises(Unclear, match="No batch has failed"):
        ask(a_book((replace(FAILED, dropped=gone), False), (HELD, True)))


def test_until_before_the_failure_is_no_question() -> None:
    book = a_book((FAILED, False), (HELD, True))
    with pytest.raises(Unclear, match="9T failed by day 7, later than day 3"):
        ask(book, FAILED.id, until=3)


def test_a_horizon_beyond_the_failed_batch_s_age_is_no_question() -> None:
    book = a_book((FAILED, False), (HELD, True), today=date(2026, 2, 10))
    with pytest.raises(Unclear, match="9T is 26 days old, younger than day 28"):
        ask(book, FAILED.id, until=28)


def states(
    question_until: float | None = None, **fates: tuple[tuple[float, int], ...]
) -> dict[str, str]:
    """Who counts how, beside a pair that failed by day 7 and held until day 28."""
    others = {name: a_batch(name, 3) for name in fates}
    book = a_book((FAILED, False), (HELD, True), *((one, True) for one in others.values()))
    looks = {others[name].id: looked(others[name], *looks) for name, looks in fates.items()}
    found = ask(replace(book, stability={**book.stability, **looks}), FAILED.id, HELD.id,
                until=question_until)  # fmt: skip
    state: dict[str, str] = {row.unit[-2:]: row.state for row in found.rows}
    state |= {unit[-2:]: "later" for unit in found.later}
    return {name: state.get(name, "out") for name in fates}


def test_failed_survived_undecided_and_later() -> None:
    found = states(
        7,
        A1=((1, 0), (7, 3)),  # failed by the horizon
        B1=((7, 0), (14, 0)),  # intact beyond it
        C1=((1, 0), (14, 3)),  # somewhere between day 1 and day 14
        D1=((1, 0),),  # old enough, but nobody looked again
        E1=((7, 0), (60, 3)),  # failed after it
    )
    assert found == {
        "A1": "failed", "B1": "intact", "C1": "undecided", "D1": "undecided", "E1": "later",
    }  # fmt: skip


def test_a_failure_of_another_group_ends_the_watching() -> None:
    mouldy = a_batch("8V", 3)
    book = a_book((FAILED, False), (HELD, True), (mouldy, True))
    looks = looked(mouldy, (1, 0), (3, 0))
    mould = looked(mouldy, (5, 3), mode="mould").looks
    both = replace(looks, looks=(*looks.looks, *(replace(m, id="m1") for m in mould)))
    found = ask(replace(book, stability={**book.stability, mouldy.id: both}), FAILED.id)
    row = next(row for row in found.rows if row.unit == mouldy.id)
    assert row.state == "undecided"
    assert "microbial ended the watching" in row.text


def test_only_batches_made_long_enough_ago_count_failed_ones_too() -> None:
    young = a_batch("2Y", 0)
    today = date(2026, 2, 2)
    early = replace(young, id="HC-260131-2Y", made=START.replace(month=1, day=31))
    early = replace(early, steps=(), closed=None)
    book = a_book((FAILED, False), (HELD, True), (early, False), today=today)
    book = replace(book, stability={**book.stability, early.id: looked(early, (1, 3))})
    found = ask(book, FAILED.id, HELD.id)
    assert (early.id, "too young") in found.left_out
    assert early.id not in {row.unit for row in found.rows}
    later = ask(replace(book, today=TODAY), FAILED.id, HELD.id)
    assert {row.unit: row.state for row in later.rows}[early.id] == "failed"


def test_the_horizon_takes_in_a_later_failure_where_that_decides_more_batches() -> None:
    slow = a_batch("5G", 3)
    book = a_book((FAILED, False), (HELD, True), (slow, True))
    book = replace(book, stability={**book.stability, slow.id: looked(slow, (1, 0), (14, 3))})
    found = ask(book, FAILED.id, HELD.id)
    assert found.event.horizon == 14
    assert {row.unit: row.state for row in found.rows}[slow.id] == "failed"
    assert ask(book, FAILED.id, HELD.id, until=7).event.horizon == 7
    assert horizons(book, found) == (7, 28)


def test_the_horizon_goes_no_further_than_the_acceptance_time() -> None:
    slow = a_batch("5G", 3)
    limit = Limit(condition="room", until=q("10 d"), modes=("separation",), worst_grade=1)
    book = a_book(
        (FAILED, False),
        (HELD, True),
        (slow, True),
        formulas={"HC": replace(FORMULA, acceptance=(limit,))},
    )
    book = replace(book, stability={**book.stability, slow.id: looked(slow, (1, 0), (14, 3))})
    found = ask(book, FAILED.id, HELD.id)
    assert (found.event.horizon, found.until_most) == (7, 10)


def test_a_batch_that_failed_while_it_was_made_counts_at_once_and_everywhere() -> None:
    broken = a_batch("7X", 5)
    book = a_book((FAILED, False), (HELD, True), (broken, None))
    jarless = {key: jars for key, jars in book.jars.items() if key != broken.id}
    pot = looked(broken, (0, 3), jar="bulk", mode="never formed")
    book = replace(book, jars=jarless, stability={**book.stability, broken.id: pot})
    found = ask(book, FAILED.id, HELD.id)
    assert {row.unit: row.state for row in found.rows}[broken.id] == "failed"
    own = ask(book, broken.id)
    assert (own.event.condition, own.event.horizon) == ("room", 7)
    assert ask(book, broken.id, until=0).event.horizon == 0


def test_cycles_of_freezing_are_counted_as_such() -> None:
    bad, good = a_batch("1F", 1, lines={"salt": "0.3"}), a_batch("2G", 2)
    frozen = {"condition": "freeze-thaw"}
    jars = {b.id: standing(b, frozen) for b in (bad, good)}
    looks = {}
    for batch, grades in ((bad, (0, 3)), (good, (0, 0))):
        plain = looked(batch, *((n + 1.0, grade) for n, grade in enumerate(grades))).looks
        cycles = tuple(replace(look, cycle=n) for n, look in enumerate(plain, 1))
        looks[batch.id] = replace(looked(batch), looks=cycles)
    found = ask(a_book((bad, None), (good, None), jars=jars, stability=looks))
    assert (found.event.unit, found.event.horizon) == ("cycles", 2)
    assert [row.state for row in found.rows] == ["failed", "intact"]


def test_a_run_of_a_centrifuge_knows_no_time() -> None:
    bad, good = a_batch("1F", 1, lines={"salt": "0.3"}), a_batch("2G", 2)
    looks = {
        bad.id: looked(bad, (20, 3), condition="centrifuge"),
        good.id: looked(good, (1, 0), condition="centrifuge"),
    }
    found = ask(a_book((bad, None), (good, None), stability=looks))
    assert (found.event.unit, found.event.condition) == ("run", "centrifuge")
    assert found.event.horizon == 0
    assert [row.state for row in found.rows] == ["failed", "intact"]
    assert found.good == good.id


def test_no_difference_at_all() -> None:
    twin = replace(FAILED, id="HC-260115-3Q")
    found = ask(a_book((FAILED, False), (twin, True)))
    assert found.nothing
    assert found.factors == ()


def test_a_session_is_a_difference_only_where_nothing_else_is_one() -> None:
    twin = a_batch("3Q", 11, lines={"salt": "0.4"})
    found = ask(a_book((FAILED, False), (twin, True)))
    assert found.nothing
    assert [(f.kind, f.failed, f.good) for f in found.factors] == [
        ("session", "2026-01-15", "2026-01-16")
    ]
    assert "session" not in named(ask(a_book((FAILED, False), (HELD, True))))


def test_the_formulas_of_the_family_count_and_strangers_do_not() -> None:
    child = replace(FORMULA, code="SOFT", id="f-soft", from_="HC@1")
    grandchild = replace(FORMULA, code="SILK", id="f-silk", from_="SOFT@2")
    stranger = replace(FORMULA, code="FOOT", id="f-foot")
    formulas = {f.code: f for f in (FORMULA, child, grandchild, stranger)}
    batches = [(FAILED, False), (HELD, True)]
    for number, one in enumerate((child, grandchild, stranger)):
        pin = replace(HELD.formula, id=one.id, code=one.code)
        batches.append((replace(HELD, id=f"{one.code}-260110-{number}Z", formula=pin), True))
    found = ask(a_book(*batches, formulas=formulas), FAILED.id, HELD.id)
    assert found.codes == ("HC", "SILK", "SOFT")


def test_bad_and_good_are_the_looks_that_the_tests_think_they_are() -> None:
    assert BAD[-1] == (7, 3)
    assert GOOD[-1] == (28, 0)
