"""How fast single droplets rise or sink, where Stokes' law says it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Creamed:
    """The speed of a droplet in millimetres a day, above 0 rising; None with the reason in `why`.

    `droplet` is its diameter as typed.
    """

    droplet: str
    mm_per_day: float | None = None
    why: str = ""
