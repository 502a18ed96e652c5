"""What the checks ask of a method: how hot each phase gets, what is combined, what comes after.

Of a formula the set points count; of a batch only what was written down at the bench, for what
wasn't recorded is neither as planned nor otherwise.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.batch import BatchStep, Done
from labbook.model.formula import Step
from labbook.model.quantities import Quantity
from labbook.model.sheets import fold
from labbook.trade.checks.case import Case
from labbook.trade.checks.contents import water_phase
from labbook.trade.composition import ResolvedLine

_BETWEEN = re.compile(r",|;|\+|&|\band\b|\bwith\b")
_BY_HAND = frozenset({"hand", "spatula", "spoon", "rod", "stirrer"})


@dataclass(frozen=True, slots=True)
class Act:
    """A step: the plan, and what was done in it where there is a batch that says so."""

    plan: Step
    done: Done | None

    @property
    def id(self) -> str:
        """The id of the step."""
        return self.plan.id


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """A temperature in °C of a phase in a step, and whether it was read at the bench."""

    degrees: Fraction
    step: str
    recorded: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """Lines that go in after the phases were combined.

    `degrees` is the highest temperature in °C at which they may (or did) go in, None where nothing
    tells; `again` says that something mixes them in well enough to emulsify anew.
    """

    step: str
    lines: tuple[ResolvedLine, ...]
    degrees: Fraction | None
    recorded: bool
    again: bool


def acts(case: Case) -> tuple[Act, ...]:
    """The steps in order; of a batch, those of the batch."""
    if case.batch is None:
        return tuple(Act(step, None) for step in case.formula.method)
    return tuple(_act(step) for step in case.batch.steps if not _skipped(step))


def _act(step: BatchStep) -> Act:
    return Act(step.plan or Step(id=step.id, do="other"), step.done)


def _skipped(step: BatchStep) -> bool:
    return bool(step.done and step.done.skipped)


def phases_named(case: Case, text: str | None) -> tuple[str, ...]:
    """The letters of the phases that a step names, by letter or by the phase's name."""
    words = [word.strip() for word in _BETWEEN.split(text or "")]
    found = []
    for phase in case.formula.phases:
        own = {phase.phase, f"phase {phase.phase}"}
        if own & set(words) or (phase.name and fold(phase.name) in map(fold, words)):
            found.append(phase.phase)
    return tuple(found)


def lines_named(case: Case, text: str | None) -> tuple[ResolvedLine, ...]:
    """The lines that a step names: those of a phase, or single ingredients."""
    letters = phases_named(case, text)
    words = {word.strip() for word in _BETWEEN.split(text or "")} - set(letters) - {""}
    wanted = {case.sheets.id_of(word) for word in words} | {fold(word) for word in words}
    return tuple(
        line
        for line in case.composition.lines
        if line.phase in letters or line.sheet in wanted or fold(line.ingredient) in wanted
    )


# Heat --------------------------------------------------------------------------------------------


def _temperatures(act: Act, *, recorded: bool) -> dict[str, Quantity]:
    if recorded:
        return (act.done.temperatures or {}) if act.done else {}
    return act.plan.set or {}


def heated(case: Case) -> dict[str, Heat]:
    """The highest temperature that each phase reaches on its own, up to being combined."""
    found: dict[str, Heat] = {}
    letters = {phase.phase for phase in case.formula.phases}
    last = combining(case)
    for index, act in enumerate(acts(case)):
        if last is not None and index > last:
            break
        for letter, one in _degrees(case, act).items():
            before = found.get(letter)
            if letter in letters and (before is None or before.degrees < one.degrees):
                found[letter] = one
    return found


def _degrees(case: Case, act: Act) -> dict[str, Heat]:
    recorded = case.batch is not None
    return {
        letter: Heat(degrees=quantity.exact("°C"), step=act.id, recorded=recorded)
        for letter, quantity in _temperatures(act, recorded=recorded).items()
    }


