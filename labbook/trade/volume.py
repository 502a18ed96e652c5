"""Phases by volume at a temperature, and how much of an emulsion is its internal phase.

Volumes are taken to add up (common practice, no source: a few tenths of a percent for most of
what a cream holds; alcohol in water shrinks by more). A material without a density takes up
between the least and the most that anything of its kind does, so that a share becomes a range.
"""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.between import NOTHING, Between, figure_between, share_of
from labbook.trade.composition import Composition
from labbook.trade.expand import Expanded, expand

ROOM = Fraction(20)
NEAR = Fraction(5)
"""Degrees within which a density counts as it is: oils change by 0.4 % (common practice, no
source)."""
FLUID = Between(Fraction("0.7"), Fraction(2))
ANYTHING = Between(Fraction("0.7"), Fraction(6))
"""g/ml: light alkanes at the one end, zinc oxide at the other; liquids end at 2 (from memory)."""

_KELL = (
    "999.83952",
    "16.945176",
    "-7.9870401e-3",
    "-46.170461e-6",
    "105.56302e-9",
    "-280.54253e-12",
)
_KELL_DIVISOR = "16.879850e-3"


@dataclass(frozen=True, slots=True)
class PhaseVolume:
    """A phase by volume: ml in 100 g of the formula, and percent of its whole volume.

    None where a line of the formula has no percent. `guessed` names the lines of the phase
    whose density, or that of a part, nobody knows.
    """

    phase: str
    millilitres: Between | None
    share: Between | None
    guessed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class InternalPhase:
    """The phase that lies as droplets in the other: `water` or `oil`, in percent of the whole."""

    what: str
    by_mass: Between
    by_volume: Between | None


def water_density(celsius: Fraction) -> Fraction | None:
    """Air-free water in g/ml from 0 to 100 °C at 101 325 Pa; None outside.

    G. S. Kell, J. Chem. Eng. Data 20, 97 (1975), from memory, with the divisor 16.879850e-3 (a
    reprint has two of its digits swapped).
    """
    if not 0 <= celsius <= 100:
        return None
    above = sum((Fraction(c) * celsius**n for n, c in enumerate(_KELL)), Fraction())
    return above / (1 + Fraction(_KELL_DIVISOR) * celsius) / 1000


def density(sheet: Ingredient | None, celsius: Fraction = ROOM) -> Between | None:
    """A material's density in g/ml at a temperature; None where its sheet doesn't tell.

    The sheet's figure counts within 5 °C of where it was measured, and for solids and powders at
    any temperature up to their melting; else it is carried over by the sheet's `expansion` (how
    much volume grows per °C). Water has a formula of its own where its sheet names a temperature.
    """
    given = figure_between(sheet.density) if sheet is not None else None
    if sheet is None or sheet.density is None or given is None or given.least <= 0:
        return None
    if sheet.density.unit not in (None, "g/ml"):
        return None
    at = sheet.density.at
    if at is None:
        return given if sheet.physical in ("solid", "powder") else None
    if at.dimension != "temperature":
        return None
    warmer = celsius - at.exact("°C")
    if warmer == 0:
        return given
    if set(sheet.functions) & {"water"} and not sheet.contains:
        own = water_density(celsius)
        return Between.exactly(own) if own is not None else None
    growth = figure_between(sheet.expansion)
    if growth is not None:
        return _carried(given, growth, warmer)
    solid = sheet.physical in ("solid", "powder") and not _melted(sheet, celsius)
    return given if solid or abs(warmer) <= NEAR else None


def _carried(given: Between, growth: Between, warmer: Fraction) -> Between | None:
    ends = sorted(1 + growth_end * warmer for growth_end in (growth.least, growth.most))
    if ends[0] <= 0:
        return None
    return Between(given.least / ends[1], given.most / ends[0])


def _melted(sheet: Ingredient, celsius: Fraction) -> bool:
    """Whether a solid may be molten; where its melting point isn't known, above 30 °C."""
    melting = figure_between(sheet.melting_point)
    return celsius >= (melting.least if melting is not None else Fraction(30))


def phase_volumes(
    composition: Composition, sheets: Sheets, celsius: Fraction = ROOM
) -> tuple[PhaseVolume, ...]:
    """Each phase by volume at a temperature, in the order in which they first appear."""
    inner = _inner(composition, sheets)
    letters = list(dict.fromkeys(line.phase for line in composition.lines))
    known = _all_known(composition)
    indices = {line.index for line in composition.lines}
    found = []
    for letter in letters:
        inside = {line.index for line in composition.lines if line.phase == letter}
        own, guessed = _volume(inner, sheets, celsius, inside)
        rest, _ = _volume(inner, sheets, celsius, indices - inside)
        share = share_of(own, rest) if known else None
        found.append(PhaseVolume(letter, own if known else None, share, guessed))
    return tuple(found)


