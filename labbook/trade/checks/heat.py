"""Heat, by the sheets: what gets too hot, what doesn't melt, and phases far apart when combined.

Only a sheet's own figure counts; without one nothing is said of that material. Of a batch only the
temperatures count that were read.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.model.materials import Ingredient
from labbook.trade.advice import Advice
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import Part, ends, number, parts, span, water_phase
from labbook.trade.checks.method import Heat, acts, additions, combining, heated, when_combined

_SPOILED_BY_HEAT = frozenset({"fragrance", "extract", "active"})
"""Functions of which a maker wants to know how much heat they stand; liquid preservatives too."""


# Too hot -----------------------------------------------------------------------------------------


def too_hot(case: Case) -> Iterator[Advice | Unseen]:
    """What is heated, or goes in, above the highest temperature of its sheet."""
    hot, added = _hottest_of_lines(case)
    for part in parts(case):
        heat = hot.get(part.line)
        if heat is None or part.sheet is None:
            continue
        highest = _highest(part.sheet)
        if highest is None:
            if _SPOILED_BY_HEAT & part.kinds or _liquid_preservative(part):
                yield Unseen("above-highest-temperature", "a highest temperature", part.ingredient)
            continue
        if heat.degrees > highest:
            yield _too_hot(case, part, part.sheet, heat, highest, late=part.line in added)


def _liquid_preservative(part: Part) -> bool:
    liquid = part.sheet is not None and part.sheet.physical == "liquid"
    return liquid and "preservative" in part.kinds


def _too_hot(
    case: Case, part: Part, sheet: Ingredient, heat: Heat, highest: Fraction, *, late: bool
) -> Advice:
    given = sheet.highest_temperature
    note = f" ({given.note})" if given and given.note else ""
    if late:
        verb = "went in at" if heat.recorded else "goes in at"
    else:
        verb = "was heated to" if heat.recorded else "is heated to"
    up_to = "up to " if late and not heat.recorded else ""
    what = (
        f"{part.ingredient} {verb} {up_to}{number(heat.degrees)} °C; its sheet names "
        f"{number(highest)} °C as the highest temperature{note}."
    )
    mend = f"Let it go in below {number(highest)} °C, in a phase of its own after cooling."
    source = f"its sheet: {given.source}" if given and given.source else None
    return case.advice("above-highest-temperature", what, mend=mend, source=source, line=part.line)


def _hottest_of_lines(case: Case) -> tuple[dict[int, Heat], set[int]]:
    """The highest known temperature that each line meets, and which lines go in late."""
    found: dict[int, Heat] = {}
    late: set[int] = set()
    for added in additions(case):
        for line in added.lines:
            late.add(line.index)
            if added.degrees is not None:
                found[line.index] = Heat(
                    degrees=added.degrees, step=added.step, recorded=added.recorded
                )
    hot = heated(case)
    for line in case.composition.lines:
        own = hot.get(line.phase)
        if own is not None and line.index not in late:
            found[line.index] = own
    return found, late


def _highest(sheet: Ingredient) -> Fraction | None:
    return ends(sheet.highest_temperature, None, "°C")[1]


# Not hot enough ----------------------------------------------------------------------------------


def melts_above_heating(case: Case) -> Iterator[Advice | Unseen]:
    """What melts above the temperature that its phase is heated to."""
    hot = _heated_on_purpose(case)
    for part in parts(case):
        meant = part.solid and part.phase in hot and part.dissolves_in != "water"
        if meant and part.sheet is not None and _melted_at(case, part.sheet) is None:
            yield Unseen(_melting_rule(part), "a melting point", part.ingredient)
    for part, heat in _unmelted(case):
        verb = "was heated" if heat.recorded else "is heated"
        melting = span(*ends(part.sheet.melting_point if part.sheet else None))
        what = (
            f"{part.ingredient} melts at {melting} °C by its sheet; phase {part.phase} {verb} to "
            f"{number(heat.degrees)} °C."
        )
        yield case.advice(_melting_rule(part), what, line=part.line)


def _melting_rule(part: Part) -> str:
    if "emulsifier" in part.kinds:
        return "emulsifier-melts-above-heating"
    return "melts-above-heating"


def _unmelted(case: Case) -> list[tuple[Part, Heat]]:
    """What melts above the heat of its phase, with that heat."""
    hot = _heated_on_purpose(case)
    found = []
    for part in parts(case):
        heat = hot.get(part.phase)
        if heat is None or part.sheet is None or part.dissolves_in == "water":
            continue
        melting = _melted_at(case, part.sheet)
        if melting is not None and heat.degrees < melting:
            found.append((part, heat))
    return found


def _heated_on_purpose(case: Case) -> dict[str, Heat]:
    """What was heated in a step that heats: a reading while combining says only how warm it was."""
    heating = {act.id for act in acts(case) if act.plan.do in ("heat", "melt", "hold")}
    return {letter: heat for letter, heat in heated(case).items() if heat.step in heating}


def _melted_at(case: Case, sheet: Ingredient) -> Fraction | None:
    """From what temperature a material is surely liquid.

    The upper end of its melting range; the lower end where the range is so wide that it can only
    mean that grades differ.
    """
    low, high = ends(sheet.melting_point, None, "°C")
    if low is None or high is None:
        return low if high is None else high
    grades = Fraction(case.figure("melts-above-heating", "grades differ over in °C"))
    return low if high - low > grades else high


# When combined -----------------------------------------------------------------------------------


def combined(case: Case) -> Iterator[Advice | Unseen]:
    """Phases far apart in temperature when combined, or too cool for what melts highest."""
    index, water = combining(case), water_phase(case)
    if index is None or water is None:
        return
    found = when_combined(case)
    if len(found) < 2:
        yield from _one_phase_cold(case, found, acts(case)[index].id)
        return
    waxy = _highest_melting(case, set(found))
    cold = None if waxy is None else f"{waxy[0].ingredient} melts at {number(waxy[1])} °C"
    coolest = min(found.values(), key=lambda heat: heat.degrees)
    gap = max(heat.degrees for heat in found.values()) - coolest.degrees
    below = waxy is not None and coolest.degrees < waxy[1]
    told = _told(found, made=case.batch is not None)
    if gap > Fraction(case.figure("phases-apart-when-combined", "gap over in °C")):
        what = f"{told}, {number(gap)} °C apart{f'; {cold}' if below else ''}."
        yield case.advice("phases-apart-when-combined", what, step=coolest.step)
    elif waxy is not None and below and not _never_melted(case, waxy[0]):
        yield case.advice("combined-below-melting", f"{told}; {cold}.", step=coolest.step)


def _told(found: dict[str, Heat], *, made: bool) -> str:
    """How warm the phases were, the coolest first."""
    ordered = sorted(found, key=lambda letter: found[letter].degrees)
    first, rest = ordered[0], ordered[1:]
    verb = "was" if made else "is"
    others = " and ".join(f"phase {x} at {number(found[x].degrees)} °C" for x in rest)
    return f"Phase {first} {verb} at {number(found[first].degrees)} °C and {others} when combined"


def _never_melted(case: Case, part: Part) -> bool:
    """Whether its phase was not even heated enough, which is said already."""
    return any(one.line == part.line for one, _ in _unmelted(case))


def _highest_melting(case: Case, letters: set[str]) -> tuple[Part, Fraction] | None:
    """What sets at the highest temperature among the phases combined, by the lower end."""
    found = []
    for part in parts(case):
        low = ends(part.sheet.melting_point if part.sheet else None, None, "°C")[0]
        if low is not None and part.phase in letters and part.dissolves_in == "oil":
            found.append((part, low))
    return max(found, key=lambda one: one[1], default=None)


def _one_phase_cold(case: Case, found: dict[str, Heat], step: str) -> Iterator[Advice]:
    """The method heats one phase, with fats that set, and says nothing of the other."""
    rule = "one-phase-cold"
    if case.batch is not None or len(found) != 1:
        return
    (letter, heat) = next(iter(found.items()))
    waxy = _highest_melting(case, {letter})
    if waxy is None or waxy[1] < Fraction(case.figure(rule, "fats that set from °C on")):
        return
    what = (
        f"The method heats phase {letter} to {number(heat.degrees)} °C and says nothing of the "
        f"other phase; {waxy[0].ingredient} melts at {number(waxy[1])} °C."
    )
    yield case.advice(rule, what, step=step)


CHECKS: tuple[Check, ...] = (too_hot, melts_above_heating, combined)
