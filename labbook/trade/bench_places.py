"""Where a step of the method has something to write down: temperatures, times, how it looked."""

from __future__ import annotations

from collections.abc import Collection

from labbook.model.batch import BatchStep
from labbook.model.formula import Step
from labbook.trade.standing import MIXING

CREAM = "cream"
"""The name that what is combined has in a step's temperatures."""

_OF_THE_CREAM = ("add", "pour", "fill", "whip")


def phases_joined(plan: Step | None) -> tuple[str, ...]:
    """The phases, and other words, that a step puts together; empty for one that doesn't."""
    if plan is None or plan.do not in ("combine", "add"):
        return ()
    return _words(plan.add, plan.into)


def temperature_places(step: BatchStep, phases: Collection[str]) -> tuple[str, ...]:
    """The phases whose temperature a step can tell, and the cream where it is handled."""
    plan = step.plan
    if plan is None:
        return tuple(step.done.temperatures or ()) if step.done else ()
    named = [*(plan.set or {}), *(w for w in _words(plan.add, plan.into) if w in phases)]
    into_cream = plan.do == "add" and not any(word in phases for word in _words(plan.into))
    if into_cream or (plan.do in _OF_THE_CREAM and not named):
        named = [CREAM]
    held = step.done.temperatures or {} if step.done else {}
    return tuple(dict.fromkeys([*named, *held]))


def keys_of(step: BatchStep) -> tuple[str, ...]:
    """The other things that a step can tell, by the keys of what was done."""
    plan = step.plan
    if plan is None:
        return ("seen",)
    found = ["hold"] if plan.hold else []
    if plan.then_mix or plan.do in ("mix", "whip"):
        found.append("mixed")
    if plan.do in MIXING or plan.speed:
        found.append("speed")
    if plan.stir_until:
        found.append("stirred until")
    return (*found, "seen")


def _words(*texts: str | None) -> tuple[str, ...]:
    return tuple(word for text in texts for word in (text or "").replace(",", " ").split())
