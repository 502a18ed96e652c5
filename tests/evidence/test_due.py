"""Which looks fall due, given the protocol, the looks there are, and the day."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.due import (
    Watch,
    asked_for,
    cycle_days,
    due_looks,
    in_a_row,
    planned_point,
    standing_in,
)
from labbook.evidence.outcomes import outcomes_of
from labbook.model.batch import Dropped
from labbook.model.jars import JarDone, Jars, Look, Stay
from labbook.model.quantities import parse_quantity as q
from labbook.model.results.looking import DueLook
from labbook.model.settings import Protocol, TimePoint
from tests.evidence.watched import (
    FILLED,
    a_batch,
    a_formula,
    day,
    protocol,
    seen,
    standing,
    written,
)
from tests.sample import TODAY, batches, last, versions

ROOM = TimePoint(condition="room", after=(q("1 d"), q("7 d"), q("14 d"), q("28 d")))
FRIDGE = TimePoint(condition="fridge", after=(q("7 d"), q("28 d")))
FREEZE = TimePoint(condition="freeze-thaw", cycles=3, cycle="24 h at -18 °C, 24 h in the room")
HOME = protocol(ROOM, FRIDGE, FREEZE)


def watch(looks: list[Look], jars: Jars | None = None, plan: Protocol | None = HOME) -> Watch:
    return Watch(a_batch(), jars or standing("room"), written(looks), a_formula(), plan)


def told(one: Watch, after: int, *, ahead: int = 7) -> list[tuple[str, str, str]]:
    """Jar, state, and point of what is due some days after filling."""
    today = FILLED.date() + timedelta(days=after)
    return [
        (look.jar, look.state, str(look.point or look.cycle))
        for look in due_looks(one, today, ahead=ahead)
    ]


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        (0, [("1", "coming", "1 d")]),
        (1, [("1", "today", "1 d"), ("1", "coming", "7 d")]),
        (2, [("1", "overdue", "1 d"), ("1", "coming", "7 d")]),
    ],
)
def test_a_point_comes_falls_due_and_is_overdue(
    after: int, expected: list[tuple[str, str, str]]
) -> None:
    assert told(watch([]), after) == expected


def test_a_look_settles_its_point_and_those_before() -> None:
    assert told(watch([seen(7)]), 7) == [("1", "coming", "14 d")]
    assert told(watch([seen(6)]), 7) == [("1", "coming", "14 d")]  # a day early counts
    assert told(watch([seen(4)]), 7) == [("1", "today", "7 d"), ("1", "coming", "14 d")]
    late = seen(12, planned=q("7 d"))
    assert told(watch([late]), 14) == [("1", "today", "14 d")]


def test_of_several_missed_points_the_last_is_asked_for() -> None:
    looks = due_looks(watch([]), FILLED.date() + timedelta(days=15))
    assert [(str(o.point), o.missed, o.day) for o in looks if o.state == "overdue"] == [
        ("14 d", 2, date(2026, 2, 5))
    ]


def test_a_failed_jar_goes_on_until_it_is_broken_spoiled_or_done() -> None:
    two = standing("room", "fridge")
    failed = [seen(7, 3, "water below"), seen(7, jar="2")]

    def names(looks: list[Look], jars: Jars) -> list[tuple[str, str]]:
        found = due_looks(watch(looks, jars), FILLED.date() + timedelta(days=28))
        return [(o.jar, o.why) for o in found]

    sister = ("2", "its room jar failed")
    assert names(failed, two) == [("1", "has failed"), sister]
    broken = seen(14, 4, "water below")
    assert names([*failed, broken], two) == [sister]
    assert names([*failed, replace(broken, struck="wrong jar")], two) == [
        ("1", "has failed"),
        sister,
    ]
    # A jar with mould is discarded, at whatever grade: nobody is sent to open it again.
    assert names([seen(7, 1, "mould"), failed[1]], two) == [sister]
    done = replace(two, done=(JarDone(id="z1", jar="1", time=day(8), why="enough"),))
    assert names(failed, done) == [sister]


def test_a_jar_that_was_done_and_is_put_elsewhere_starts_anew() -> None:
    jars = replace(standing("room"), done=(JarDone(id="z1", jar="1", time=day(2)),))
    assert told(watch([seen(1)], jars), 10) == []
    stay = Stay(id="y9", jar="1", condition="fridge", since=day(3))
    moved = replace(jars, stays=(*jars.stays, stay))
    assert told(watch([seen(1)], moved), 10) == [("1", "today", "7 d")]
    # Said before it came there, it is about the place where it stood until then.
    assert told(watch([seen(1)], replace(moved, done=())), 10) == [("1", "today", "7 d")]


def test_an_intact_jar_that_is_done_is_asked_for_no_more() -> None:
    jars = replace(standing("room", "fridge"), done=(JarDone(id="z1", jar="1", time=day(8)),))
    assert {jar for jar, _, _ in told(watch([], jars), 28)} == {"2"}


def test_failed_while_looked_at_further_keeps_its_first_interval() -> None:
    """What is seen of a jar after it failed moves neither end of when it failed."""
    looks = [seen(1), seen(7, 3, "water below"), seen(14, 3, "water below")]
    (found,) = [
        one
        for one in outcomes_of(a_batch(), standing("room"), written(looks), a_formula())
        if one.group == "separation"
    ]
    assert (found.last_intact, found.first_failed) == (1, 7)


def test_all_jars_of_a_condition_are_listed_for_a_look_off_the_plan() -> None:
    three = standing("room", "Room", "fridge")
    day_9 = FILLED.date() + timedelta(days=9)

    def names(jars: Jars, looks: list[Look] | None = None) -> list[str]:
        return [o.jar for o in standing_in(watch(looks or [], jars), "room", day_9)]

    assert names(three) == ["1", "2"]
    gone = Stay(id="y9", jar="2", condition="given away", since=day(3))
    assert names(replace(three, stays=(*three.stays, gone))) == ["1"]
    assert names(three, [seen(7, 4, "water below")]) == ["2"]
    assert names(replace(three, done=(JarDone(id="z1", jar="1", time=day(8)),))) == ["2"]
    assert standing_in(watch([], three, None), "room", day_9) != ()  # needs no protocol
    dropped = a_batch(dropped=Dropped(time=day(1), why="spilt"))
    assert standing_in(replace(watch([], three), batch=dropped), "room", day_9) == ()


def test_a_sister_of_a_struck_failure() -> None:
    failed = [seen(7, 3, "water below"), seen(7, jar="2")]
    assert told(watch([seen(7, 1, "water below")]), 14) == [("1", "today", "14 d")]
    struck = replace(failed[0], struck="wrong jar")
    assert told(watch([struck]), 7)[0] == ("1", "today", "7 d")


def test_a_jar_moved_away_is_asked_for_no_more_and_one_moved_elsewhere_starts_anew() -> None:
    jars = standing("room")
    for condition, expected in (("discarded", []), ("fridge", [("1", "today", "7 d")])):
        stay = Stay(id="y9", jar="1", condition=condition, since=day(3))
        moved = replace(jars, stays=(*jars.stays, stay))
        assert told(watch([seen(1)], moved), 10) == expected


def test_cycles_come_one_after_the_other() -> None:
    cold = standing("freeze-thaw")
    assert told(watch([], cold), 2, ahead=0) == [("1", "today", "1")]
    assert told(watch([], cold), 9, ahead=0) == [("1", "overdue", "1")]
    assert told(watch([seen(3, cycle=1)], cold), 5, ahead=0) == [("1", "today", "2")]
    assert told(watch([seen(3, cycle=3)], cold), 9) == []


def test_nothing_falls_due_without_jars_without_a_protocol_or_of_a_dropped_batch() -> None:
    assert told(replace(watch([]), jars=None), 7) == []
    assert told(watch([], plan=None), 7) == []
    gone = a_batch(dropped=Dropped(time=day(1), why="spilt"))
    assert told(replace(watch([]), batch=gone), 7) == []


def test_a_look_stands_for_the_point_that_it_is_made_for() -> None:
    def point(looks: list[Look], when: float, *conditions: str) -> str:
        found = asked_for(watch(looks, standing(*conditions or ("room",))), "1", day(when))
        return str(found.point or found.cycle) if found else ""

    assert point([seen(1)], 7) == "7 d"
    assert point([seen(1)], 6) == "7 d"
    assert point([seen(1)], 10) == "7 d"  # late: still the look of day 7
    assert point([seen(7)], 8) == ""
    assert point([seen(7, 3, "water below")], 14) == "14 d"  # failed, and looked at all the same
    assert point([seen(28)], 7) == "7 d"  # a late entry: looks made since don't count
    assert point([], 2, "freeze-thaw") == "1"


@pytest.mark.parametrize(
    ("reached", "point"),
    [(0.2, "4 h"), (0.5, ""), (0.8, "1 d"), (2, ""), (8, "7 d"), (55, "60 d"), (53, "")],
)
def test_the_point_that_an_age_is_close_to(reached: float, point: str) -> None:
    """Within a day or a tenth: common practice, no source."""
    points = (q("4 h"), q("1 d"), q("7 d"), q("60 d"))
    assert str(planned_point(points, reached) or "") == point


@pytest.mark.parametrize(
    ("words", "days"),
    [
        ("24 h at -18 °C, 24 h in the room", 2.0),
        ("12 h cold, 12 h warm", 1.0),
        ("2 d", 2.0),
        (None, 2.0),
    ],
)
def test_the_length_of_a_cycle_is_read_from_its_words(words: str | None, days: float) -> None:
    assert cycle_days(words) == days


LOOKS = st.lists(
    st.builds(
        seen,
        st.integers(0, 30),
        st.integers(0, 4),
        st.sampled_from(("water below", "grains", "mould")),
        jar=st.sampled_from(("1", "2")),
        id=st.uuids().map(lambda one: f"o{one.hex}"),
    ),
    max_size=8,
)


@given(LOOKS, st.integers(0, 40))
def test_the_order_of_looks_is_immaterial(looks: list[Look], after: int) -> None:
    two = standing("room", "fridge")
    mixed = sorted(looks, key=lambda one: one.id)
    assert told(watch(looks, two), after) == told(watch(mixed, two), after)


@given(LOOKS, st.integers(0, 40), st.integers(0, 40))
def test_a_struck_look_changes_nothing(looks: list[Look], when: int, after: int) -> None:
    struck = replace(seen(when, 4, "water below", id="o-struck"), struck="wrong jar")
    assert told(watch([*looks, struck]), after) == told(watch(looks), after)


@given(LOOKS, st.integers(0, 40))
def test_a_jar_is_never_asked_for_twice_today(looks: list[Look], after: int) -> None:
    now = [jar for jar, state, _ in told(watch(looks), after) if state != "coming"]
    assert len(now) == len(set(now))


# The sample --------------------------------------------------------------------------------------


def sample() -> list[DueLook]:
    found: list[DueLook] = []
    for batch in batches().values():
        folder = f"batches/2026/{batch.id}"
        jars = last().get(f"{folder}/jars.yaml")
        plan = last()[f"protocols/{jars.protocol}.yaml"] if jars else None
        formula = versions()[batch.formula.code, batch.formula.version]
        looks = last().get(f"{folder}/stability.yaml")
        found += due_looks(Watch(batch, jars, looks, formula, plan), TODAY)
    return found


SAMPLE = sample()


def test_the_sample_asks_for_the_looks_of_its_story() -> None:
    found = [(f"{o.day:%m-%d}", o.name, str(o.point), o.state) for o in in_a_row(SAMPLE)]
    assert found == [
        ("04-13", "R8.1", "60 d", "overdue"),
        ("04-13", "R8.2", "60 d", "overdue"),
        ("04-15", "B6.1", "28 d", "overdue"),
        ("04-16", "7K.1", "7 d", "today"),
        ("04-16", "7K.2", "7 d", "today"),
        ("04-16", "7K.3", "7 d", "today"),
        ("04-16", "W3.1", "14 d", "today"),
        ("04-20", "K2.1", "60 d", "coming"),
        ("04-20", "K2.2", "60 d", "coming"),
        ("04-22", "9T.2", "90 d", "coming"),
        ("04-23", "7K.1", "14 d", "coming"),
        ("04-23", "7K.2", "14 d", "coming"),
        ("04-23", "7K.3", "14 d", "coming"),
        ("04-23", "H5.1", "28 d", "coming"),
        ("04-23", "H5.2", "28 d", "coming"),
        ("04-23", "H5.3", "28 d", "coming"),
    ]
