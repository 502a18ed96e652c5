"""The whole plan of a batch's looks, and that it agrees with what falls due."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.due import Watch, due_looks
from labbook.evidence.plan import plan_of
from labbook.model.jars import JarDone, Jars, Look, Stay
from labbook.model.quantities import parse_quantity as q
from labbook.model.results.planning import COMING, DUE, OVERDUE
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

ROOM = TimePoint(condition="room", after=(q("4 h"), q("1 d"), q("7 d"), q("14 d"), q("28 d")))
FREEZE = TimePoint(condition="freeze-thaw", cycles=3, cycle="24 h at -18 °C, 24 h in the room")
HOME = protocol(ROOM, FREEZE)
SPANS = ("4 h", "1 d", "7 d", "14 d", "28 d")


def watch(looks: list[Look], jars: Jars | None = None, plan: Protocol | None = HOME) -> Watch:
    return Watch(a_batch(), jars or standing("room"), written(looks), a_formula(), plan)


def told(one: Watch, after: int) -> list[str]:
    """`7 d done`, … of the first jar, some days after filling."""
    jar = plan_of(one, FILLED.date() + timedelta(days=after))[0]
    return [f"{look.point or look.cycle} {look.state}" for look in jar.looks]


@pytest.mark.parametrize(
    ("looks", "after", "expected"),
    [
        ([], 0, "overdue coming coming coming coming"),
        ([seen(0.2), seen(1)], 5, "done done coming coming coming"),
        ([seen(0.2), seen(1)], 7, "done done due coming coming"),
        ([seen(0.2), seen(1)], 10, "done done overdue coming coming"),
        ([seen(0.2), seen(1)], 14, "done done missed due coming"),
        ([seen(6)], 30, "missed missed done missed overdue"),  # a day early counts
        ([seen(12, planned=q("7 d"))], 12, "missed missed done coming coming"),
        ([seen(1), seen(7, 3, "water below")], 14, "missed done done due coming"),
        ([seen(1), seen(7, 4, "water below")], 14, "ended done done ended ended"),
    ],
)
def test_what_became_of_each_point(looks: list[Look], after: int, expected: str) -> None:
    found = told(watch(looks), after)
    states = [line.rsplit(" ", 1)[1] for line in found]
    if after == 0:  # four hours may be over or not, by the hour of the day
        states[0] = "overdue" if states[0] == "due" else states[0]
    assert states == expected.split()
    assert [line.rsplit(" ", 1)[0] for line in found] == list(SPANS)


def test_cycles_come_one_after_the_other() -> None:
    cold = standing("freeze-thaw")
    assert told(watch([], cold), 9) == ["1 overdue", "2 coming", "3 coming"]
    assert told(watch([seen(3, cycle=1)], cold), 5) == ["1 done", "2 due", "3 coming"]
    assert told(watch([seen(5, cycle=2)], cold), 6) == ["1 missed", "2 done", "3 coming"]


def test_a_look_beside_the_plan_is_told_as_that() -> None:
    def off(*looks: Look, plan: str = "room") -> list[tuple[float, str]]:
        (jar,) = plan_of(watch(list(looks), standing(plan)), FILLED.date() + timedelta(days=60))
        return [(one.point, one.note) for one in jar.off_plan]

    heat = seen(20, 1, "oil beads", note="after the heat wave")
    assert off(seen(14, planned=q("14 d")), heat) == [(20, "after the heat wave")]
    # On day 29 the look of day 28 was made already, so a second one near it is beside the plan.
    assert off(seen(28, planned=q("28 d")), seen(29)) == [(29, "")]
    assert off(seen(29)) == []
    assert off(seen(2, cycle=1), seen(4, cycle=2), plan="freeze-thaw") == []


def test_a_jar_that_is_done_has_no_more_coming() -> None:
    jars = replace(standing("room"), done=(JarDone(id="z1", jar="1", time=day(8)),))
    found = told(watch([seen(1), seen(7, 3, "water below")], jars), 14)
    assert [line.rsplit(" ", 1)[1] for line in found] == ["ended", "done", "done", "ended", "ended"]


def test_a_jar_that_was_moved_has_the_plan_of_where_it_stands() -> None:
    jars = standing("room")
    stay = Stay(id="y9", jar="1", condition="discarded", since=day(3))
    moved = replace(jars, stays=(*jars.stays, stay))
    (jar,) = plan_of(watch([seen(1)], moved), FILLED.date() + timedelta(days=10))
    assert (jar.condition, jar.looks) == ("discarded", ())


def test_without_jars_nothing_is_planned() -> None:
    assert plan_of(replace(watch([]), jars=None), TODAY) == ()
    (jar,) = plan_of(watch([], plan=None), TODAY)
    assert jar.looks == ()


def agree(one: Watch, today: date) -> None:
    """What is due and what comes next are the same in both."""
    due = due_looks(one, today, ahead=400)
    planned = [(jar, look) for jar in plan_of(one, today) for look in jar.looks]
    now = {(jar.jar, str(look.point or look.cycle), look.state) for jar, look in planned
           if look.state in (DUE, OVERDUE)}  # fmt: skip
    words = {"today": DUE, "overdue": OVERDUE}
    assert now == {
        (look.jar, str(look.point or look.cycle), words[look.state])
        for look in due
        if look.state in words
    }
    first: dict[str, tuple[str, date]] = {}
    for jar, look in planned:
        if look.state == COMING and look.day > today:
            first.setdefault(jar.jar, (str(look.point or look.cycle), look.day))
    coming = {o.jar: (str(o.point or o.cycle), o.day) for o in due if o.state == "coming"}
    assert {jar: found[1] for jar, found in coming.items()} == {
        jar: found[1] for jar, found in first.items()
    }


ages = st.lists(st.sampled_from([0.2, 1, 2, 6, 7, 8, 12, 14, 20, 28, 31]), unique=True, max_size=5)


@given(ages, st.integers(0, 60), st.sampled_from([None, "7 d", "14 d"]))
def test_the_plan_agrees_with_what_is_due(
    when: list[float], after: int, planned: str | None
) -> None:
    named = q(planned) if planned else None
    looks = [seen(age, planned=named if n == 0 else None) for n, age in enumerate(when)]
    agree(watch([one for one in looks if one.time <= day(after)]), day(after).date())


def sample() -> list[Watch]:
    found = []
    for batch in batches().values():
        folder = f"batches/2026/{batch.id}"
        jars = last().get(f"{folder}/jars.yaml")
        plan = last()[f"protocols/{jars.protocol}.yaml"] if jars else None
        formula = versions()[batch.formula.code, batch.formula.version]
        found.append(Watch(batch, jars, last().get(f"{folder}/stability.yaml"), formula, plan))
    return found


SAMPLE = sample()


@pytest.mark.parametrize("after", range(0, 120, 8))
def test_it_agrees_on_the_sample_on_many_days(after: int) -> None:
    for one in SAMPLE:
        agree(one, TODAY + timedelta(days=after))
