"""Molar masses from chemical formulas, and ions with their charges.

Atomic weights: IUPAC, abridged to what a bench needs (Prohaska et al., Pure Appl. Chem. 94, 573
(2022), from memory; compared with the PyPI package molmass in the tests).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from labbook.model.materials import Ingredient
from labbook.model.quantities import in_digits
from labbook.trade.between import figure_between

WEIGHTS: Mapping[str, Fraction] = {
    element: Fraction(weight)
    for element, weight in {
        "H": "1.008", "B": "10.81", "C": "12.011", "N": "14.007", "O": "15.999", "F": "18.998",
        "Na": "22.990", "Mg": "24.305", "Al": "26.982", "Si": "28.085", "P": "30.974",
        "S": "32.06", "Cl": "35.45", "K": "39.098", "Ca": "40.078", "Ti": "47.867",
        "Mn": "54.938", "Fe": "55.845", "Cu": "63.546", "Zn": "65.38", "Se": "78.971",
        "Br": "79.904", "Ag": "107.868", "Sn": "118.710", "I": "126.904", "Ba": "137.327",
        "Bi": "208.980",
    }.items()
}  # fmt: skip

_PIECE = re.compile(r"([A-Z][a-z]?|\(|\))([0-9]*)", re.ASCII)
_DOTS = re.compile(r"[·*.]")
_ION = re.compile(r"(?P<name>[^\s]+?)(?:\s+(?P<apart>[0-9]*)|(?P<close>[0-9]*))(?P<sign>[+-])")


def molar_mass_of(formula: str) -> Fraction | None:
    """The molar mass in g/mol of `MgSO4·7H2O`, `Ca(OH)2`; None for what can't be read.

    A dot of any kind parts a salt from its water, and a number after it counts that water.
    """
    total = Fraction()
    for part in _DOTS.split(formula.replace(" ", "")):
        times = re.match(r"[0-9]*", part, re.ASCII)
        count = times.group() if times else ""
        mass = _mass(part[len(count) :])
        number = in_digits(count or "1")
        if mass is None or number is None:
            return None
        total += number * mass
    return total


def _mass(part: str) -> Fraction | None:
    """The mass of one part without dots; None for an unknown element or an open bracket."""
    levels = [Fraction()]
    place = 0
    while place < len(part):
        piece = _PIECE.match(part, place)
        if piece is None or len(piece[2]) > 4:
            return None
        place = piece.end()
        times = int(piece[2] or 1)
        if piece[1] == "(":
            if piece[2]:
                return None
            levels.append(Fraction())
        elif piece[1] == ")":
            if len(levels) < 2:
                return None
            inner = levels.pop()
            levels[-1] += inner * times
        elif piece[1] in WEIGHTS:
            levels[-1] += WEIGHTS[piece[1]] * times
        else:
            return None
    return levels[0] if len(levels) == 1 and part else None


def molar_mass(sheet: Ingredient | None) -> Fraction | None:
    """A material's molar mass in g/mol: its sheet's figure, else from its chemical formula."""
    if sheet is None:
        return None
    given = sheet.molar_mass
    if given is not None:
        found = figure_between(given)
        usable = found is not None and found.exact and found.least > 0
        return found.least if found and usable and given.unit in (None, "g/mol") else None
    return molar_mass_of(sheet.chemical_formula) if sheet.chemical_formula else None


def charge_of(ion: str) -> int | None:
    """The charge of `Mg2+`, `Cl-`, `SO4 2-`, `SO42-`, `NH4+`; None where it can't be told.

    After a space the digits are the charge. Without one they are it behind a lone element, and
    the last of several digits is it behind several elements; a single digit there counts atoms.
    """
    found = _ION.fullmatch(ion.strip())
    if found is None:
        return None
    sign = 1 if found["sign"] == "+" else -1
    digits = found["close"] if found["apart"] is None else found["apart"]
    number = in_digits(digits or "1")
    if number is None:
        return None
    if found["apart"] is not None or re.fullmatch(r"[A-Z][a-z]?", found["name"], re.ASCII):
        return sign * number
    return sign * int(digits[-1] if len(digits) > 1 else 1)


def charges_of(ions: Mapping[str, int]) -> tuple[tuple[int, int], ...] | None:
    """Charge and number of each ion of one unit; None where they can't be told or don't cancel."""
    found = []
    for ion, count in ions.items():
        charge = charge_of(ion)
        if charge is None or charge == 0 or count < 1:
            return None
        found.append((charge, count))
    return tuple(found) if found and not sum(z * n for z, n in found) else None
