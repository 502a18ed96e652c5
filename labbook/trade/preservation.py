"""Preservation by weak acids: how much free acid the water phase holds.

Only the free (undissociated) acid preserves to speak of, and only what is in the water. Its share
follows from pH and pKa (Henderson–Hasselbalch); it is taken at the unfavourable end, the highest
pH. How much oil takes up follows from the sheet's oil–water ratio, where it has one. There is no
threshold of the program's own: a sheet's `least free acid` is compared with, else the number
stands alone. Free acid is no proof that a product keeps: only a microbiological test tells that.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.formula import Formula
from labbook.model.materials import Ingredient, Value
from labbook.model.sheets import Sheets
from labbook.trade.acids import AcidDose, acid_doses
from labbook.trade.acids import as_acid as as_acid
from labbook.trade.composition import Composition

SOLUBILITY = {
    "benzoic acid": (
        Fraction("0.34"),
        "25 °C, Merck Index, 12th edition, as quoted at"
        " ochemonline.wordpress.com/2011/02/05/get-your-ba-in-solubility",
    ),
    "sorbic acid": (Fraction("0.16"), "20 °C, m.chemicalbook.com/CASEN_110-44-1.htm"),
    "salicylic acid": (Fraction("0.22"), "25 °C, from memory"),
    "dehydroacetic acid": (Fraction("0.07"), "25 °C, from memory"),
}
"""Solubility in water in percent, for notebooks that have a salt and no sheet of its acid."""

_TO_PERCENT = {
    None: Fraction(1), "%": Fraction(1), "g/100 g": Fraction(1), "g/100 ml": Fraction(1),
    "g/l": Fraction(1, 10), "g/kg": Fraction(1, 10), "mg/l": Fraction(1, 10_000),
    "mg/kg": Fraction(1, 10_000),
}  # fmt: skip
"""Units of a concentration in water as percent by weight, a litre of water taken as a kilogram."""


def free_share(pKa: Fraction, pH: Fraction) -> float:
    """The share of a weak acid that is free (undissociated) at a pH: 1 ÷ (1 + 10^(pH − pKa)).

    Of an acid with several steps this is the share that has lost no proton, as far as the first
    step decides it. Source: Henderson–Hasselbalch equation.
    """
    return 1 / (1 + _power(float(pH - pKa)))


def _power(exponent: float) -> float:
    return math.inf if exponent > 300 else 10.0**exponent


def free_in_water(
    acid: float, water: float, share: float, *, oil: float = 0.0, ratio: float = 0.0
) -> float:
    """Free acid in percent of the water phase.

    What is free moves between oil and water until its concentrations stand in the ratio; what is
    dissociated stays in the water.

    Args:
        acid: all of the acid, in percent of the formula.
        water: the water phase, in percent of the formula.
        share: the free share in water, above 0 and up to 1.
        oil: what could take the acid up, in percent of the formula.
        ratio: concentration of free acid in oil over that in water, both by weight.

    Raises:
        ValueError: no water phase.
    """
    if water <= 0:
        raise ValueError("without a water phase there is no free acid in it")
    return 100 * acid / (water / share + oil * ratio) if share > 0 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeAcid:
    """A preserving acid and what of it is free.

    `line` is the line's index, `acid` the acid's name, `dose` the acid in percent of the formula.
    `pH` is the unfavourable one: the highest that the formula aims for (`target` is the target's
    index), or the measured one with its uncertainty (`from_measured`). `share` is the free share.

    In percent of the water phase: `in_water_most`, none taken up by the oil; `in_water_least`, part
    taken up, None without an oil–water ratio: then `in_water_most` is an upper bound only. Both are
    None where dose or water phase isn't known. `in_water_low_pH` is the free acid at the lowest pH
    aimed for, on which side it may crystallise. `least` and `soluble` are what the sheets ask for
    and what water dissolves, with their sources, None where nobody says. `note` is what the sheet
    says of its pKa, and that an acid has several steps.
    """

    line: int
    ingredient: str
    acid: str
    dose: Fraction | None
    pKa: Fraction
    pKa_source: str
    pH: Fraction
    from_measured: bool
    target: int | None
    share: float
    in_water_most: float | None
    in_water_least: float | None
    in_water_low_pH: float | None = None
    least: Fraction | None = None
    least_source: str = ""
    soluble: Fraction | None = None
    soluble_source: str = ""
    note: str = ""

    @property
    def upper_bound(self) -> bool:
        """Whether what the oil takes up isn't known, so that the figure is a bound only."""
        return self.in_water_least is None

    @property
    def too_little(self) -> bool | None:
        """Whether the sheet asks for more free acid than there surely is; None: nobody asks."""
        sure = self.in_water_most if self.in_water_least is None else self.in_water_least
        return None if self.least is None or sure is None else sure < self.least

    @property
    def over_solubility(self) -> bool | None:
        """Whether more may be free than water dissolves; None where that isn't known."""
        most = self.in_water_low_pH
        return None if self.soluble is None or most is None else most > self.soluble


