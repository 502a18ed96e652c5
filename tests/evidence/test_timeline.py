"""Jars over days: where each stood, what was seen, when it failed, who is too young."""

from dataclasses import replace

from labbook.evidence.curves import LEAST, formula_curve
from labbook.evidence.outcomes import outcomes_of
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.timeline import (
    Watched,
    batch_timeline,
    formula_timeline,
    horizon_of,
    jar_rows,
)
from labbook.model.batch import Batch, Parent
from labbook.model.formula import Limit
from labbook.model.jars import Jars, Look, Stability, Stay
from labbook.model.quantities import parse_quantity as q
from labbook.model.results.pictures import CurvePicture, CurvePiece, JarRow
from tests.evidence.watched import a_batch, a_formula, day, seen, standing, written

FORMULA = a_formula()


def one(jars: Jars | None, looks: Stability | None, batch: Batch | None = None) -> Watched:
    return Watched(batch or a_batch(), jars, looks, FORMULA)


def row(found: Watched, name: str) -> JarRow:
    return next(row for row in jar_rows(found) if row.name == name)


def test_a_jar_failed_between_the_last_intact_look_and_the_first_failed_one() -> None:
    looks = written([seen(1), seen(7), seen(14, 3, "water below"), seen(28, 4, "water below")])
    found = row(one(standing("room"), looks), "9T.1")
    assert (found.failed_from, found.failed_at) == (7, 14)
    assert [(mark.day, mark.grade, mark.failed) for mark in found.looks] == [
        (1, 0, False), (7, 0, False), (14, 3, True), (28, 4, True),
    ]  # fmt: skip
    outcome = found.stays[0].outcome
    assert outcome is not None
    assert (outcome.last_intact, outcome.first_failed) == (7, 14)


def test_a_first_look_that_fails_leaves_the_time_open_from_filling_on() -> None:
    found = row(one(standing("room"), written([seen(7, 3, "water below")])), "9T.1")
    assert (found.failed_from, found.failed_at) == (0, 7)


def test_rows_keep_the_order_of_the_file_and_the_bulk_comes_last() -> None:
    jars = standing("fridge", "room", "40 °C")
    jars = replace(jars, jars=(jars.jars[2], jars.jars[0], jars.jars[1]))
    bulk = seen(0, 3, "never formed", jar="bulk", id="o0")
    found = jar_rows(one(jars, written([seen(1, jar="2"), bulk])))
    assert [r.name for r in found] == ["9T.3", "9T.1", "9T.2", "9T.bulk"]
    assert [r.stays[0].condition for r in found[:3]] == ["40 °C", "fridge", "room"]
    assert found[3].while_making
    assert (found[3].failed_from, found[3].failed_at) == (0, 0)
    assert found[0].looks == ()
    assert found[0].stays[0].outcome is None


def test_a_jar_that_was_moved_has_one_row_with_days_since_filling() -> None:
    jars = standing("fridge")
    moved = Stay(id="y9", jar="1", condition="40 °C", since=day(28))
    shelf = Stay(id="y8", jar="1", condition="Fridge", place="lower shelf", since=day(3))
    jars = replace(jars, stays=(*jars.stays, shelf, moved))
    looks = written([seen(7), seen(35), seen(42, 3, "oil on top")])
    (found,) = jar_rows(one(jars, looks))
    assert [(stay.condition, stay.start) for stay in found.stays] == [("fridge", 0), ("40 °C", 28)]
    # Days since filling on the picture, days since it was put there in the outcome.
    assert [(mark.day, mark.point) for mark in found.looks] == [(7, 7), (35, 7), (42, 14)]
    assert (found.failed_from, found.failed_at) == (35, 42)


def test_a_failure_right_after_a_move_is_open_from_the_move_on() -> None:
    jars = standing("fridge")
    moved = Stay(id="y9", jar="1", condition="40 °C", since=day(28))
    jars = replace(jars, stays=(*jars.stays, moved))
    (found,) = jar_rows(one(jars, written([seen(7), seen(35, 3, "oil on top")])))
    assert (found.failed_from, found.failed_at) == (28, 35)


def test_freezing_and_thawing_stands_at_its_days_and_counts_cycles() -> None:
    limit = Limit(condition="freeze-thaw", cycles=3, modes=("separation",), worst_grade=1)
    looks = written([seen(2, cycle=1), seen(4, 3, "oil beads", cycle=2)])
    watched = Watched(a_batch(), standing("freeze-thaw"), looks, a_formula(limit))
    (found,) = jar_rows(watched)
    assert [(mark.day, mark.point, mark.unit) for mark in found.looks] == [
        (2, 1, "cycles"), (4, 2, "cycles"),
    ]  # fmt: skip
    assert (found.failed_from, found.failed_at) == (2, 4)