def when_combined(case: Case) -> dict[str, Heat]:
    """Each phase's temperature when water and oil are combined, as far as it is known.

    By the method, the last that was set for it; by a batch, what was read in that very step.
    """
    index = combining(case)
    if index is None:
        return {}
    steps = acts(case)
    joined = _joined(case, steps[index])
    if case.batch is not None:
        found = _degrees(case, steps[index])
    else:
        found = {}
        for act in steps[: index + 1]:
            found |= _degrees(case, act)
    return {letter: heat for letter, heat in found.items() if letter in joined}


# Combining and what comes after ------------------------------------------------------------------


def combining(case: Case) -> int | None:
    """The index of the step in which the water phase meets another phase; None if none does."""
    water = water_phase(case)
    if water is None:
        return None
    for index, act in enumerate(acts(case)):
        joined = _joined(case, act)
        if act.plan.do in ("combine", "add") and water[0] in joined and len(joined) > 1:
            return index
    return None


def _joined(case: Case, act: Act) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys((*phases_named(case, act.plan.add), *phases_named(case, act.plan.into)))
    )


def added_later(case: Case) -> tuple[Added, ...]:
    """What goes in after water and oil were combined, step by step; nothing if they never are."""
    return () if combining(case) is None else additions(case)


def additions(case: Case) -> tuple[Added, ...]:
    """What goes in after water and oil were combined; without that step, all that is added."""
    start = combining(case)
    steps = acts(case)
    already = set() if start is None else set(_joined(case, steps[start]))
    found = []
    for index in range(0 if start is None else start + 1, len(steps)):
        lines = _lines_added(case, steps[index].plan, already)
        if lines:
            degrees, recorded = _at(case, steps, index)
            found.append(
                Added(
                    step=steps[index].id,
                    lines=lines,
                    degrees=degrees,
                    recorded=recorded,
                    again=any(_emulsifies(act) for act in steps[index:]),
                )
            )
    return tuple(found)


def _lines_added(case: Case, plan: Step, already: set[str]) -> tuple[ResolvedLine, ...]:
    """What a step adds: whole phases that aren't in yet, or single lines."""
    if plan.do == "adjust" and not plan.add and not phases_named(case, plan.into):
        return tuple(line for line in case.composition.lines if line.adjust is not None)
    if plan.do not in ("add", "combine", "adjust"):
        return ()
    letters = phases_named(case, plan.add)
    wanted = set(letters) - already
    return tuple(
        line for line in lines_named(case, plan.add) if not letters or line.phase in wanted
    )


def _emulsifies(act: Act) -> bool:
    """Whether a step mixes hard enough to emulsify: a whipping or mixing step, or a device."""
    if act.plan.do in ("mix", "whip"):
        return True
    device = (act.done.with_ if act.done else None) or act.plan.with_ or ""
    words = set(fold(device).split("-"))
    return act.plan.do in ("add", "combine") and bool(device) and not words & _BY_HAND


def _at(case: Case, steps: tuple[Act, ...], index: int) -> tuple[Fraction | None, bool]:
    """The temperature at which a step adds something, and whether it was read."""
    if case.batch is not None:
        return _read_at(case, steps, index), True
    plan = steps[index].plan
    for planned in (plan.at, plan.below):
        if planned is not None:
            return planned.exact("°C"), False
    for act in reversed(steps[:index]):
        cooled = act.plan.stir_until or act.plan.at
        if cooled is not None:
            return cooled.exact("°C"), False
        if act.plan.do == "cool" or act.plan.do == "rest":
            return None, False
        degrees = [heat.degrees for heat in _degrees(case, act).values()]
        if degrees:
            return max(degrees), False
    return None, False


def _read_at(case: Case, steps: tuple[Act, ...], index: int) -> Fraction | None:
    """What was read of the cream when something went in; else until when it was stirred."""
    added = set(phases_named(case, steps[index].plan.add))
    own = {k: heat for k, heat in _degrees(case, steps[index]).items() if k not in added}
    if own:
        return max(heat.degrees for heat in own.values())
    before = steps[index - 1].done if index else None
    if before is not None and before.stirred_until is not None:
        return before.stirred_until.exact("°C")
    return None
