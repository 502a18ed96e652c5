"""Weak acids that preserve: which acid a salt gives, and how much of it.

Only names and molar masses stand here; pKa, solubility and dose are a sheet's. Molar masses are
computed from the IUPAC standard atomic weights.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets, fold
from labbook.trade.active import active_content
from labbook.trade.composition import WHOLE, Composition, ResolvedLine
from labbook.trade.expand import contents_of

MOLAR_MASSES = {
    "anisic": Fraction("152.148"),
    "benzoic": Fraction("122.122"),
    "dehydroacetic": Fraction("168.147"),
    "formic": Fraction("46.025"),
    "lactic": Fraction("90.078"),
    "levulinic": Fraction("116.115"),
    "propionic": Fraction("74.079"),
    "salicylic": Fraction("138.121"),
    "sorbic": Fraction("112.127"),
    "undecylenic": Fraction("184.276"),
}
"""Molar masses of acids in g/mol, by the name without the word acid."""

METALS = {"sodium": 1, "potassium": 1, "lithium": 1, "ammonium": 1, "calcium": 2, "magnesium": 2}
"""How many acids of one proton a salt of the metal holds."""

MANY_STEPS = frozenset(
    {"citric", "malic", "malonic", "oxalic", "phosphoric", "phytic", "succinic", "tartaric"}
)
"""Acids that give off more than one proton."""

_SALT = re.compile(rf"({'|'.join(METALS)})-(?:p-)?([a-z]+)ate(?:-|$)")


def as_acid(
    percent: Fraction, salt_molar_mass: Fraction, acid_molar_mass: Fraction, acids: int = 1
) -> Fraction:
    """A salt's or ester's percent as the percent of the acid that it gives.

    Args:
        percent: percent by weight of the salt.
        salt_molar_mass: in g/mol, with its water of crystallisation if it is weighed with it.
        acid_molar_mass: in g/mol.
        acids: how many acids one unit of the salt gives: 2 for a calcium salt.

    Raises:
        ValueError: a molar mass that is not above zero.
    """
    if salt_molar_mass <= 0 or acid_molar_mass <= 0:
        raise ValueError("a molar mass is above zero")
    return percent * acids * acid_molar_mass / salt_molar_mass


@dataclass(frozen=True, slots=True)
class AcidOf:
    """The acid that an ingredient is or gives.

    `factor` is the mass of acid from one gram of the ingredient; None where a salt's molar mass
    isn't known. `salt` tells that the ingredient is no acid itself.
    """

    name: str
    factor: Fraction | None
    salt: bool
    sheet: Ingredient | None
    many_steps: bool = False


def acid_of(sheet: Ingredient, sheets: Sheets) -> AcidOf:
    """The acid behind a sheet; a sheet that is no known salt counts as the acid itself."""
    for name in (sheet.id, fold(sheet.inci or "")):
        found = _SALT.match(name)
        if found:
            return _salt(found[1], found[2] + "ic", sheet, sheets)
    own = fold(sheet.id).removesuffix("-acid").removeprefix("p-")
    name = (sheet.title or sheet.id.replace("-", " ")).split(",")[0]
    plain = name if name[:2] == "p-" else name[:1].lower() + name[1:]
    return AcidOf(plain, Fraction(1), False, sheet, own in MANY_STEPS)


def _salt(metal: str, acid: str, sheet: Ingredient, sheets: Sheets) -> AcidOf:
    acid_sheet = sheets.find(f"{acid}-acid") or sheets.find(f"p-{acid}-acid")
    mass = MOLAR_MASSES.get(acid) or molar_mass(acid_sheet)
    own = molar_mass(sheet)
    factor = None if mass is None or own is None else as_acid(Fraction(1), own, mass, METALS[metal])
    many = acid in MANY_STEPS
    # One metal may stand for any number of an acid's protons, so the ratio isn't known.
    return AcidOf(f"{acid} acid", None if many else factor, True, acid_sheet, many)


def molar_mass(sheet: Ingredient | None) -> Fraction | None:
    """A sheet's molar mass in g/mol, None where it gives none or a range."""
    given = sheet.molar_mass if sheet else None
    if given is None or given.value is None or given.value <= 0:
        return None
    return Fraction(given.value) if given.unit in (None, "g/mol") else None


@dataclass(frozen=True, slots=True, kw_only=True)
class AcidDose:
    """A preserving acid in a formula.

    `line` is the index of the line, `ingredient` the line's name, `part` the sheet that is or gives
    the acid (another than the line's in a blend). `percent` is the acid in percent by weight of the
    formula, None where the line's percent or the salt's molar mass isn't known.
    """

    line: int
    ingredient: str
    part: Ingredient
    acid: AcidOf
    percent: Fraction | None


def acid_doses(composition: Composition, sheets: Sheets) -> tuple[AcidDose, ...]:
    """The preserving acids of a formula, those in blends too.

    An ingredient counts when its sheet gives a pKa and it preserves by its functions, or by the
    line's role. Acids that only set the pH don't.
    """
    found: list[AcidDose] = []
    for line in composition.lines:
        sheet = sheets.find(line.ingredient)
        if sheet is None:
            continue
        for part, share in _parts(sheet, sheets):
            role = line.role == "preservative" and part is sheet
            if part.pKa is not None and (role or "preservative" in part.functions):
                found.append(_dose(line, part, share, sheets))
    return tuple(found)


def _dose(line: ResolvedLine, part: Ingredient, share: Fraction | None, sheets: Sheets) -> AcidDose:
    acid = acid_of(part, sheets)
    percent = None
    if line.percent is not None and share is not None and acid.factor is not None:
        percent = line.percent * share * acid.factor
    return AcidDose(
        line=line.index, ingredient=line.ingredient, part=part, acid=acid, percent=percent
    )


def _parts(sheet: Ingredient, sheets: Sheets) -> Iterator[tuple[Ingredient, Fraction | None]]:
    """What an ingredient is made of with its share of it; itself where nobody has said.

    A share is None for a part whose percent, or whose own content, nobody has written down.
    """
    for one in contents_of(sheet.id, sheets).components:
        part = sheets.find(one.sheet)
        if part is not None:
            yield part, _pure(part, one.percent / WHOLE)
    for open_part in sheet.contains:
        part = sheets.find(open_part.ingredient) if open_part.percent is None else None
        if part is not None:
            yield part, None


def _pure(part: Ingredient, share: Fraction) -> Fraction | None:
    """The share without the water or carrier that an active content tells of."""
    if part.active_content is None:
        return share
    content, _ = active_content(part)
    return None if content is None else share * content / WHOLE
