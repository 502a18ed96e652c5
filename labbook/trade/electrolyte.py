"""Salts in the water of a formula: molality, ionic strength, ideal osmolality.

All of it is ideal: every salt as if it were wholly apart in the water, activity left out. A weak
acid gives ions by the pH, so it counts as one particle and not towards the ionic strength.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.between import Between
from labbook.trade.composition import Composition
from labbook.trade.expand import Expanded, Piece, expand
from labbook.trade.molar import charges_of, molar_mass
from labbook.trade.water import in_sum

_UNCOUNTED = frozenset({"water", "gellant", "thickener", "film former"})
Charges = Sequence[tuple[int, int]]
"""Charge and number of each ion of one unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Salt:
    """One salt of a formula; grades of it that differ in crystal water are one.

    `ingredients` are its names, `percent` what was weighed of them in percent of the formula.
    `per_formula` is in mmol per kg of the formula, `per_water_phase` in mmol per kg of the water
    phase (of what stands in that phase; None without one), `molality` in mmol per kg of water,
    wherever the salt and the water stand. `main` tells an electrolyte by function from a material
    that gives ions besides, such as a preservative. None where the molar mass, a
    percent or the water isn't known.
    """

    key: tuple[object, ...]
    ingredients: tuple[str, ...]
    percent: Fraction | None
    per_formula: Fraction | None
    per_water_phase: Fraction | None
    molality: Between | None
    charges: tuple[tuple[int, int], ...] | None
    main: bool = True

    @property
    def name(self) -> str:
        """Its name, or what the names of its grades begin with."""
        return common_name(self.ingredients)


@dataclass(frozen=True, slots=True, kw_only=True)
class Electrolyte:
    """What is dissolved in the water of a formula.

    `ionic_strength` in mol and `osmolality` in osmol per kg of water; None where they can't be
    told. `left_out` names what isn't counted in them, each with the reason.
    """

    salts: tuple[Salt, ...]
    has_water_phase: bool
    water: Between | None
    ionic_strength: Between | None
    osmolality: Between | None
    left_out: tuple[tuple[str, str], ...]


def amount(percent: Fraction, molar: Fraction) -> Fraction:
    """Amount in mmol per kg of the formula from a percent by weight and a molar mass in g/mol."""
    return percent / molar * 10_000


def molality(mass: Fraction, molar: Fraction, water: Fraction) -> Fraction:
    """Molality in mol per kg of water, from grams of a substance, g/mol, and grams of water.

    Raises:
        ValueError: no water.
    """
    if water <= 0:
        raise ValueError("without water there is no molality")
    return mass / molar / water * 1000


def ionic_strength(molalities: Iterable[tuple[Fraction, int]]) -> Fraction:
    """Half the sum of molality times charge squared, over all ions (IUPAC Gold Book I03180)."""
    return sum((m * z * z for m, z in molalities), Fraction()) / 2


def ionic_strength_of(molality: Fraction, charges: Charges) -> Fraction:
    """The ionic strength of one salt that is wholly apart: 4 times its molality for MgSO4."""
    return ionic_strength((molality * count, charge) for charge, count in charges)


def particles(charges: Charges | None) -> int:
    """How many particles one unit gives: 3 for MgCl2, 1 for what gives no ions."""
    return sum(count for _, count in charges) if charges else 1


def common_name(names: Sequence[str]) -> str:
    """`magnesium-sulfate` for its heptahydrate and the anhydrous grade; else the names joined."""
    if len(set(names)) == 1:
        return names[0]
    words = [name.split("-") for name in names]
    same = []
    for column in zip(*words, strict=False):
        if len(set(column)) > 1:
            break
        same.append(column[0])
    return "-".join(same) or " / ".join(names)


def is_salt(sheet: Ingredient | None) -> bool:
    """Whether a sheet's material counts as a salt: it gives ions, or is an electrolyte."""
    return sheet is not None and (bool(sheet.ions) or "electrolyte" in sheet.functions)


def salt_key(sheet: Ingredient) -> tuple[object, ...]:
    """The same for the grades of a salt that differ only in their crystal water."""
    return tuple(sorted(sheet.ions.items())) if sheet.ions else (sheet.id,)


def electrolyte(composition: Composition, sheets: Sheets) -> Electrolyte:
    """What is dissolved in the water of a formula, blends and solutions taken apart."""
    inner = expand(composition, sheets, lambda sheet: molar_mass(sheet) is not None)
    share = composition.water()
    water = None
    if share.least is not None and share.most is not None and share.least > 0:
        water = Between(share.least, share.most)
    left_out: dict[str, str] = {}
    salts = _salts(inner, composition, water, sheets)
    strength = _strength(salts, water, left_out)
    osmolality = _osmolality(inner, water, sheets, left_out)
    return Electrolyte(
        salts=salts,
        has_water_phase=share.phase is not None,
        water=water,
        ionic_strength=strength,
        osmolality=osmolality,
        left_out=tuple(left_out.items()),
    )


