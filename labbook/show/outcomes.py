"""Outcomes in words: `intact on day 28`, `failed between day 1 and day 7: water below, grade 3`.

Never more than was seen: no batch is called safe or stable.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from labbook.evidence.failure import condition_key
from labbook.evidence.outcomes import earliest, in_condition, in_order_of_telling
from labbook.model.results.looking import (
    CYCLES,
    FAILED,
    INTACT,
    NOT_WATCHED,
    RUN,
    BatchOutcome,
    DueLook,
    JarOutcome,
    Noticed,
)

ROOM = "room"
NOT_LOOKED_AT = "not looked at yet"
GRADES = "0 nothing seen, 1 a trace, 2 slight, 3 clear, 4 broken"


def point_words(point: float, unit: str) -> str:
    """`day 7`, `hour 4`, `cycle 2`, `the run`."""
    if unit == RUN:
        return "the run"
    if unit == CYCLES:
        return f"cycle {point:.0f}"
    if 0 < point < 1:
        return f"hour {max(1, round(point * 24))}"
    return f"day {point:.0f}"


def due_point(look: DueLook) -> str:
    """The planned point of a look that is due: `day 60`, `hour 4`, `cycle 2`; else `off plan`."""
    if look.cycle is not None:
        return f"cycle {look.cycle}"
    return point_words(float(look.point.exact("d")), "") if look.point is not None else "off plan"


def how_words(modes: Sequence[str], grade: int | None) -> str:
    """`water below, grade 3`."""
    parts = [*modes, *([f"grade {grade}"] if grade is not None else [])]
    return ", ".join(parts)


def interval_words(outcome: BatchOutcome | JarOutcome, *, how: bool = True) -> str:
    """One outcome: intact on, failed between, failed by, failed while making."""
    if outcome.state == NOT_WATCHED:
        return NOT_LOOKED_AT
    if outcome.state == INTACT:
        return _intact(outcome.last_intact or 0.0, outcome.unit)
    tail = how_words(outcome.modes, outcome.grade) if how else ""
    return f"{_failed(outcome)}: {tail}" if tail else _failed(outcome)


def _intact(point: float, unit: str) -> str:
    if unit == RUN:
        return "intact after the run"
    if unit == CYCLES:
        return f"intact after {point:.0f} {'cycle' if point == 1 else 'cycles'}"
    return f"intact on {point_words(point, unit)}"


def _failed(outcome: BatchOutcome | JarOutcome) -> str:
    if isinstance(outcome, BatchOutcome) and outcome.while_making:
        return "failed while making"
    last = point_words(outcome.first_failed or 0.0, outcome.unit)
    if outcome.unit == RUN:
        return "failed in the run"
    if outcome.unit == CYCLES or outcome.last_intact is None:
        return f"failed by {last}"
    return f"failed between {point_words(outcome.last_intact, outcome.unit)} and {last}"


def condition_outcome(outcomes: Iterable[BatchOutcome]) -> BatchOutcome | None:
    """What one condition comes to over all groups of failure: the first failure, else intact."""
    found = list(outcomes)
    failed = earliest(found)
    if failed is not None:
        return failed
    intact = [one for one in found if one.state == INTACT]
    separation = [one for one in intact if one.group == "separation"]
    by_day = max(intact, key=lambda one: one.last_intact or 0.0, default=None)
    return separation[0] if separation else by_day or next(iter(found), None)


def by_condition(outcomes: Sequence[BatchOutcome]) -> dict[str, BatchOutcome]:
    """One outcome for each condition, room first."""
    found = {}
    for name in in_order_of_telling(one.condition for one in outcomes):
        one = condition_outcome(in_condition(outcomes, name))
        if one is not None:
            found[name] = one
    return found


def leading(outcomes: Sequence[BatchOutcome]) -> BatchOutcome | None:
    """The outcome that speaks for a batch: its room jar's, else that of what was looked at."""
    found = by_condition(outcomes)
    watched = [one for one in found.values() if one.state != NOT_WATCHED]
    return watched[0] if watched else next(iter(found.values()), None)


