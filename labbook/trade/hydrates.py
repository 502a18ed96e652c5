"""Salts and acids with and without water of crystallisation, by molar masses.

Magnesium sulfate heptahydrate is half water: the same grams of it are half the salt.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets, fold
from labbook.trade.exact import to_places
from labbook.trade.molar import molar_mass

WHOLE = Fraction(100)


@dataclass(frozen=True, slots=True)
class Hydrate:
    """A material with water of crystallisation: `share` of it is the water-free one, from 0 to 1.

    `from_molar_masses` is False where the share is only the percent that the sheet gives.
    """

    hydrate: str
    anhydrous: str
    share: Fraction
    from_molar_masses: bool

    def as_anhydrous(self, amount: Fraction) -> Fraction:
        """How much of the water-free material is in so much of the hydrate."""
        return amount * self.share

    def as_hydrate(self, amount: Fraction) -> Fraction:
        """How much of the hydrate holds so much of the water-free material."""
        return amount / self.share

    def water_in(self, amount: Fraction) -> Fraction:
        """The water of crystallisation in so much of the hydrate."""
        return amount * (1 - self.share)


def hydrate_of(sheet: Ingredient | None, sheets: Sheets) -> Hydrate | None:
    """What a hydrate's sheet says of it; None for a material that is none.

    A hydrate is a single substance (it has a molar mass) that contains water and one other. A
    solution has no molar mass of its own, so it is none. Where the water-free substance has a
    molar mass too, the share is theirs; else it is the percent of the sheet.
    """
    if sheet is None or molar_mass(sheet) is None or len(sheet.contains) != 2:
        return None
    dry = [part for part in sheet.contains if not _is_water(part.ingredient, sheets)]
    if len(dry) != 1:
        return None
    own, inner = molar_mass(sheet), molar_mass(sheets.find(dry[0].ingredient))
    if own is not None and inner is not None and inner < own:
        return Hydrate(sheet.id, dry[0].ingredient, inner / own, True)
    given = Fraction(dry[0].percent or 0) / WHOLE
    return Hydrate(sheet.id, dry[0].ingredient, given, False) if 0 < given < 1 else None


def hydrate_by_formula(hydrate: Fraction, anhydrous: Fraction) -> Fraction:
    """The share, from 0 to 1, of the water-free substance by the two molar masses.

    Raises:
        ValueError: the hydrate is not the heavier one.
    """
    if not 0 < anhydrous < hydrate:
        raise ValueError("a hydrate weighs more than what it holds without its water")
    return anhydrous / hydrate


def _is_water(name: str, sheets: Sheets) -> bool:
    sheet = sheets.find(name)
    return fold(name) == "water" if sheet is None else "water" in sheet.functions


def same_salt(one: Ingredient, other: Ingredient, sheets: Sheets) -> bool:
    """Whether two sheets are grades of one substance that differ in their crystal water."""
    if one.id == other.id:
        return False
    if one.ions and other.ions:
        return one.ions == other.ions
    dry = [_dry_id(sheet, sheets) for sheet in (one, other)]
    return dry[0] == dry[1] and dry != [one.id, other.id]


def _dry_id(sheet: Ingredient, sheets: Sheets) -> str:
    found = hydrate_of(sheet, sheets)
    return sheets.id_of(found.anhydrous) if found else sheet.id


def times_the_salt(before: Ingredient, after: Ingredient, sheets: Sheets) -> Fraction | None:
    """How much of a substance the same grams of another grade of it hold, as a factor.

    None where the two aren't the same salt, or a molar mass is unknown.
    """
    one, other = molar_mass(before), molar_mass(after)
    if one is None or other is None or not same_salt(before, after, sheets):
        return None
    return one / other


def same_grams(before: Ingredient, after: Ingredient, sheets: Sheets) -> str:
    """`same grams, half the salt`, `same grams, 2.05 times the salt`; empty where it can't be told.

    "Half" is said within 5 % of it.
    """
    times = times_the_salt(before, after, sheets)
    if times is None or times == 1:
        return ""
    if abs(times - Fraction(1, 2)) <= Fraction(1, 40):
        return "same grams, half the salt"
    return f"same grams, {to_places(times, 2):f} times the salt"