def _salts(
    inner: Expanded, composition: Composition, water: Between | None, sheets: Sheets
) -> tuple[Salt, ...]:
    grades: dict[tuple[object, ...], list[Piece]] = {}
    for piece in inner.pieces:
        sheet = sheets.find(piece.sheet)
        if sheet is not None and is_salt(sheet):
            grades.setdefault(salt_key(sheet), []).append(piece)
    phase = composition.water().phase
    totals = {total.phase: total.percent for total in composition.phase_totals()}
    inside = None if phase is None else totals.get(phase)
    return tuple(_salt(own, phase, inside, water, sheets) for own in grades.values())


def _salt(
    own: list[Piece],
    phase: str | None,
    inside: Fraction | None,
    water: Between | None,
    sheets: Sheets,
) -> Salt:
    whole = in_sum(_amount(piece, sheets) for piece in own)
    there = in_sum(_amount(piece, sheets) for piece in own if piece.phase == phase)
    sheet = sheets.find(own[0].sheet)
    sheets_of = [known for known in (sheets.find(piece.sheet) for piece in own) if known]
    return Salt(
        key=salt_key(sheet) if sheet else (own[0].sheet,),
        percent=in_sum(piece.percent for piece in own),
        ingredients=tuple(dict.fromkeys(sheets.name_of(piece.sheet) for piece in own)),
        per_formula=whole,
        per_water_phase=None if there is None or not inside else there / inside * 100,
        molality=_per_water(whole, water),
        charges=charges_of(sheet.ions) if sheet and sheet.ions else None,
        main=any("electrolyte" in one.functions for one in sheets_of),
    )


def _amount(piece: Piece, sheets: Sheets) -> Fraction | None:
    molar = molar_mass(sheets.find(piece.sheet))
    if molar is None or piece.percent is None:
        return None
    return amount(piece.percent, molar)


def _per_water(whole: Fraction | None, water: Between | None) -> Between | None:
    """In mmol per kg of water: the less water there is, the more."""
    if whole is None or water is None:
        return None
    return Between(whole / water.most * 100, whole / water.least * 100)


def _strength(
    salts: tuple[Salt, ...], water: Between | None, left_out: dict[str, str]
) -> Between | None:
    """In mol per kg of water; None as soon as a salt's ions or amount aren't known."""
    silent = [salt for salt in salts if salt.charges is None or salt.molality is None]
    for salt in silent:
        why = "no ions on its sheet" if salt.charges is None else "its amount isn't known"
        left_out[salt.name] = why
    if silent or water is None:
        return None
    found = Between(Fraction(), Fraction())
    for salt in salts:
        if salt.molality is not None and salt.charges is not None:
            found += salt.molality.times(ionic_strength_of(Fraction(1, 1000), salt.charges))
    return found


def _osmolality(
    inner: Expanded, water: Between | None, sheets: Sheets, left_out: dict[str, str]
) -> Between | None:
    """In osmol per kg of water, of all that is dissolved and has a molar mass.

    What dissolves in oil and water both is counted from none to all of it. Gums are left out
    without a word: their molecules are too heavy to count (common practice, no source).
    """
    least = most = Fraction()
    unknown = False
    for piece in inner.pieces:
        sheet = sheets.find(piece.sheet)
        if sheet is None:
            inside = f" in {piece.via[-1]}" if piece.via else ""
            left_out.setdefault(piece.ingredient + inside, "no sheet")
            continue
        if sheet.soluble_in in ("oil", "neither") or _UNCOUNTED & set(sheet.functions):
            continue
        whole = _amount(piece, sheets)
        if whole is None:
            left_out.setdefault(piece.ingredient, "no molar mass on its sheet")
            unknown = unknown or piece.percent is None
            continue
        if sheet.pKa is not None and not sheet.ions:
            left_out.setdefault(piece.ingredient, "a weak acid or its salt, no ions on its sheet")
        charges = charges_of(sheet.ions) if sheet.ions else None
        unknown = unknown or (is_salt(sheet) and charges is None)
        most += whole * particles(charges)
        least += whole * (particles(charges) if sheet.soluble_in == "water" else 0)
    if water is None or unknown:
        return None
    return Between(least / water.most / 10, most / water.least / 10)