def _inner(composition: Composition, sheets: Sheets) -> Expanded:
    """A formula down to what has a density of its own, or no parts."""
    return expand(composition, sheets, lambda sheet: sheet.density is not None)


def _all_known(composition: Composition) -> bool:
    return all(line.percent is not None for line in composition.lines)


def _volume(
    inner: Expanded, sheets: Sheets, celsius: Fraction, wanted: Set[int]
) -> tuple[Between, tuple[str, ...]]:
    """Pieces of the lines that are wanted, as ml in 100 g, and those whose density nobody knows."""
    total = NOTHING
    guessed: dict[str, None] = {}
    named = [(piece, True) for piece in inner.pieces]
    for piece, is_named in (*named, *((rest, False) for rest in inner.rests)):
        if piece.percent is None or piece.line not in wanted:
            continue
        sheet = sheets.find(piece.sheet)
        own = density(sheet, celsius) if is_named else None
        if own is None and piece.percent:
            guessed[piece.via[0] if piece.via else piece.ingredient] = None
        own = own or (FLUID if sheet is not None and sheet.physical == "liquid" else ANYTHING)
        total += Between(piece.percent / own.most, piece.percent / own.least)
    return total, tuple(guessed)


def water_phase_by_volume(
    composition: Composition, sheets: Sheets, celsius: Fraction = ROOM
) -> Between | None:
    """The water phase's percent of the whole volume; None where it can't be told."""
    phase = composition.water().phase
    volumes = {one.phase: one.share for one in phase_volumes(composition, sheets, celsius)}
    return None if phase is None else volumes.get(phase)


def internal_phase(
    emulsion: str, composition: Composition, sheets: Sheets, celsius: Fraction = ROOM
) -> InternalPhase | None:
    """The internal phase of a water-in-oil or oil-in-water emulsion; None for anything else.

    Lines of the water phase are water, lines elsewhere that dissolve in water only too; what
    stands in a phase with something oily counts as oil. What is neither may be either.
    """
    wanted = {"water-in-oil": "water", "oil-in-water": "oil"}.get(emulsion)
    water = composition.water().phase
    if wanted is None or water is None or not _all_known(composition):
        return None
    sides = _sides(composition, sheets, water)
    inner = _inner(composition, sheets)

    def volume(side: str) -> Between:
        lines = {index for index, own in sides.items() if own == side}
        return _volume(inner, sheets, celsius, lines)[0]

    masses = {
        side: sum(
            (line.percent or Fraction() for line in composition.lines if sides[line.index] == side),
            Fraction(),
        )
        for side in ("water", "oil", "either")
    }
    by_mass = _with_either({side: Between.exactly(mass) for side, mass in masses.items()}, wanted)
    by_volume = _with_either({side: volume(side) for side in masses}, wanted)
    return None if by_mass is None else InternalPhase(wanted, by_mass, by_volume)


def _with_either(sides: dict[str, Between], wanted: str) -> Between | None:
    """The share of the wanted side, where what may be either is once outside and once inside."""
    other = "oil" if wanted == "water" else "water"
    outside = share_of(sides[wanted], sides[other] + sides["either"])
    inside = share_of(sides[wanted] + sides["either"], sides[other])
    if outside is None or inside is None:
        return None
    return Between(outside.least, inside.most)


def _sides(composition: Composition, sheets: Sheets, water: str) -> dict[int, str]:
    """Whether each line is on the water side, the oil side, or may be on either."""
    dissolves = {}
    for line in composition.lines:
        sheet = sheets.find(line.ingredient)
        is_water = sheet is not None and "water" in sheet.functions
        dissolves[line.index] = "water" if is_water else sheet.soluble_in if sheet else None
    oily = {line.phase for line in composition.lines if dissolves[line.index] == "oil"} - {water}
    return {
        line.index: _side(line.phase, dissolves[line.index], water, oily)
        for line in composition.lines
    }


def _side(phase: str, soluble_in: str | None, water: str, oily: Set[str]) -> str:
    if phase == water or soluble_in == "water":
        return "water"
    return "oil" if phase in oily else "either"
