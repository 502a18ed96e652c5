"""What a law counts: a salt or an ester as its acid, a blend by its parts.

Molar masses come from the sheet where it has one, else from the chemical formula below with the
IUPAC abridged standard atomic weights (written from memory; the tests compare them with a library).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets, fold
from labbook.trade.acids import as_acid, molar_mass
from labbook.trade.active import active_content
from labbook.trade.composition import WHOLE, Composition, ResolvedLine
from labbook.trade.expand import contents_of

ATOMIC_WEIGHTS = {
    "H": "1.008", "C": "12.011", "N": "14.007", "O": "15.999", "Na": "22.990", "Mg": "24.305",
    "S": "32.06", "K": "39.098", "Ca": "40.078",
}  # fmt: skip
FORMULAS = {
    "benzoic-acid": "C7H6O2", "sodium-benzoate": "C7H5NaO2", "potassium-benzoate": "C7H5KO2",
    "ammonium-benzoate": "C7H9NO2", "calcium-benzoate": "C14H10CaO4",
    "magnesium-benzoate": "C14H10MgO4", "methyl-benzoate": "C8H8O2", "ethyl-benzoate": "C9H10O2",
    "propyl-benzoate": "C10H12O2", "isopropyl-benzoate": "C10H12O2",
    "butyl-benzoate": "C11H14O2", "isobutyl-benzoate": "C11H14O2", "phenyl-benzoate": "C13H10O2",
    "mea-benzoate": "C9H13NO3",
    "propionic-acid": "C3H6O2", "sodium-propionate": "C3H5NaO2", "potassium-propionate": "C3H5KO2",
    "calcium-propionate": "C6H10CaO4", "magnesium-propionate": "C6H10MgO4",
    "ammonium-propionate": "C3H9NO2",
    "salicylic-acid": "C7H6O3", "sodium-salicylate": "C7H5NaO3", "potassium-salicylate": "C7H5KO3",
    "calcium-salicylate": "C14H10CaO6", "magnesium-salicylate": "C14H10MgO6",
    "mea-salicylate": "C9H13NO4", "tea-salicylate": "C13H21NO6",
    "sorbic-acid": "C6H8O2", "potassium-sorbate": "C6H7KO2", "sodium-sorbate": "C6H7NaO2",
    "calcium-sorbate": "C12H14CaO4",
    "sulphur-dioxide": "SO2", "sodium-sulfite": "Na2SO3", "sodium-bisulfite": "NaHSO3",
    "sodium-metabisulfite": "Na2S2O5", "potassium-sulfite": "K2SO3",
    "potassium-metabisulfite": "K2S2O5", "ammonium-sulfite": "N2H8SO3",
    "ammonium-bisulfite": "NH5SO3",
    "p-hydroxybenzoic-acid": "C7H6O3", "methylparaben": "C8H8O3", "ethylparaben": "C9H10O3",
    "propylparaben": "C10H12O3", "butylparaben": "C11H14O3",
    "sodium-methylparaben": "C8H7NaO3", "sodium-ethylparaben": "C9H9NaO3",
    "sodium-propylparaben": "C10H11NaO3", "sodium-butylparaben": "C11H13NaO3",
    "potassium-methylparaben": "C8H7KO3", "potassium-ethylparaben": "C9H9KO3",
    "potassium-propylparaben": "C10H11KO3", "potassium-butylparaben": "C11H13KO3",
    "sodium-paraben": "C7H5NaO3", "potassium-paraben": "C7H5KO3", "calcium-paraben": "C14H10CaO6",
    "dehydroacetic-acid": "C8H8O4", "sodium-dehydroacetate": "C8H7NaO4",
    "sodium-dehydroacetate-monohydrate": "C8H9NaO5",
    "formic-acid": "CH2O2", "sodium-formate": "CHNaO2",
    "undecylenic-acid": "C11H20O2", "sodium-undecylenate": "C11H19NaO2",
    "potassium-undecylenate": "C11H19KO2", "calcium-undecylenate": "C22H38CaO4",
    "mea-undecylenate": "C13H27NO3", "tea-undecylenate": "C17H35NO5",
}  # fmt: skip
_TWICE = re.compile(r"^(calcium|magnesium)-|-metabisulfite$")


def mass_of_formula(formula: str) -> Fraction:
    """The molar mass in g/mol of a chemical formula without brackets: C7H5NaO2.

    Raises:
        KeyError: an element that isn't in the table.
    """
    atoms = re.findall(r"([A-Z][a-z]?)([0-9]*)", formula)
    return sum((Fraction(ATOMIC_WEIGHTS[el]) * int(n or 1) for el, n in atoms), Fraction())


def factor(name: str, counted_as: str | None, sheets: Sheets) -> Fraction | None:
    """How much of what is counted one gram of an ingredient holds; None where nobody knows.

    A salt of calcium or magnesium holds two acids, a metabisulfite two sulphur dioxides.
    """
    if counted_as is None or fold(name) == fold(counted_as):
        return Fraction(1)
    own, acid = _molar(name, sheets), _molar(counted_as, sheets)
    if own is None or acid is None:
        return None
    return as_acid(Fraction(1), own, acid, 2 if _TWICE.search(fold(name)) else 1)


def _molar(name: str, sheets: Sheets) -> Fraction | None:
    given = molar_mass(sheets.find(name))
    if given is not None:
        return given
    formula = FORMULAS.get(fold(name))
    return mass_of_formula(formula) if formula else None


@dataclass(frozen=True, slots=True)
class Holding:
    """Something that a line brings and a table names: the line's ingredient, or a part of it.

    `names` are all names of it in the form they are compared; `share` is its share of the line, 0
    to 1, None where nobody has written it down. `within` is the blend, empty where there is none.
    """

    line: ResolvedLine
    names: tuple[str, ...]
    called: str
    share: Fraction | None
    within: str = ""


def holdings(
    composition: Composition, wanted: AbstractSet[str], sheets: Sheets
) -> tuple[Holding, ...]:
    """What of the wanted (folded) names a formula holds, blends taken apart, line by line."""
    return tuple(h for line in composition.lines for h in _holdings(line, wanted, sheets))


def _holdings(line: ResolvedLine, wanted: AbstractSet[str], sheets: Sheets) -> Iterator[Holding]:
    sheet = sheets.find(line.ingredient)
    own = names_of(line.ingredient, sheet)
    if not wanted.isdisjoint(own):
        yield Holding(line, own, line.ingredient, _active(sheet))
        return
    if sheet is None or not sheet.contains:
        return

    def is_wanted(part: Ingredient) -> bool:
        return not set(names_of(part.id, part)).isdisjoint(wanted)

    for one in contents_of(line.ingredient, sheets, is_wanted).components:
        part = sheets.find(one.ingredient)
        names = names_of(one.ingredient, part)
        if not set(names).isdisjoint(wanted):
            active = _active(part)
            share = None if active is None else one.percent / WHOLE * active
            yield Holding(line, names, one.ingredient, share, line.ingredient)
    for inner in sheet.contains:
        names = names_of(inner.ingredient, sheets.find(inner.ingredient))
        if inner.percent is None and not set(names).isdisjoint(wanted):
            yield Holding(line, names, inner.ingredient, None, line.ingredient)


def _active(sheet: Ingredient | None) -> Fraction | None:
    """How much of a material as supplied is the substance: all, or its active content."""
    if sheet is None or sheet.active_content is None:
        return Fraction(1)
    content, _ = active_content(sheet)
    return None if content is None else content / WHOLE


def names_of(ingredient: str, sheet: Ingredient | None) -> tuple[str, ...]:
    """All names under which an ingredient may stand in a table, in the form they are compared."""
    if sheet is None:
        return (fold(ingredient),)
    names = (ingredient, sheet.id, sheet.inci or "", *sheet.also)
    return tuple(dict.fromkeys(fold(name) for name in names if name))
