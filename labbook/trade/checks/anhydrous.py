"""Balms, butters and oils without water: how firm they stand, and what doesn't belong in them."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.trade.advice import Advice
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import (
    Part,
    all_known,
    ends,
    named,
    names_of,
    number,
    of_kind,
    parts,
    span,
    total,
)


def firmness(case: Case) -> Iterator[Advice | Unseen]:
    """Little wax, or much of it."""
    found = parts(case)
    waxes = [part for part in of_kind(found, "wax") if "oil" not in part.kinds]
    wax, butter = total(waxes), total(of_kind(found, "butter"))
    if not waxes or wax is None or butter is None or not all_known(case):
        return
    soft, hard = "soft-balm", "hard-balm"
    few = wax < Fraction(case.figure(soft, "wax under in %"))
    if few and wax + butter < Fraction(case.figure(soft, "wax and butter under in %")):
        what = (
            f"{number(wax)} % wax ({names_of(waxes)}) and {number(butter)} % butter: it stays "
            "soft, or runs."
        )
        yield case.advice(soft, what, line=waxes[0].line)
    if wax > Fraction(case.figure(hard, "wax over in %")):
        what = f"{number(wax)} % wax ({names_of(waxes)}): it gets hard, and drags on the skin."
        yield case.advice(hard, what, line=waxes[0].line)


def melting_in_the_room(case: Case) -> Iterator[Advice | Unseen]:
    """Fats that are liquid in a warm room, and too little wax to hold them."""
    rule = "melts-in-a-warm-room"
    room = Fraction(case.figure(rule, "warm room in °C"))
    soft, holding = [], Fraction()
    for part in parts(case):
        if not part.solid or part.percent is None:
            continue
        low, high = melting(part)
        if high is not None and high <= room:
            soft.append(part)
        elif low is not None and low > room and "wax" in part.kinds:
            holding += part.percent
        elif low is None and "wax" in part.kinds:
            return  # a wax that may hold it, nobody knows at what temperature
    share = total(soft)
    if not soft or share is None or share < Fraction(case.figure(rule, "from in %")):
        return
    if holding >= Fraction(case.figure(rule, "held by wax from in %")):
        return
    told = " and ".join(f"{p.ingredient} at {span(*melting(p))} °C" for p in soft)
    what = (
        f"{number(share)} % of it melts in a warm room of {number(room)} °C: {told}. "
        f"{_held(holding)}"
    )
    yield case.advice(rule, what, line=soft[0].line)


def _held(wax: Fraction) -> str:
    return f"Only {number(wax)} % wax holds it." if wax else "No wax holds it."


def melting(part: Part) -> tuple[Fraction | None, Fraction | None]:
    """The ends of a material's melting range in °C, None where its sheet gives none."""
    return ends(part.sheet.melting_point if part.sheet else None, None, "°C")


def water_in_it(case: Case) -> Iterator[Advice | Unseen]:
    """Water in what is meant to have none, also the water of tinctures and solutions."""
    rule, water = "water-in-anhydrous", case.composition.water()
    if water.least is None or water.least < Fraction(case.figure(rule, "from in %")):
        return
    lines = [line for line in case.composition.lines if line.water_least]
    what = (
        f"{number(water.least)} % of the formula is water, brought by "
        f"{named([line.ingredient for line in lines])}, and it is meant to be anhydrous."
    )
    yield case.advice(rule, what, line=lines[0].index)


def water_soluble_in_it(case: Case) -> Iterator[Advice | Unseen]:
    """Something that dissolves in water only, where there is none to dissolve it."""
    water = case.composition.water()
    wet = {line.index for line in case.composition.lines if line.water_least}
    own = [
        part
        for part in parts(case)
        if part.dissolves_in == "water"
        and not {"emulsifier", "surfactant", "water"} & part.kinds
        and part.line not in wet
    ]
    if not own or water.least is None or emulsified(case):
        return
    what = f"{names_of(own)} dissolves in water, not in oil, and there is no water here."
    yield case.advice("water-soluble-in-anhydrous", what, line=own[0].line)


def emulsified(case: Case) -> bool:
    """Whether there is something that would carry what doesn't dissolve."""
    return bool(of_kind(parts(case), "emulsifier", "surfactant"))


CHECKS: tuple[Check, ...] = (firmness, melting_in_the_room, water_in_it, water_soluble_in_it)
