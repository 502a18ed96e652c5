"""Outcomes of jars and batches, with the laws of the interval."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.departures import departures
from labbook.evidence.failure import GROUP_OF, GROUPS
from labbook.evidence.outcomes import BatchOutcome, noticed_in, outcomes_of
from labbook.evidence.sightings import age, corrected, current_looks
from labbook.model.batch import Batch, BatchStep, Done, Reading
from labbook.model.formula import FAILURE_MODES, Formula, Limit, Phase, Step
from labbook.model.jars import Jars, Look, Stay
from labbook.model.quantities import parse_quantity as q
from tests.evidence.watched import (
    CLOSED,
    COMBINED,
    FILLED,
    a_batch,
    a_formula,
    correction,
    day,
    seen,
    split_off,
    standing,
    written,
)


def found(
    looks: list[Look],
    condition: str = "room",
    group: str = "separation",
    *,
    batch: Batch | None = None,
    jars: Jars | None = None,
    formula: Formula | None = None,
    corrections: tuple[tuple[str, str, str | None], ...] = (),
) -> BatchOutcome:
    """The outcome of one condition and group."""
    record = written(looks, *(correction(*one) for one in corrections))
    its = outcomes_of(
        batch or a_batch(), jars or standing("room", "fridge"), record, formula or a_formula()
    )
    return next(o for o in its if (o.condition, o.group) == (condition, group))


def interval(outcome: BatchOutcome) -> tuple[str, float | None, float | None]:
    return outcome.state, outcome.last_intact, outcome.first_failed


# Groups and limits -------------------------------------------------------------------------------


def test_every_mode_of_the_format_belongs_to_a_group() -> None:
    assert set(GROUP_OF) == set(FAILURE_MODES)
    assert set(GROUPS) <= set(GROUP_OF)


@pytest.mark.parametrize(("grade", "state"), [(0, "intact"), (1, "intact"), (2, "failed")])
def test_without_limits_separation_fails_at_grade_2(grade: int, state: str) -> None:
    modes = ["water below"] if grade else []
    assert found([seen(1), seen(7, grade, *modes)]).state == state


def test_without_limits_other_groups_are_noticed_and_not_failed() -> None:
    looks = [seen(7, 3, "grains")]
    assert found(looks, group="structure").state == "intact"
    told = noticed_in(a_batch(), standing("room"), written(looks), a_formula())
    assert [(one.modes, one.grade, one.point) for one in told] == [(("grains",), 3, 7.0)]


def test_mould_fails_at_any_grade_whatever_a_limit_allows() -> None:
    mild = a_formula(Limit(condition="room", modes=("microbial",), worst_grade=3))
    assert found([seen(7, 1, "mould")], group="microbial", formula=mild).state == "failed"


def test_a_limit_speaks_for_its_condition_its_group_and_its_mode() -> None:
    mild = a_formula(
        Limit(condition="40C", modes=("separation",), worst_grade=2),
        Limit(condition="room", modes=("oil beads",), worst_grade=3),
    )
    warm = standing("40 °C")
    assert found([seen(7, 2, "cream layer")], "40 °C", jars=warm, formula=mild).state == "intact"
    assert found([seen(7, 3, "cream layer")], "40 °C", jars=warm, formula=mild).state == "failed"
    assert found([seen(7, 3, "oil beads")], formula=mild).state == "intact"
    assert found([seen(7, 3, "water beads")], formula=mild).state == "failed"


def test_of_limits_with_ends_the_strictest_that_still_holds_counts() -> None:
    strict_first = a_formula(
        Limit(condition="room", until=q("7 d"), modes=("separation",), worst_grade=0),
        Limit(condition="room", until=q("90 d"), modes=("separation",), worst_grade=2),
    )
    one, two = ("cream layer",), ("cream layer",)
    assert found([seen(7, 1, *one)], formula=strict_first).first_failed == 7
    assert found([seen(28, 2, *two)], formula=strict_first).state == "intact"
    late = found([seen(90), seen(120, 3, *two)], formula=strict_first)
    assert interval(late) == ("failed", 90, 120)
    assert late.wanted_until == 90


def test_a_reading_beyond_its_limit_fails_but_no_ph_of_a_water_in_oil_cream() -> None:
    limit = Limit(condition="room", reading="pH", from_=Decimal("4.5"), to=Decimal("5.2"))
    looks = [
        seen(1, reading="pH", value=Decimal("4.9")),
        seen(28, reading="pH", value=Decimal("5.3")),
    ]
    outcome = found(looks, group="chemical", formula=a_formula(limit))
    assert (interval(outcome), outcome.modes) == (("failed", 1, 28), ("pH",))
    w_o = a_formula(limit, emulsion="water-in-oil")
    assert found(looks, group="chemical", formula=w_o).state == "intact"


def test_a_grade_whose_mode_is_not_written_down_is_neither_intact_nor_failed() -> None:
    outcome = found([seen(1), seen(7, 3)])
    assert interval(outcome) == ("intact", 1, None)
    told = noticed_in(a_batch(), standing("room"), written([seen(7, 3)]), a_formula())
    assert [(one.modes, one.grade) for one in told] == [((), 3)]


# Intervals ---------------------------------------------------------------------------------------


def test_the_interval_of_a_batch_is_the_smallest_of_its_jars() -> None:
    two = standing("room", "room")
    looks = [
        seen(1),
        seen(7, 3, "water below"),
        seen(14, jar="2"),
        seen(28, 2, "oil beads", jar="2"),
    ]
    outcome = found(looks, jars=two)
    assert interval(outcome) == ("failed", 1, 7)
    assert (outcome.modes, outcome.grade, outcome.worst_grade) == (("water below",), 3, 3)
    assert [(one.jar, one.first_failed) for one in outcome.by_jar] == [("1", 7), ("2", 28)]
    assert interval(found([seen(90), seen(28, jar="2")], jars=two)) == ("intact", 28, None)


def test_what_nobody_looked_at_is_not_watched() -> None:
    outcome = found([seen(1)], "fridge")
    assert interval(outcome) == ("not watched", None, None)
    assert found([]).state == "not watched"


def test_failed_at_the_first_look_has_no_day_on_which_it_was_intact() -> None:
    assert interval(found([seen(7, 4, "inversion")])) == ("failed", None, 7)


def test_a_failure_of_another_group_ends_the_watching_with_that_look() -> None:
    looks = [seen(1), seen(7, 1, "mould"), seen(14, 4, "water below")]
    outcome = found(looks)
    assert interval(outcome) == ("intact", 7, None)
    assert outcome.by_jar[0].ended_by == "microbial"
    assert interval(found(looks, group="microbial")) == ("failed", 1, 7)


def test_freezing_and_thawing_counts_in_cycles() -> None:
    looks = [
        seen(3, 1, "oil beads", cycle=1),
        seen(5, 3, "oil beads", cycle=2),
        seen(4, 4, "oil beads"),  # which cycle is not written down: it can't be placed
    ]
    outcome = found(looks, "freeze-thaw", jars=standing("freeze-thaw"))
    assert (outcome.unit, interval(outcome)) == ("cycles", ("failed", 1, 2))


def test_ages_are_whole_days_by_the_calendar_and_hours_on_the_first() -> None:
    late = FILLED.replace(hour=20)
    assert age(late, late + timedelta(hours=12)) == 1
    assert age(FILLED, FILLED + timedelta(hours=6)) == 0.25
    assert age(FILLED.date(), day(28)) == 28
    assert age(FILLED, FILLED - timedelta(hours=1)) == 0
    early, later = seen(7), replace(seen(7), time=day(7) + timedelta(minutes=6))
    assert found([early]).last_intact == found([later]).last_intact == 7


def test_the_age_under_a_condition_counts_from_when_the_jar_was_put_there() -> None:
    jars = standing("room")
    moved = Stay(id="y9", jar="1", condition="40 °C", since=day(10))
    jars = replace(jars, stays=(*jars.stays, moved))
    looks = [seen(7), seen(17), seen(38, 4, "oil on top")]
    assert interval(found(looks, "room", jars=jars)) == ("intact", 7, None)
    assert interval(found(looks, "40 °C", jars=jars)) == ("failed", 7, 28)


def test_another_shelf_in_the_room_is_no_other_condition() -> None:
    jars = standing("room")
    shelf = Stay(id="y9", jar="1", condition="Room", place="top shelf", since=day(10))
    jars = replace(jars, stays=(*jars.stays, shelf))
    assert found([seen(28)], jars=jars).last_intact == 28


# The bulk ----------------------------------------------------------------------------------------


def test_a_failure_while_making_is_at_time_0_in_every_condition() -> None:
    never = Look(id="o1", jar="bulk", time=COMBINED, grade=4, modes=("never formed",))
    for condition in ("room", "fridge"):
        outcome = found([never, seen(7)], condition)
        assert interval(outcome) == ("failed", None, 0)
        assert (outcome.while_making, outcome.modes) == (True, ("never formed",))


def test_the_bulk_after_closing_is_a_condition_of_its_own_counted_from_combining() -> None:
    later = Look(
        id="o1", jar="bulk", time=CLOSED + timedelta(days=2), grade=3, modes=("oil beads",)
    )
    outcome = found([later], "bulk")
    assert (interval(outcome), outcome.while_making) == (("failed", None, 2), False)
    assert found([later]).state == "not watched"


def test_an_emulsion_of_the_other_type_than_meant_is_an_inversion_at_time_0() -> None:
    read = Reading(id="r1", reading="emulsion type", seen="water-in-oil")
    outcome = found([seen(7)], batch=a_batch(readings=(read,)))
    assert (interval(outcome), outcome.modes) == (("failed", None, 0), ("inversion",))
    struck = replace(read, struck="the dye was old")
    assert found([seen(7)], batch=a_batch(readings=(struck,))).state == "intact"


def test_a_split_batch_names_its_parents() -> None:
    parent = "HC-260101-4M"
    assert found([seen(1)], batch=a_batch(from_=split_off(parent))).split_from == (parent,)


# Corrections -------------------------------------------------------------------------------------


def test_the_corrected_grade_counts() -> None:
    looks = [seen(1), seen(7, 2, "water below", id="o2")]
    assert found(looks).state == "failed"
    assert found(looks, corrections=(("o2", "grade", "1"),)).state == "intact"
    assert found(looks, corrections=(("o2", "struck", "wrong jar"),)).last_intact == 1


def test_a_correction_that_cannot_be_read_makes_its_value_unknown() -> None:
    looks = [seen(1), seen(7, 2, "water below", id="o2")]
    assert interval(found(looks, corrections=(("o2", "grade", "bad"),))) == ("intact", 1, None)
    kept = current_looks(written(looks, correction("o2", "time", "yesterday")))
    assert kept[1].time == looks[1].time


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("grade", "3", 3),
        ("modes", "oil beads, grains", ("oil beads", "grains")),
        ("layer", "4 mm", q("4 mm")),
        ("value", "-0.5", Decimal("-0.5")),
        ("note", "", None),
    ],
)
def test_each_key_of_a_look_is_corrected_by_its_own_pattern(
    key: str, text: str, value: object
) -> None:
    assert getattr(corrected(seen(7), key, text), key) == value


@pytest.mark.parametrize(
    ("key", "text"), [("grade", "bad"), ("colour", "1"), ("time", ""), ("id", "o3")]
)
def test_what_no_look_can_have_is_no_correction(key: str, text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        corrected(seen(7), key, text)


# Laws --------------------------------------------------------------------------------------------

LOOKS = st.lists(
    st.builds(
        seen,
        st.integers(0, 30),
        st.none() | st.integers(0, 4),
        st.sampled_from(("water below", "mould", "grains", "separation", "pH")),
        jar=st.sampled_from(("1", "2")),
        id=st.uuids().map(lambda one: f"o{one.hex}"),
    )
    | st.builds(
        seen, st.integers(0, 30), st.just(0), jar=st.sampled_from(("1", "2")),
        id=st.uuids().map(lambda one: f"o{one.hex}"),
    ),
    max_size=10,
)  # fmt: skip
TWO = standing("room", "room")


def everything(looks: list[Look]) -> tuple[BatchOutcome, ...]:
    return outcomes_of(a_batch(), TWO, written(looks), a_formula())


def without_jars(outcome: BatchOutcome) -> BatchOutcome:
    return replace(outcome, by_jar=tuple(sorted(outcome.by_jar, key=lambda one: one.jar)))


@given(LOOKS)
def test_the_order_of_looks_is_immaterial(looks: list[Look]) -> None:
    mixed = sorted(looks, key=lambda one: one.id)
    assert [*map(without_jars, everything(looks))] == [*map(without_jars, everything(mixed))]


@given(LOOKS, st.integers(0, 30))
def test_an_intact_look_never_moves_the_first_failure(looks: list[Look], when: int) -> None:
    more = [*looks, seen(when, 0, id="o-more")]
    before, after = everything(looks), everything(more)
    assert [o.first_failed for o in before] == [o.first_failed for o in after]


@given(LOOKS, st.integers(0, 30), st.integers(0, 4))
def test_a_struck_look_changes_nothing(looks: list[Look], when: int, grade: int) -> None:
    struck = replace(seen(when, grade, "water below", id="o-struck"), struck="wrong jar")
    assert everything([*looks, struck]) == everything(looks)


@given(LOOKS)
def test_what_was_last_intact_was_so_before_it_first_failed(looks: list[Look]) -> None:
    for outcome in everything(looks):
        low, high = outcome.last_intact, outcome.first_failed
        assert (outcome.state == "failed") == (high is not None)
        assert low is None or high is None or low < high


# Departures --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("was", "told"), [("66 °C", ()), ("58 °C", ("water phase was at 58 °C",))])
def test_a_phase_far_off_its_set_point_when_combined_is_told(
    was: str, told: tuple[str, ...]
) -> None:
    heat = BatchStep(id="s1", plan=Step(id="s1", do="heat", set={"A": q("72 °C"), "B": q("71 °C")}))
    done = Done(temperatures={"A": q("71 °C"), "B": q(was)})
    combine = BatchStep(id="s2", plan=Step(id="s2", do="combine"), done=done)
    formula = a_formula(phases=(Phase(phase="A", name="oil"), Phase(phase="B", name="water")))
    assert departures(a_batch(steps=(heat, combine)), formula) == told
