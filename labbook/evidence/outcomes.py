"""What became of jars and batches: intact so far, or failed between two looks, and how.

Per jar, condition and group of failure an interval: last seen intact, first seen failed. A failure
of another group ends the watching for this one, with that look. A batch's interval comes from its
jars: the smallest last-intact and the smallest first-failed. A failure while making is an outcome
at time 0, in every condition. What nobody looked at is not watched: unknown, neither good nor bad.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from labbook.evidence.failure import (
    FAILED as FAILS,
)
from labbook.evidence.failure import (
    GROUP_OF,
    GROUPS,
    condition_key,
    extent_of,
    limits_of,
)
from labbook.evidence.failure import (
    INTACT as HOLDS,
)
from labbook.evidence.making import last_seen
from labbook.evidence.sightings import BULK, Sighting, sightings
from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.moments import day_of
from labbook.model.results.looking import (
    DAYS,
    FAILED,
    INTACT,
    NOT_WATCHED,
    BatchOutcome,
    JarOutcome,
    Noticed,
    modes_in_order,
)

__all__ = [
    "BatchOutcome",
    "JarOutcome",
    "accelerated",
    "conditions_of",
    "earliest",
    "in_condition",
    "noticed_in",
    "outcomes_of",
    "primary_condition",
]

USUAL = ("room", "fridge", "40 °C", "freeze-thaw")
"""Conditions in the order in which they are told; any others follow by name."""

_TYPES = ("water-in-oil", "oil-in-water")


def outcomes_of(
    batch: Batch, jars: Jars | None, stability: Stability | None, formula: Formula | None
) -> tuple[BatchOutcome, ...]:
    """What became of a batch, for each of its conditions and each group of failure.

    Args:
        batch: the batch.
        jars: its jars and where they stood; None where no file says it.
        stability: the looks.
        formula: whose acceptance limits judge; None takes the defaults.
    """
    seen = sightings(batch, jars, stability, formula)
    found = []
    for condition in conditions_of(batch, jars, seen):
        for group in GROUPS:
            found.append(_batch_outcome(batch, jars, seen, formula, condition, group))
    return tuple(found)


def conditions_of(batch: Batch, jars: Jars | None, seen: Sequence[Sighting]) -> tuple[str, ...]:
    """The conditions in which a batch stands, stood, or was seen, room first.

    The bulk is one only where nothing else is, or where it was looked at after closing.
    """
    names: dict[str, str] = {}
    for stay in jars.stays if jars else ():
        names.setdefault(condition_key(stay.condition), stay.condition)
    for one in seen:
        if not one.while_making:
            names.setdefault(condition_key(one.condition), one.condition)
    if not names:
        names[BULK] = BULK
    return in_order_of_telling(names.values())


def in_order_of_telling(conditions: Iterable[str]) -> tuple[str, ...]:
    """Conditions once each, room first."""
    usual = [condition_key(name) for name in USUAL]
    names: dict[str, str] = {}
    for condition in conditions:
        names.setdefault(condition_key(condition), condition)
    place = {key: usual.index(key) if key in usual else len(usual) for key in names}
    return tuple(names[key] for key in sorted(names, key=lambda key: (place[key], key)))


def accelerated(condition: str) -> bool:
    """Whether a condition is a test beside real time: warmth from 30 °C on, cycles, a centrifuge.

    No day there stands for a day in the room. The limit of 30 °C is common practice, no source.
    """
    key = condition_key(condition)
    warm = re.search(r"([0-9]+(?:[.,][0-9]+)?)c\b", key)
    named = re.search(r"freeze|thaw|centrifug|oven|incubator|cycle", key)
    return bool(named) or (warm is not None and float(warm[1].replace(",", ".")) >= 30)


# One jar -----------------------------------------------------------------------------------------


def jar_outcome(batch: Batch, jar: str, looks: Sequence[Sighting], group: str) -> JarOutcome:
    """What became of one jar, from its sightings in one condition, for one group.

    The order of the sightings is immaterial.
    """
    first = looks[0]
    others = [s.point for s in looks for g in GROUPS if g != group and s.verdict.groups[g] == FAILS]
    end = min(others, default=float("inf"))
    counted = [s for s in looks if s.point <= end]
    failing = min((s.point for s in counted if s.verdict.groups[group] == FAILS), default=None)
    intact = [
        s.point
        for s in counted
        if s.verdict.groups[group] == HOLDS and (failing is None or s.point < failing)
    ]
    at_failure = [s for s in counted if s.point == failing and s.verdict.groups[group] == FAILS]
    ended_by = sorted(
        g for s in looks if s.point == end for g in GROUPS
        if g != group and s.verdict.groups[g] == FAILS
    )  # fmt: skip
    grades = [s.look.grade for s in counted if s.look.grade is not None and _about(s, group)]
    state = FAILED if failing is not None else INTACT if intact else NOT_WATCHED
    return JarOutcome(
        batch=batch.id,
        jar=jar,
        condition=first.condition,
        group=group,
        unit=first.unit,
        state=state,
        last_intact=max(intact, default=None),
        first_failed=failing,
        modes=modes_in_order({m for s in at_failure for m in s.verdict.modes if _is(m, group)}),
        grade=max((s.look.grade for s in at_failure if s.look.grade is not None), default=None),
        worst_grade=max(grades, default=None),
        last_look=max((day_of(s.look.time) for s in counted), default=None),
        ended_by=ended_by[0] if ended_by else "",
    )


def _is(mode: str, group: str) -> bool:
    return GROUP_OF.get(mode, group) == group


def _about(sighting: Sighting, group: str) -> bool:
    """Whether the grade of a look speaks about a group: none was named, or one of this group."""
    modes = sighting.look.modes
    return not sighting.look.grade or not modes or any(_is(mode, group) for mode in modes)


# A batch from its jars ---------------------------------------------------------------------------


def _batch_outcome(
    batch: Batch,
    jars: Jars | None,
    seen: Sequence[Sighting],
    formula: Formula | None,
    condition: str,
    group: str,
) -> BatchOutcome:
    key = condition_key(condition)
    here = [s for s in seen if condition_key(s.condition) == key and not s.while_making]
    names = dict.fromkeys(s.jar for s in here)
    by_jar = tuple(
        jar_outcome(batch, name, [s for s in here if s.jar == name], group) for name in names
    )
    watched = [one for one in by_jar if one.state != NOT_WATCHED]
    modes, grade = _while_making(batch, seen, formula, group)
    making = bool(modes)
    unit = next((s.unit for s in here if s.unit != DAYS), DAYS)
    failed = [one for one in watched if one.first_failed is not None]
    first = min((one.first_failed for one in failed if one.first_failed is not None), default=None)
    if first is not None and not making:
        leading = [one for one in failed if one.first_failed == first]
        modes = modes_in_order({mode for one in leading for mode in one.modes})
        grade = max((one.grade for one in leading if one.grade is not None), default=None)
    lows = [one.last_intact for one in watched if one.last_intact is not None]
    known = len(lows) == len(watched) and lows and not making
    grades = [one.worst_grade for one in by_jar if one.worst_grade is not None]
    return BatchOutcome(
        batch=batch.id,
        code=batch.formula.code,
        version=batch.formula.version,
        condition=condition,
        group=group,
        unit=unit,
        state=FAILED if making or failed else INTACT if watched else NOT_WATCHED,
        last_intact=min(lows) if known else None,
        first_failed=0.0 if making else first,
        modes=modes,
        grade=grade,
        worst_grade=max([*grades, *([grade] if grade is not None else [])], default=None),
        while_making=making,
        split_from=tuple(parent.batch for parent in batch.from_ if parent.how == "split"),
        wanted_until=_wanted(formula, condition, group, unit),
        by_jar=by_jar,
    )


def _while_making(
    batch: Batch, seen: Sequence[Sighting], formula: Formula | None, group: str
) -> tuple[tuple[str, ...], int | None]:
    """Modes and grade of a failure that was seen on the bulk before the batch was closed.

    An observed emulsion type other than the one meant is an inversion.
    """
    made = [s for s in seen if s.while_making and s.verdict.groups[group] == FAILS]
    modes = {mode for s in made for mode in s.verdict.modes if _is(mode, group)}
    grades = [s.look.grade for s in made if s.look.grade is not None]
    if group == "separation" and formula is not None and formula.emulsion in _TYPES:
        observed = last_seen(batch, "emulsion type")
        if observed in _TYPES and observed != formula.emulsion:
            modes.add("inversion")
    return modes_in_order(modes), max(grades, default=None)


def _wanted(formula: Formula | None, condition: str, group: str, unit: str) -> float | None:
    """Until when the limits of a group ask for in a condition; the longest of them."""
    ends = [
        extent_of(limit, unit)
        for limit in limits_of(formula, condition)
        if not limit.modes or any(GROUP_OF[mode] == group for mode in limit.modes)
    ]
    return max((float(end) for end in ends if end is not None), default=None)


# Reading them ------------------------------------------------------------------------------------


def in_condition(outcomes: Iterable[BatchOutcome], condition: str) -> tuple[BatchOutcome, ...]:
    """The outcomes of one condition, one for each group."""
    key = condition_key(condition)
    return tuple(one for one in outcomes if condition_key(one.condition) == key)


def primary_condition(outcomes: Sequence[BatchOutcome]) -> str:
    """The condition that speaks for a batch: the first in the order of telling; room, mostly."""
    names = in_order_of_telling(one.condition for one in outcomes)
    return names[0] if names else ""


def earliest(outcomes: Iterable[BatchOutcome]) -> BatchOutcome | None:
    """The one failure that came first among the groups of a condition; None where none failed."""
    failed = [one for one in outcomes if one.state == FAILED and one.first_failed is not None]
    order = tuple(GROUPS)
    return min(
        failed, key=lambda one: (one.first_failed or 0.0, order.index(one.group)), default=None
    )


def noticed_in(
    batch: Batch, jars: Jars | None, stability: Stability | None, formula: Formula | None
) -> tuple[Noticed, ...]:
    """What was seen at grade 2 or worse and no limit judges: the worst of each jar and mode."""
    found: dict[tuple[str, str, tuple[str, ...]], Noticed] = {}
    for one in sightings(batch, jars, stability, formula):
        grade = one.look.grade
        unnamed = bool(grade and grade > 1 and not one.look.modes)
        if not unnamed and not (one.verdict.noticed and (grade is None or grade > 1)):
            continue
        modes = modes_in_order(one.verdict.noticed)
        key = (one.jar, one.condition, modes)
        if key not in found or (grade or 0) > (found[key].grade or 0):
            found[key] = Noticed(
                jar=one.jar, condition=one.condition, point=one.point, unit=one.unit,
                modes=modes, grade=grade,
            )  # fmt: skip
    return tuple(found.values())
