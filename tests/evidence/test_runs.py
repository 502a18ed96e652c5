"""Runs in a centrifuge: a test of its own, that stands for no time and touches no jar."""

from typing import Any

import pytest

from labbook.evidence.due import Watch, due_looks, is_done
from labbook.evidence.failure import limits_of
from labbook.evidence.outcomes import in_condition, outcomes_of
from labbook.evidence.runs import as_before, run_of
from labbook.evidence.sightings import sightings, stays_of
from labbook.evidence.timeline import Watched, batch_timeline
from labbook.model.formula import Limit
from labbook.model.jars import Look
from labbook.model.quantities import parse_quantity as q
from labbook.model.results.looking import FAILED, INTACT, RUN
from labbook.model.settings import TimePoint
from tests.evidence.watched import (
    FORMULA,
    a_batch,
    a_formula,
    day,
    protocol,
    seen,
    standing,
    written,
)

BATCH = a_batch()
JARS = standing("room", "40 °C")


def spun(when: float, grade: int, *modes: str, rpm: str = "3000 rpm", **more: Any) -> Look:
    usual: dict[str, Any] = {
        "condition": "centrifuge", "speed": q(rpm), "radius": q("10 cm"), "spun": q("30 min"),
    }  # fmt: skip
    return seen(when, grade, *modes, id=f"o-{rpm[:4]}-{when:g}", **(usual | more))


def test_the_g_is_that_of_radius_and_speed() -> None:
    """1.118e-5 times 10 cm times the square of 3000 rpm: the usual formula of a centrifuge's g."""
    run = run_of(spun(1, 0, extent="3/41", at=q("25 °C")))
    assert run.words == "1006 g for 30 min at 25 °C"
    assert run.spin is not None
    assert run.spin.g == pytest.approx(1006.2)
    assert run.spin.layer == pytest.approx(3 / 41)
    assert run.spin.temperature == 25


@pytest.mark.parametrize("missing", ["speed", "radius", "spun"])
def test_no_g_is_made_up(missing: str) -> None:
    lacks: dict[str, Any] = {missing: None}
    run = run_of(spun(1, 0, **lacks))
    assert run.spin is None
    assert run.words == "radius, speed or minutes not written down"


def test_a_run_is_counted_in_nothing() -> None:
    early, late = (
        outcomes_of(BATCH, JARS, written([spun(age, 3, "oil on top")]), FORMULA) for age in (1, 80)
    )
    for its in (early, late):
        one = in_condition(its, "centrifuge 1000 g 30 min")[0]
        assert (one.state, one.unit, one.first_failed) == (FAILED, RUN, 1)


def test_only_like_runs_are_one_condition() -> None:
    looks = written(
        [spun(1, 0), spun(2, 3, "oil on top", rpm="4000 rpm"), spun(3, 0, rpm="3010 rpm")]
    )
    its = outcomes_of(BATCH, JARS, looks, FORMULA)
    told = {one.condition: one.state for one in its if one.group == "separation"}
    assert told == {
        "room": "not watched", "40 °C": "not watched",
        "centrifuge 1000 g 30 min": INTACT, "centrifuge 1800 g 30 min": FAILED,
    }  # fmt: skip


def test_a_spun_sample_is_not_the_jar() -> None:
    """The jar goes on: it is due as before, its line in the picture has no mark of the run."""
    looks = [seen(1), spun(1, 4, "oil on top")]
    plan = protocol(TimePoint(condition="room", after=(q("1 d"), q("7 d"))))
    watch = Watch(BATCH, JARS, written(looks), FORMULA, plan)
    stay = stays_of(BATCH, JARS, "1")[0]
    all_seen = sightings(BATCH, JARS, watch.stability, FORMULA)
    assert not is_done(watch, "1", stay, all_seen)
    assert [(one.jar, one.why) for one in due_looks(watch, day(7).date(), ahead=0)] == [("1", "")]
    rows = batch_timeline(Watched(BATCH, JARS, watch.stability, FORMULA)).rows
    assert [(row.name, row.failed_at, len(row.looks)) for row in rows if row.looks] == [
        ("9T.1", None, 1)
    ]


def test_a_bulk_that_was_spun_on_its_first_day_did_not_fail_while_making() -> None:
    look = spun(0, 3, "oil on top", jar="bulk")
    its = outcomes_of(BATCH, JARS, written([look]), FORMULA)
    assert not any(one.while_making for one in its)
    assert [one.condition for one in its if one.state == FAILED] == ["centrifuge 1000 g 30 min"]


def test_a_limit_for_the_centrifuge_holds_for_any_run() -> None:
    strict = a_formula(Limit(condition="centrifuge", modes=("separation",), worst_grade=0))
    assert limits_of(strict, "centrifuge 1000 g 30 min") == strict.acceptance
    assert limits_of(strict, "room") == ()
    trace = written([spun(1, 1, "oil on top")])
    by_default, by_limit = (
        in_condition(outcomes_of(BATCH, JARS, trace, f), "centrifuge 1000 g 30 min")[0].state
        for f in (FORMULA, strict)
    )
    assert (by_default, by_limit) == (INTACT, FAILED)


def test_how_to_spin_as_hard_as_before() -> None:
    first, shorter = run_of(spun(1, 0)), run_of(spun(2, 0, radius=q("8 cm")))
    assert as_before(shorter, [first]).endswith("With a radius of 8 cm that is 3354 rpm.")
    assert as_before(run_of(spun(2, 0)), [first]) == ""
    assert as_before(shorter, []) == ""
    assert "rpm" not in as_before(run_of(spun(2, 0, spun=q("10 min"))), [first])
