"""Salt in the water of water-in-oil: none, little or much, by weight and by particles.

Whether salt helps is disputed: with many emulsifiers it does, with some sorbitan esters it was seen
to hurt. So all of it are notes.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.trade.advice import Advice
from labbook.trade.checks.case import Case, Unseen
from labbook.trade.checks.contents import (
    Part,
    all_known,
    names_of,
    number,
    parts,
    total,
    water_phase,
)
from labbook.trade.electrolyte import Salt, electrolyte, particles


def salt_in_the_water(case: Case) -> Iterator[Advice | Unseen]:
    """No salt, little or much, by weight and by the particles that it gives in the water."""
    found, water = parts(case), water_phase(case)
    salts = [p for p in found if "electrolyte" in p.kinds and p.dissolves_in in ("water", "")]
    if water is None:
        return
    if not salts:
        yield from _no_salt(case, water[1])
        return
    amount = total(salts)
    if amount is None:
        return
    names = {case.sheets.id_of(part.ingredient) for part in salts}
    told = [
        salt
        for salt in electrolyte(case.composition, case.sheets).salts
        if names & {case.sheets.id_of(name) for name in salt.ingredients}
    ]
    osmol = _osmol(told)
    yield from _little_salt(case, salts, amount, water[1], osmol)
    yield from _much_salt(case, salts, amount, water[1], osmol)


def _osmol(salts: list[Salt]) -> Fraction | None:
    """Osmol per kg of water that salts give at least; None where that can't be told."""
    found = Fraction()
    for salt in salts:
        if salt.molality is None or salt.charges is None:
            return None
        found += salt.molality.least * particles(salt.charges) / 1000
    return found if salts else None


def _no_salt(case: Case, water: Fraction) -> Iterator[Advice]:
    rule = "no-electrolyte-in-water"
    if not all_known(case) or water < Fraction(case.figure(rule, "from water phase in %")):
        return
    what = f"There is no salt in the water phase, which is {number(water)} % of the formula."
    others = [one for one in electrolyte(case.composition, case.sheets).salts if one.molality]
    if others:
        names = " and ".join(
            f"{one.name} ({number(one.molality.least)} mmol per kg of water)"
            for one in others
            if one.molality
        )
        what += f" Of what is in it, {names} counts a little as salt."
    yield case.advice(rule, what, key="phases")


def _salted(salts: list[Part], amount: Fraction, water: Fraction, osmol: Fraction | None) -> str:
    told = (
        f"{number(amount)} % {names_of(salts)} by the formula is {number(amount / water * 100)} % "
        "of the water phase"
    )
    return told if osmol is None else f"{told}, {number(osmol)} osmol per kg of water"


def _little_salt(
    case: Case, salts: list[Part], amount: Fraction, water: Fraction, osmol: Fraction | None
) -> Iterator[Advice]:
    rule = "little-electrolyte-in-water"
    least = Fraction(case.figure(rule, "least in % of the formula"))
    least_osmol = Fraction(case.figure(rule, "least in osmol per kg"))
    if amount >= least or osmol is None or osmol >= least_osmol:
        return
    what = f"{_salted(salts, amount, water, osmol)}; usual is from {number(least)} % on."
    yield case.advice(rule, what, line=salts[0].line)


def _much_salt(
    case: Case, salts: list[Part], amount: Fraction, water: Fraction, osmol: Fraction | None
) -> Iterator[Advice]:
    rule = "much-electrolyte-in-water"
    most = Fraction(case.figure(rule, "most in % of the formula"))
    if amount > most:
        what = f"{_salted(salts, amount, water, osmol)}; usual is up to {number(most)} %."
        yield case.advice(rule, what, line=salts[0].line)