_ADJUSTED = re.compile(
    r"\bpH\b[^0-9]{0,12}([0-9]+(?:\.[0-9]+)?)(?:\s*(?:to|-|–)\s*([0-9]+(?:\.[0-9]+)?))?"
)


def adjusted_pH(adjusts: Iterable[str | None]) -> tuple[Fraction, Fraction] | None:
    """The first pH that lines are adjusted to, by their own words: `pH to 4.8 to 5.0`.

    The lower end comes first; a line that isn't adjusted gives None.
    """
    for words in adjusts:
        found = _ADJUSTED.search(words or "")
        if found:
            ends = Fraction(found[1]), Fraction(found[2] or found[1])
            return min(ends), max(ends)
    return None


def aimed_pH(formula: Formula) -> tuple[Fraction, Fraction | None, int | None] | None:
    """The highest pH that a formula aims for, the lowest, and the index of the target.

    Without a target what a line is adjusted to counts; it has no index.

    A target without an upper end bounds nothing. Of a water-in-oil formula only a pH of the water
    phase counts: of the finished emulsion it means nothing.
    """
    found: list[tuple[Fraction, Fraction | None, int | None]] = []
    for index, target in enumerate(formula.targets):
        if target.reading.strip().casefold() != "ph" or target.to is None:
            continue
        if formula.emulsion == "water-in-oil" and "water" not in target.of.casefold():
            continue
        low = None if target.from_ is None else Fraction(target.from_)
        found.append((Fraction(target.to), low, index))
    if found:
        return max(found, key=lambda one: one[0])
    adjusted = adjusted_pH(line.adjust for _, line in formula.lines)
    return None if adjusted is None else (adjusted[1], adjusted[0], None)


def free_acids(
    formula: Formula,
    composition: Composition,
    sheets: Sheets,
    *,
    measured: Fraction | None = None,
    uncertainty: Fraction = Fraction(),
) -> tuple[FreeAcid, ...]:
    """The preserving acids of a formula, each with what of it is free.

    Empty where no pH is known: neither measured nor aimed for. `acid_doses` tells the acids alone.

    Args:
        formula: what is made, for its pH targets.
        composition: its lines as percents, or what was really weighed.
        sheets: pKa, ratios and solubilities.
        measured: the last pH of the water phase (or of an oil-in-water product) after all
            additions; it counts before the target.
        uncertainty: of the measured pH; added to it.
    """
    aim = aimed_pH(formula) if measured is None else None
    if measured is not None:
        high, low, target = measured + uncertainty, measured - uncertainty, None
    elif aim is not None:
        high, low, target = aim[0], aim[0] if aim[1] is None else aim[1], aim[2]
    else:
        return ()
    water, oil = water_and_oil(composition, sheets)
    found = [
        _free(dose, sheets, high=high, low=low, target=target, water=water, oil=oil)
        for dose in acid_doses(composition, sheets)
    ]
    return tuple(one for one in found if one is not None)