def of(short: str, *looks: Look, parent: str = "", condition: str = "room") -> Watched:
    id_ = f"HC-260122-{short}"
    parents = (Parent(batch=parent, how="split", mass=q("50 g")),) if parent else ()
    batch = a_batch(id=id_, from_=parents)
    jars = replace(standing(condition), batch=id_)
    return one(jars, replace(written(looks), batch=id_), batch)


def test_too_young_is_what_was_watched_less_long_than_another_took_to_fail() -> None:
    failed = of("1A", seen(1), seen(28, 3, "water below"))
    young, old = of("2B", seen(14)), of("3C", seen(28))
    horizon = horizon_of(row for it in (failed, young, old) for row in jar_rows(it))
    assert horizon == {("room", "days"): 28}
    assert [r.young for it in (failed, young, old) for r in jar_rows(it, horizon)] == [
        False, True, False,
    ]  # fmt: skip
    assert not batch_timeline(young).rows[0].young
    assert batch_timeline(young, horizon).rows[0].young


def test_a_formula_is_told_by_condition_and_leaves_out_older_batches_with_their_number() -> None:
    batches = [of(f"{n}A", seen(n), condition="room" if n % 2 else "fridge") for n in range(1, 7)]
    batches.append(of("9Z"))
    found = formula_timeline("HC", batches, most=4)
    assert [group.heading for group in found.groups] == ["room", "fridge"]
    assert found.left_out == 2
    assert len(found.rows) == 4
    only = formula_timeline("HC", batches, condition="Fridge")
    assert [group.heading for group in only.groups] == ["fridge"]
    assert len(only.rows) == 3


# Curves -------------------------------------------------------------------------------------------


def curve(*batches: Watched) -> CurvePicture:
    found = formula_curve("HC", batches)
    assert isinstance(found, CurvePicture)
    return found


def test_the_curve_is_that_of_the_outcomes() -> None:
    batches = [
        of("1A", seen(1), seen(7, 3, "water below")),
        of("2B", seen(7), seen(28)),
        of("3C", seen(7), seen(28)),
        of("4D", seen(7), seen(28)),
    ]
    found = curve(*batches)
    (line,) = found.lines
    assert (line.name, line.of, line.failed) == ("HC@2", 4, 1)
    # One of four failed in (1, 7]; by hand, as no two outcomes overlap in part.
    assert line.pieces == (
        CurvePiece(0, 1, 1, 1), CurvePiece(1, 7, 0.75, 1), CurvePiece(7, 28, 0.75, 0.75),
    )  # fmt: skip
    assert found.condition == "room"
    assert found.unit == "days"


def test_batches_split_from_one_bulk_count_once() -> None:
    batches = [of(f"{n}A", seen(28)) for n in range(1, LEAST + 1)]
    sister = of("7S", seen(28), parent="HC-260122-1A")
    (line,) = curve(*batches, sister).lines
    assert line.of == LEAST
    refused = formula_curve("HC", [*batches[1:], of("8S", seen(1), parent="HC-260122-2A")])
    assert isinstance(refused, Refusal)
    assert "batches of HC that were looked at in room: 3; a curve takes at least 4." in refused.why


def test_where_no_version_has_enough_all_share_a_line() -> None:
    batches = [of(f"{n}A", seen(28)) for n in range(1, 5)]
    mixed = [
        replace(it, batch=replace(it.batch, formula=replace(it.batch.formula, version=n)))
        for n, it in enumerate(batches, 1)
    ]
    assert [line.name for line in curve(*mixed).lines] == ["HC, all"]


def test_ages_are_those_of_the_outcomes() -> None:
    """The picture and the table can't disagree: both are made of the same outcomes."""
    found = of("1A", seen(1), seen(7, 3, "water below"), seen(14, 4, "water below"))
    outcome = next(
        o for o in outcomes_of(found.batch, found.jars, found.stability, FORMULA)
        if o.group == "separation"
    )  # fmt: skip
    (drawn,) = jar_rows(found)
    assert (drawn.failed_from, drawn.failed_at) == (outcome.last_intact, outcome.first_failed)


def test_a_batch_without_jars_has_no_rows() -> None:
    assert batch_timeline(one(None, None)).rows == ()