def failed_elsewhere(outcomes: Sequence[BatchOutcome]) -> tuple[BatchOutcome, ...]:
    """Failures in other conditions than the leading one, where that one itself holds."""
    lead = leading(outcomes)
    if lead is None or lead.state == FAILED:
        return ()
    return tuple(one for one in by_condition(outcomes).values() if one.state == FAILED)


def headline(outcomes: Sequence[BatchOutcome], noticed: Sequence[Noticed] = ()) -> str:
    """What became of a batch, in a line: the room jar first, others where they failed.

    What was seen and no limit judges is told too, so that "intact" hides nothing.
    """
    lead = leading(outcomes)
    if lead is None or lead.state == NOT_WATCHED:
        parts = [NOT_LOOKED_AT]
    else:
        named = condition_key(lead.condition) not in (ROOM, "bulk") and not _making(lead)
        parts = [f"{lead.condition} {interval_words(lead)}" if named else interval_words(lead)]
        parts += [f"{one.condition} {interval_words(one)}" for one in failed_elsewhere(outcomes)]
    return "; ".join([*parts, *(noticed_words(one) for one in noticed)])


def _making(outcome: BatchOutcome) -> bool:
    return outcome.while_making


def noticed_words(one: Noticed) -> str:
    """`grains, grade 3 on day 14 in the fridge, no limit set`."""
    place = "" if condition_key(one.condition) == ROOM else f" ({one.condition})"
    when = "in the run" if one.unit == RUN else f"on {point_words(one.point, one.unit)}"
    if not one.modes:
        return f"grade {one.grade} {when}{place}, of what is not written down"
    return f"{how_words(one.modes, one.grade)} {when}{place}, no limit set"


def due_words(look: DueLook) -> str:
    """`day 60 overdue`, `day 7 is due today`."""
    point = due_point(look)
    return f"{point} overdue" if look.state == "overdue" else f"{point} is due today"


def cell_words(outcome: BatchOutcome | JarOutcome | None) -> str:
    """An outcome in a table: `intact 28`, `failed 1-7`, `failed by 2`; empty where not watched."""
    if outcome is None or outcome.state == NOT_WATCHED:
        return ""
    if outcome.unit == RUN and not (isinstance(outcome, BatchOutcome) and outcome.while_making):
        return outcome.state
    if outcome.state == INTACT:
        return f"intact {_figure(outcome.last_intact or 0.0)}"
    if isinstance(outcome, BatchOutcome) and outcome.while_making:
        return "failed at 0"
    last = _figure(outcome.first_failed or 0.0)
    if outcome.last_intact is None:
        return f"failed by {last}"
    return f"failed {_figure(outcome.last_intact)}-{last}"


def _figure(point: float) -> str:
    return f"{max(1, round(point * 24))} h" if 0 < point < 1 else f"{point:.0f}"


def became_words(batches: Sequence[tuple[str, Sequence[BatchOutcome]]]) -> str:
    """What became of the batches of one version, in a sentence.

    `C3, R8 and K2 intact on day 28; K2 failed in freeze-thaw`. Those that are intact share the day
    until which all of them were looked at.
    """
    intact: dict[tuple[str, str], list[tuple[str, float]]] = {}
    parts = []
    elsewhere = []
    unknown = []
    for short, outcomes in batches:
        lead = leading(outcomes)
        if lead is None or lead.state == NOT_WATCHED:
            unknown.append(short)
        elif lead.state == FAILED:
            parts.append(f"{short} {interval_words(lead, how=False)}")
        else:
            key = (lead.condition, lead.unit)
            intact.setdefault(key, []).append((short, lead.last_intact or 0.0))
        elsewhere += [f"{short} failed in {one.condition}" for one in failed_elsewhere(outcomes)]
    for (condition, unit), found in intact.items():
        place = "" if condition_key(condition) in (ROOM, "bulk") else f" ({condition})"
        names = listed([short for short, _ in found])
        parts.append(f"{names} {_intact(min(point for _, point in found), unit)}{place}")
    if unknown:
        elsewhere.append(f"{listed(unknown)} {NOT_LOOKED_AT}")
    return "; ".join([*parts, *elsewhere])


def listed(names: Sequence[str]) -> str:
    """`C3, R8 and K2`."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else list(names))