def _free(
    dose: AcidDose,
    sheets: Sheets,
    *,
    high: Fraction,
    low: Fraction,
    target: int | None,
    water: Fraction | None,
    oil: Fraction,
) -> FreeAcid | None:
    given = dose.part.pKa
    pKa = None if given is None else _lowest(given)
    if given is None or pKa is None:
        return None
    own = tuple(sheet for sheet in (dose.part, dose.acid.sheet) if sheet is not None)
    share = free_share(pKa, high)
    most = least = at_low = None
    if dose.percent is not None and water is not None and water > 0:
        acid, mass = float(dose.percent), float(water)
        most = free_in_water(acid, mass, share)
        at_low = free_in_water(acid, mass, free_share(pKa, low))
        ratio = _ratio(own)
        if ratio is not None:
            least = free_in_water(acid, mass, share, oil=float(oil), ratio=float(ratio))
    asked, asked_source = _least(own)
    soluble, soluble_source = _soluble(dose)
    steps = "it gives off several protons; the first pKa counts" if dose.acid.many_steps else ""
    return FreeAcid(
        line=dose.line,
        ingredient=dose.ingredient,
        acid=dose.acid.name,
        dose=dose.percent,
        pKa=pKa,
        pKa_source=given.source or "",
        pH=high,
        from_measured=target is None,
        target=target,
        share=share,
        in_water_most=most,
        in_water_least=least,
        in_water_low_pH=at_low,
        least=asked,
        least_source=asked_source,
        soluble=soluble,
        soluble_source=soluble_source,
        note="; ".join(part for part in (given.note or "", steps) if part),
    )


def _lowest(given: Value) -> Fraction | None:
    """The figure, or the lower end of a range: with the lower pKa less is free."""
    figures = [one for one in (given.value, given.from_, given.to) if one is not None]
    return Fraction(min(figures)) if figures else None


def _ratio(own: tuple[Ingredient, ...]) -> Fraction | None:
    """The highest oil–water ratio that the first sheet with one gives: most is taken up."""
    for sheet in own:
        given = sheet.oil_water_ratio
        figures = [one for one in (given.value, given.from_, given.to) if one] if given else []
        if figures and max(figures) > 0:
            return Fraction(max(figures))
    return None


def _least(own: tuple[Ingredient, ...]) -> tuple[Fraction | None, str]:
    for sheet in own:
        found = percent_in_water(sheet.least_free_acid)
        if found is not None and sheet.least_free_acid is not None:
            return found[0], sheet.least_free_acid.source or ""
    return None, ""


def percent_in_water(given: Value | None) -> tuple[Fraction, Fraction] | None:
    """A concentration in water as percent by weight, lowest and highest; None if it says none."""
    if given is None or given.unit not in _TO_PERCENT:
        return None
    low, high = (given.from_, given.to) if given.value is None else (given.value, given.value)
    known = [Fraction(one) * _TO_PERCENT[given.unit] for one in (low, high) if one is not None]
    return (known[0], known[-1]) if known else None


def _soluble(dose: AcidDose) -> tuple[Fraction | None, str]:
    """What water dissolves of the free acid; a salt's own solubility says nothing of it."""
    given = dose.acid.sheet.water_solubility if dose.acid.sheet else None
    found = percent_in_water(given)
    if given is not None and found is not None:
        return found[1], given.source or ""
    return SOLUBILITY.get(dose.acid.name, (None, ""))


def water_and_oil(composition: Composition, sheets: Sheets) -> tuple[Fraction | None, Fraction]:
    """The water phase, and what could take an acid up from it, in percent of the formula.

    The water phase is the phase with most water and what dissolves in water of the others; None
    where that can't be told or a percent is missing. The rest, without what dissolves in nothing,
    counts as oil.
    """
    letter = composition.water().phase
    water = oil = Fraction()
    for line in composition.lines:
        sheet = sheets.find(line.ingredient)
        soluble = sheet.soluble_in if sheet else None
        if line.percent is None:
            return None, Fraction()
        if line.phase == letter or soluble == "water":
            water += line.percent
        elif soluble != "neither":
            oil += line.percent
    return (water if letter is not None else None), oil
