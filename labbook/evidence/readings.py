"""Readings of a home bench, like with like: at like age, temperature, rest, and taken the same way.

A spread without its weight, a flow without its temperature or its rest, is noise: stirring alone
can change a cream's flow fourfold, and it goes on setting for hours. So what was taken otherwise,
or has not written down what the others have, is kept apart with the reason. Where none has it
written down they are compared all the same, and that is said.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

from labbook.evidence.sightings import (
    BULK,
    age,
    combined_at,
    counted_from,
    current_looks,
    plain_jar,
    stay_at,
    stays_of,
)
from labbook.model.batch import Batch
from labbook.model.jars import Jars, Look, Stability
from labbook.model.materials import Equipment
from labbook.model.moments import day_of
from labbook.model.quantities import Quantity
from labbook.model.results.looking import jar_name
from labbook.model.results.trends import AgeRow, Apart, ReadingPoint, Series
from labbook.trade.standing import standing

MAKING = "making"
"""The condition of a reading that was taken while making."""

DEGREES, SHARE = 2.0, 0.2
"""How far apart two temperatures (°C) and two rests or ages (as a share) may be to be alike."""

_USUAL = frozenset({"at", "rest"})
MATTERS: Mapping[str, frozenset[str]] = {
    "ph": frozenset({"at"}),
    "spread": frozenset({"by", "at", "rest"}),
    "funnel": frozenset({"by", "at", "rest"}),
    "viscosity": frozenset({"by", "at", "rest"}),
    "droplet size": frozenset({"by"}),
    "weight": frozenset(),
}
"""What has to be alike for two readings of a kind; any other kind takes temperature and rest."""

CHECKED: Mapping[str, tuple[tuple[str, ...], int]] = {
    "ph": (("pH meter", "pH strips"), 7),
    "viscosity": (("viscometer",), 365),
    "weight": (("balance",), 365),
}
"""Which equipment has to have been checked within how many days: common practice, no source. A
ruler, a clock and a finger need no calibration."""

FINISHED = frozenset({"finished emulsion", "product", ""})


def matters(reading: str) -> frozenset[str]:
    """What has to be alike for two readings of a kind."""
    key = reading.casefold()
    if key.startswith("feel"):
        return frozenset({"by"})
    return MATTERS.get(key, _USUAL)


def is_rank(reading: str) -> bool:
    """Whether a reading is a score, whose steps are not alike: no line is drawn through it."""
    return reading.casefold().startswith("feel")


# Collecting --------------------------------------------------------------------------------------


def points_of(
    batch: Batch,
    jars: Jars | None,
    stability: Stability | None,
    equipment: Mapping[str, Equipment],
) -> tuple[tuple[str, ReadingPoint], ...]:
    """Every reading with a figure of a batch and its jars, each with its kind.

    Corrected, and without struck ones.
    """
    found = [
        (look.reading, _of_look(batch, jars, look, look.reading, look.value, equipment))
        for look in current_looks(stability)
        if look.reading and look.value is not None
    ]
    start = combined_at(batch)
    for one in standing(batch).readings:
        if one.value is None or one.struck is not None:
            continue
        when = one.time or batch.made
        day = day_of(when)
        checked, spread = _checked(one.reading, day, equipment, one.with_)
        point = ReadingPoint(
            batch=batch.id, short=batch.short, jar="", condition=MAKING, age=age(start, when),
            day=day, value=one.value, unit=one.unit or "", at=one.at, rest=one.rest,
            by=one.by or "", of=one.of or "", calibrated=checked, uncertainty=spread,
        )  # fmt: skip
        found.append((one.reading, point))
    return tuple(found)


def _of_look(
    batch: Batch,
    jars: Jars | None,
    look: Look,
    reading: str,
    value: Decimal,
    equipment: Mapping[str, Equipment],
) -> ReadingPoint:
    jar = plain_jar(batch, look.jar)
    stay = stay_at(stays_of(batch, jars, jar), look.time)
    condition = look.condition or (stay.condition if stay else BULK)
    day = day_of(look.time)
    meter = batch.tools.meter if batch.tools and reading.casefold() == "ph" else None
    checked, spread = _checked(reading, day, equipment, meter)
    return ReadingPoint(
        batch=batch.id, short=batch.short, jar=jar, condition=condition,
        age=age(counted_from(batch, jars, jar, condition, look.time), look.time), day=day,
        value=value, unit=look.unit or "", at=look.at, rest=look.rest, by=look.by or "",
        planned=float(look.planned.exact("d")) if look.planned is not None else None,
        calibrated=checked, uncertainty=spread,
    )  # fmt: skip


def _checked(
    reading: str, day: date, equipment: Mapping[str, Equipment], named: str | None
) -> tuple[bool, float]:
    """Whether the instrument had been checked by a day, and how far off it was then."""
    wanted = CHECKED.get(reading.casefold())
    if wanted is None:
        return True, 0.0
    kinds, days = wanted
    tools = [tool for name, tool in equipment.items() if tool.kind in kinds]
    if named is not None and named in equipment:
        tools = [equipment[named]]
    checks = [
        one
        for tool in tools
        for one in tool.calibrations
        if day - timedelta(days=days) <= day_of(one.date) <= day
    ]
    if not checks:
        return False, 0.0
    spread = max(checks, key=lambda one: day_of(one.date)).spread
    return True, float(spread.value) if spread is not None else 0.0


# Like with like ----------------------------------------------------------------------------------


def alike(
    reading: str, points: Sequence[ReadingPoint], *, emulsion: str | None = None
) -> tuple[tuple[ReadingPoint, ...], tuple[Apart, ...], tuple[str, ...]]:
    """The readings of one kind that may be compared, those that may not, and what is unknown.

    Args:
        reading: the kind.
        points: all of that kind.
        emulsion: the type of the formula: the pH of a finished water-in-oil cream is compared with
            nothing, for the electrode meets oil.
    """
    apart: list[Apart] = []
    left = list(points)

    def keep(reason: Callable[[ReadingPoint], str]) -> None:
        nonlocal left
        told = [(point, reason(point)) for point in left]
        apart.extend(Apart(point=point, why=why) for point, why in told if why)
        left = [point for point, why in told if not why]

    if reading.casefold() == "ph":
        if emulsion == "water-in-oil":
            keep(lambda p: "the electrode meets oil in a water-in-oil cream" if _whole(p) else "")
        keep(lambda p: f"of the {p.of}, not of the finished one" if p.of not in FINISHED else "")
    unit = _commonest(point.unit for point in left)
    keep(lambda p: f"in {p.unit or 'no unit'}, the others in {unit}" if p.unit != unit else "")
    silent = []
    for key, told in (("by", "how it was taken"), ("at", "its temperature"), ("rest", "its rest")):
        if key not in matters(reading):
            continue
        known = [point for point in left if getattr(point, key)]
        if not known:
            silent += [told] if left else []
            continue
        keep(_differs(key, told, known))
    return tuple(left), tuple(apart), tuple(silent)


def _whole(point: ReadingPoint) -> bool:
    return point.of in FINISHED


def _commonest(values: Iterable[str]) -> str:
    counts = Counter(values)
    return min(counts, key=lambda value: (-counts[value], value), default="")


def _differs(key: str, told: str, known: Sequence[ReadingPoint]) -> Callable[[ReadingPoint], str]:
    """Says how a reading was taken otherwise than most; empty where it was taken alike."""
    if key == "by":
        way = _commonest(_folded(point.by) for point in known)
        shown = next(point.by for point in known if _folded(point.by) == way)

        def other_way(point: ReadingPoint) -> str:
            if not point.by:
                return f"{told} is not written down"
            return "" if _folded(point.by) == way else f"by {point.by}, the others by {shown}"

        return other_way
    middle = max(known, key=lambda one: sum(_near(key, one, other) for other in known))
    others = getattr(middle, key)

    def other_figure(point: ReadingPoint) -> str:
        mine = getattr(point, key)
        if mine is None:
            return f"{told} is not written down"
        after = {"at": "at", "rest": "after"}[key]
        return "" if _near(key, point, middle) else f"{after} {mine}, the others {after} {others}"

    return other_figure


def _folded(text: str) -> str:
    return " ".join(text.casefold().replace(",", " ").split())


def _near(key: str, one: ReadingPoint, other: ReadingPoint) -> bool:
    mine, theirs = _figure(key, getattr(one, key)), _figure(key, getattr(other, key))
    if mine is None or theirs is None:
        return False
    if key == "at":
        return abs(mine - theirs) <= DEGREES + 1e-9
    return abs(mine - theirs) <= SHARE * max(abs(mine), abs(theirs)) + 1e-9


def _figure(key: str, held: Quantity | None) -> float | None:
    if held is None:
        return None
    return float(held.exact("°C")) if key == "at" else float(held.exact("d"))


# Series and rows of like age ---------------------------------------------------------------------


def series_of(points: Iterable[ReadingPoint], *, by_batch: bool) -> tuple[Series, ...]:
    """A series for each jar, or for each batch, by name; in order of age."""
    held: dict[tuple[str, str], list[ReadingPoint]] = {}
    for point in points:
        name = point.short if by_batch or not point.jar else jar_name(point.short, point.jar)
        held.setdefault((name, point.batch), []).append(point)
    return tuple(
        Series(
            name=name, batch=batch, condition=mine[0].condition,
            points=tuple(sorted(mine, key=lambda p: (p.age, p.day, p.value))),
        )
        for (name, batch), mine in held.items()
    )  # fmt: skip


def like_age(one: ReadingPoint, other: ReadingPoint) -> bool:
    """Whether two readings are of like age: the same planned point, or within a fifth."""
    if one.planned is not None and one.planned == other.planned:
        return True
    return abs(one.age - other.age) <= SHARE * max(one.age, other.age) + 1e-9


def rows_of(series: Sequence[Series]) -> tuple[AgeRow, ...]:
    """Values side by side at like age; each row stands at the age of its youngest reading."""
    left = [(p.age, n, p) for n, one in enumerate(series) for p in one.points]
    rows: list[tuple[ReadingPoint, list[Decimal | None]]] = []
    for _, n, point in sorted(left, key=lambda one: (one[0], one[1])):
        row = next((r for r in rows if r[1][n] is None and like_age(r[0], point)), None)
        if row is None:
            row = (point, [None] * len(series))
            rows.append(row)
        row[1][n] = point.value
    return tuple(AgeRow(age=first.age, values=tuple(values)) for first, values in rows)
