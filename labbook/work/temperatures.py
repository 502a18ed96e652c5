"""`stability temperature`: how warm a place was by its log, or a jar while it stood there."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from labbook.evidence.sightings import stay_at, stays_of
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.warmth import warmth
from labbook.model.errors import NotAllowed, Unclear
from labbook.model.moments import in_order
from labbook.model.results.temperatures import LoggedTemperature, Warmth
from labbook.notebook.temperature_log import read_temperatures
from labbook.work.bench import Bench
from labbook.work.look import jar_of


def temperatures(bench: Bench, path: Path, *, jar: str = "") -> Warmth:
    """What a thermometer's log amounts to.

    Args:
        bench: the notebook.
        path: the log.
        jar: only the time since that jar stands where it does; empty takes the whole log.

    Raises:
        Unreadable: the file is no log.
        NotAllowed: too few readings in that time.
        UnknownName, Unclear: no such jar, or it was never put anywhere.
    """
    log = read_temperatures(path, bench.now.tzinfo)
    about = ""
    if jar:
        since, about = _stay(bench, jar)
        log = tuple(one for one in log if in_order(one.time) >= in_order(since))
    found = warmth(log, source=path.name, about=about)
    if isinstance(found, Refusal):
        raise NotAllowed(f"{found.why}.", where=str(path), mend=_mend(log, about))
    return found


def _stay(bench: Bench, typed: str) -> tuple[datetime, str]:
    """Since when a jar stands where it does, and in words."""
    named = jar_of(bench, typed)
    stay = stay_at(
        stays_of(named.batch, bench.snapshot.jars.get(named.batch.id), named.jar), bench.now
    )
    if stay is None:
        raise Unclear(
            f"{named.name} was put nowhere.", mend=f"labbook look {named.name.lower()} --moved room"
        )
    return in_order(stay.since), f"{named.name} in {stay.condition}"


def _mend(log: tuple[LoggedTemperature, ...], about: str) -> str:
    if about and not log:
        return "The log ends before the jar was put there."
    return "A line reads: 2026-07-14 15:00, 26.4"
