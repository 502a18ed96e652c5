"""The water in a formula: of its water lines, and what solutions, extracts and hydrates bring.

Bounds throughout: where no sheet says how much water a material holds, it may be none or all of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.between import NOTHING, Between, figure_between
from labbook.trade.expand import contents_of

if TYPE_CHECKING:
    from labbook.trade.composition import ResolvedLine

WHOLE = Fraction(100)
NOBODY_KNOWS = Between(Fraction(), WHOLE)
ALL_OF_IT = Between.exactly(WHOLE)


@dataclass(frozen=True, slots=True)
class PhaseTotal:
    """A phase's share of the formula and the bounds of the water in it, in percent by weight.

    None where a line of the phase has no percent.
    """

    phase: str
    percent: Fraction | None
    water_least: Fraction | None
    water_most: Fraction | None


@dataclass(frozen=True, slots=True)
class WaterShare:
    """The water in a formula, in percent by weight, from the water content of the sheets.

    `least` counts what is known; `most` also counts all of the lines in `unknown`, whose water
    nobody has written down. Both are None where a line has no percent. `phase` is the water phase:
    the one that holds more water than any other can; None where that can't be told.
    """

    least: Fraction | None
    most: Fraction | None
    unknown: tuple[str, ...]
    phase: str | None


def water_content(sheet: Ingredient | None, sheets: Sheets) -> Between:
    """An ingredient's own water, in percent by weight of it.

    The sheet's figure counts first; else water is all water; else its parts say it; what dissolves
    in oil only is taken to bring none worth counting (common practice, no source). A figure that
    is no percent between 0 and 100 is none.
    """
    if sheet is None:
        return NOBODY_KNOWS
    own = _own_figure(sheet)
    if own is not None:
        return own
    if sheet.water_content is None and sheet.contains:
        return _of_parts(sheet, sheets)
    if sheet.water_content is None and sheet.soluble_in == "oil":
        return NOTHING
    return NOBODY_KNOWS


def _own_figure(sheet: Ingredient) -> Between | None:
    """What a sheet itself says about its water; None where it says nothing that can be used."""
    given = sheet.water_content
    if given is None:
        return ALL_OF_IT if "water" in sheet.functions else None
    found = figure_between(given)
    if found is None or given.unit not in (None, "%") or found.least < 0 or found.most > WHOLE:
        return None
    return found


def _of_parts(sheet: Ingredient, sheets: Sheets) -> Between:
    """The water that the parts of a blend bring; a rest that nobody names may be all water."""
    inner = contents_of(sheet.id, sheets, lambda part: _own_figure(part) is not None)
    found = NOTHING
    for one in inner.components:
        known = sheets.find(one.sheet)
        if known is not None and known.contains and _own_figure(known) is None:
            found += NOBODY_KNOWS.times(one.percent / WHOLE)
        else:
            found += water_content(known, sheets).times(one.percent / WHOLE)
    for rest in inner.rests:
        blend = sheets.find(rest.sheet)
        if blend is None or blend.soluble_in != "oil":
            found += Between(Fraction(), rest.percent)
    return found


def in_sum(values: Iterable[Fraction | None]) -> Fraction | None:
    """The sum of percents; None as soon as one of them is."""
    total = Fraction()
    for value in values:
        if value is None:
            return None
        total += value
    return total


def phase_totals(lines: Sequence[ResolvedLine]) -> tuple[PhaseTotal, ...]:
    """The phases in the order in which they first appear."""
    letters = dict.fromkeys(line.phase for line in lines)
    return tuple(_phase_total(letter, lines) for letter in letters)


def _phase_total(letter: str, lines: Sequence[ResolvedLine]) -> PhaseTotal:
    own = [line for line in lines if line.phase == letter]
    return PhaseTotal(
        letter,
        in_sum(line.percent for line in own),
        in_sum(line.water_least for line in own),
        in_sum(line.water_most for line in own),
    )


def water_share(lines: Sequence[ResolvedLine]) -> WaterShare:
    """How much water there is, and which phase is the water phase."""
    unsure = [one for one in lines if one.water_least != one.water_most]
    return WaterShare(
        least=in_sum(line.water_least for line in lines),
        most=in_sum(line.water_most for line in lines),
        unknown=tuple(dict.fromkeys(line.ingredient for line in unsure)),
        phase=_water_phase(phase_totals(lines)),
    )


def _water_phase(totals: tuple[PhaseTotal, ...]) -> str | None:
    """The phase that surely holds more water than any other."""
    for one in totals:
        others = [other.water_most for other in totals if other is not one]
        if one.water_least and all(m is not None and m < one.water_least for m in others):
            return one.phase
    return None
