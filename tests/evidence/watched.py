"""A small batch with jars and looks, put together in one line."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from labbook.model.batch import Batch, BatchStep, Correction, Done, Parent, Pin
from labbook.model.formula import Formula, Limit, Step
from labbook.model.jars import Jar, Jars, Look, Stability, Stay
from labbook.model.quantities import parse_quantity as q
from labbook.model.settings import Protocol, TimePoint

FILLED = datetime.fromisoformat("2026-01-22T11:30+01:00")
COMBINED = FILLED - timedelta(hours=1)
CLOSED = FILLED + timedelta(minutes=15)
PIN = Pin(code="HC", id="f-abc123", version=2, digest="d", blob="b")
FORMULA = Formula(code="HC", title="Hand cream", id="f-abc123", emulsion="oil-in-water")


def day(number: float) -> datetime:
    """An evening that many days after filling."""
    return FILLED + timedelta(days=number, hours=6 if number >= 1 else 0)


def a_batch(**changes: Any) -> Batch:
    """A closed batch that was combined an hour before its jars were filled."""
    step = BatchStep(id="s1", plan=Step(id="s1", do="combine"), done=Done(started=COMBINED))
    usual: dict[str, Any] = {
        "id": "HC-260122-9T", "state": "closed", "made": COMBINED, "formula": PIN,
        "size": q("100 g"), "steps": (step,), "closed": CLOSED,
    }  # fmt: skip
    return Batch(**(usual | changes))


def a_formula(*limits: Limit, **changes: Any) -> Formula:
    """A formula with these acceptance limits."""
    usual: dict[str, Any] = {
        "code": "HC", "title": "Hand cream", "id": "f-abc123", "emulsion": "oil-in-water",
    }  # fmt: skip
    return Formula(acceptance=limits, **(usual | changes))


def standing(*conditions: str) -> Jars:
    """Jars 1, 2, … each in its condition from ten minutes after filling."""
    jars = [Jar(id=f"j{n}", jar=str(n), filled=FILLED) for n in range(1, len(conditions) + 1)]
    since = FILLED + timedelta(minutes=10)
    stays = [
        Stay(id=f"y{n}", jar=str(n), condition=condition, since=since)
        for n, condition in enumerate(conditions, 1)
    ]
    return Jars(batch="HC-260122-9T", protocol="home", jars=tuple(jars), stays=tuple(stays))


def seen(
    when: float, grade: int | None = 0, *modes: str, jar: str = "1", id: str = "", **more: Any
) -> Look:
    """A look at a jar, that many days after filling."""
    return Look(
        id=id or f"o{int(when * 100)}-{jar}",
        jar=jar,
        time=day(when),
        grade=grade,
        modes=modes,
        **more,
    )


def written(looks: Iterable[Look], *corrections: Correction) -> Stability:
    """The looks of the batch."""
    return Stability(batch="HC-260122-9T", looks=tuple(looks), corrections=corrections)


def correction(of: str, key: str, now: str | None) -> Correction:
    """A correction of a look."""
    return Correction(id=f"c-{of}-{key}", of=of, key=key, now=now, why="poor light", time=day(99))


def protocol(*points: TimePoint) -> Protocol:
    """A protocol of these points."""
    return Protocol(id="home", title="Looks", looks=points)


def split_off(parent: str) -> tuple[Parent, ...]:
    """Made by splitting that batch."""
    return (Parent(batch=parent, how="split"),)
