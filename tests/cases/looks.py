"""The jars of a case's batch and what was seen on them; pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from labbook.model.batch import Batch
from labbook.model.jars import Jar, Jars, Look, Stability, Stay
from labbook.model.quantities import parse_quantity as q

Told = Mapping[str, Any]
_LOOK = re.compile(r"(day|cycle|run)\s*([0-9.]*)\s+(?:fine|(.+?)\s+([0-4]))")


def made_at(told: Told) -> datetime:
    """When a batch was made: ten in the morning of its day."""
    return datetime.fromisoformat(f"{told['made']}T10:00+01:00")


def _told_jars(told: Told) -> Iterator[tuple[str, Told]]:
    """The jars by number, each with its condition and what was seen on it."""
    seen = [{"condition": where, "seen": looks} for where, looks in told.get("seen", {}).items()]
    for number, jar in enumerate(told.get("jars", seen), 1):
        yield f"{number}", jar


def jars_of(case: Told, batch: Batch) -> Jars:
    """The jars of a batch, with where each stands."""
    made = made_at(case["batches"][batch.short])
    told = list(_told_jars(case["batches"][batch.short]))
    return Jars(
        batch=batch.id,
        jars=tuple(
            Jar(
                id=f"j{number}",
                jar=number,
                filled=made,
                container=jar.get("container"),
                fill_level=q(jar["fill level"]) if "fill level" in jar else None,
            )
            for number, jar in told
        ),
        stays=tuple(
            Stay(
                id=f"y{number}",
                jar=number,
                condition=jar["condition"],
                place=jar.get("place"),
                since=made,
            )
            for number, jar in told
        ),
    )


def stability_of(case: Told, batch: Batch, today: date) -> Stability:
    """The looks at a batch until a day."""
    made = made_at(case["batches"][batch.short])
    looks = [
        look
        for number, jar in _told_jars(case["batches"][batch.short])
        for look in _looks(number, jar, made)
    ]
    numbered = [replace(look, id=f"o{n}") for n, look in enumerate(looks, 1)]
    kept = [x for x in numbered if isinstance(x.time, datetime) and x.time.date() <= today]
    return Stability(batch=batch.id, looks=tuple(kept))


def _looks(number: str, jar: Told, made: datetime) -> Iterator[Look]:
    for part in jar["seen"].split(";"):
        match = _LOOK.fullmatch(part.strip())
        assert match, f"can't read the look {part!r}"
        what, count, mode, grade = match.groups()
        days = {"day": float(count or 0), "cycle": 2 * float(count or 0), "run": 1.0}[what]
        yield Look(
            id="o",
            jar=number,
            time=made + timedelta(days=days, hours=1),
            cycle=int(count) if what == "cycle" else None,
            condition=jar["condition"],
            grade=int(grade or 0),
            modes=(mode,) if mode else (),
        )
