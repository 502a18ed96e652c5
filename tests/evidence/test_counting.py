"""How many failed until an age: who is counted, until when, and what that can say."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.counting import Unit, bulk_of, count, units_of
from labbook.evidence.outcomes import accelerated, outcomes_of
from labbook.evidence.statistics.intervals import Interval
from labbook.model.batch import Parent
from labbook.model.results.looking import Count
from tests.evidence.watched import a_batch, a_formula, seen, split_off, standing, written


def unit(name: str, low: float, high: float | None = None, age: float = 100) -> Unit:
    return Unit(name, Interval(low, high, name), age)


def counted(*units: Unit, least: float = 0, kind: str = "days") -> Count | None:
    return count(
        units, what="batches", condition="room", group="separation", unit=kind, least=least
    )


def told(one: Count | None) -> tuple[int, int, float, tuple[str, ...]]:
    assert one is not None
    return (one.failed, one.of, one.until, one.undecided)


def test_none_of_three_is_the_printed_bound() -> None:
    """Clopper and Pearson (Biometrika 26:404, 1934): 0 of 3, one-sided 95 %: 1 - 0.05^(1/3)."""
    one = counted(unit("C3", 60), unit("R8", 28), unit("K2", 28))
    assert told(one) == (0, 3, 28, ())
    assert one is not None
    assert (one.low, round(one.high, 3)) == (0.0, 0.632)


def test_one_of_one_says_little_and_one_of_two_less_than_nothing() -> None:
    one = counted(unit("9T", 1, 7))
    assert told(one) == (1, 1, 7, ())
    assert one is not None
    assert one.low == pytest.approx(0.05)
    assert one.high == 1.0
    # The two-sided 95 % bounds of 1 of 2 in the tables of Clopper and Pearson: 0.013 to 0.987.
    two = counted(unit("9T", 1, 7), unit("4M", 90))
    assert two is not None
    assert (round(two.low, 3), round(two.high, 3)) == (0.013, 0.987)


def test_one_young_batch_does_not_make_the_others_look_young() -> None:
    young, older = unit("7K", 1, age=7), unit("H5", 14, age=21)
    assert told(counted(young, older)) == (0, 2, 1, ())
    assert told(counted(young, older, least=7)) == (0, 1, 14, ("7K",))
    assert told(counted(young, least=7)) == (0, 1, 1, ())  # nobody was watched that long


def test_an_early_failure_does_not_count_while_its_young_sisters_are_left_out() -> None:
    """Made less long ago than the age that is counted to: neither a failure nor intact."""
    old = [unit(f"A{n}", 28) for n in range(4)]
    fresh = unit("B1", 1, 3, age=5)
    assert told(counted(*old, fresh, least=28)) == (0, 4, 28, ("B1",))


def test_a_failure_after_the_age_that_is_counted_to_is_named() -> None:
    one = counted(unit("A1", 28), unit("A2", 28), unit("A3", 60, 90))
    assert told(one) == (0, 3, 28, ())
    assert one is not None
    assert one.later == ("A3",)


def test_what_nobody_looked_at_is_undecided_and_nothing_at_all_is_no_count() -> None:
    assert told(counted(unit("A1", 28), Unit("A2", None, 99))) == (0, 1, 28, ("A2",))
    assert counted(Unit("A2", None, 99)) is None
    assert counted() is None


def test_cycles_are_counted_however_long_ago_the_batch_was_made() -> None:
    cold = [unit("K2", 1, 2, age=1), unit("H5", 3, age=1)]
    assert told(counted(*cold, kind="cycles")) == (1, 2, 3, ())


def test_sisters_of_a_split_are_one_bulk() -> None:
    parent = a_batch(id="HC-260122-1A")
    one = a_batch(id="HC-260122-2B", from_=split_off(parent.id))
    two = a_batch(id="HC-260122-3C", from_=split_off(one.id))
    rework = a_batch(id="HC-260122-4D", from_=(Parent(batch=parent.id, how="rework"),))
    held = {batch.id: batch for batch in (parent, one, two, rework)}
    assert {bulk_of(batch, held) for batch in (parent, one, two)} == {parent.id}
    assert bulk_of(rework, held) == rework.id
    # One that names itself, or each other, ends somewhere.
    around = {"HC-260122-2B": a_batch(id="HC-260122-2B", from_=split_off("HC-260122-2B"))}
    assert bulk_of(around["HC-260122-2B"], around) == "HC-260122-2B"


def test_a_bulk_failed_where_its_first_part_did_and_held_as_long_as_all_did() -> None:
    jars = standing("room")
    parts = [
        outcomes_of(a_batch(), jars, written(looks), a_formula())
        for looks in ([seen(7), seen(28)], [seen(1), seen(14, 3, "water below")])
    ]
    mine = [next(o for o in its if o.group == "separation") for its in parts]
    (one,) = units_of([("bulk", 40, mine[0]), ("bulk", 30, mine[1])])
    assert (one.fate, one.age) == (Interval(1, 14, "bulk"), 40)
    (held,) = units_of([("bulk", 40, mine[0])])
    assert held.fate == Interval(28, None, "bulk")


UNITS = st.lists(
    st.builds(
        lambda low, high, age: unit("u", low, low + high if high else None, age),
        st.integers(0, 90), st.none() | st.integers(1, 30), st.integers(0, 120),
    ),
    min_size=1, max_size=8,
)  # fmt: skip


@given(UNITS)
def test_the_order_of_batches_is_immaterial_and_none_is_lost(units: list[Unit]) -> None:
    mixed = sorted(units, key=lambda one: (one.age, id(one)))
    one, other = counted(*units), counted(*mixed)
    if one is None or other is None:
        assert one is other is None
        return
    assert (one.failed, one.of, one.until) == (other.failed, other.of, other.until)
    assert one.of + len(one.undecided) == len(units)
    assert 0 <= one.low <= one.failed / one.of <= one.high <= 1


@pytest.mark.parametrize(
    ("condition", "test"),
    [
        ("room", False), ("fridge", False), ("25 °C", False), ("40 °C", True), ("45C", True),
        ("freeze-thaw", True), ("centrifuge", True), ("window", False), ("30 °C", True),
        ("-18 °C", False), ("37,5 °C", True),
    ],
)  # fmt: skip
def test_which_conditions_are_tests_beside_real_time(condition: str, test: bool) -> None:
    """From 30 °C on: common practice, no source."""
    assert accelerated(condition) is test


def test_what_can_have_become_of_a_batch_that_was_not_watched_widens_the_bounds() -> None:
    """Left out, a fourth batch that may well have failed made the other three look better."""
    one = counted(*(unit(name, 28) for name in ("C3", "R8", "K2")), unit("N6", 14), least=28)
    assert told(one) == (0, 3, 28, ("N6",))
    assert one is not None
    # Clopper and Pearson, one-sided 95 %, 1 of 4: the p at which (1-p)^4 + 4p(1-p)^3 is 0.05.
    assert (one.low, round(one.high, 3), one.widened) == (0.0, 0.751, 1)
    young = counted(
        *(unit(name, 28) for name in ("C3", "R8", "K2")), unit("N6", 14, age=20), least=28
    )
    assert young is not None
    assert (round(young.high, 3), young.widened) == (0.632, 0)
