"""Figures that follow from a composition and differ between two: phases, emulsifier, salt."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from labbook.evidence.lines import places_of
from labbook.model.sheets import Sheets
from labbook.trade.composition import Composition
from labbook.trade.exact import decimal_text, to_places


@dataclass(frozen=True, slots=True, kw_only=True)
class Derived:
    """A figure of two compositions; None where it can't be worked out or there is no such thing.

    `places` is how many decimals the typed figures deserve.
    """

    what: str
    before: Fraction | None
    after: Fraction | None
    unit: str
    places: int

    def text(self, value: Fraction | None) -> str | None:
        """A value of it as it is shown."""
        return None if value is None else f"{to_places(value, self.places):f}"

    def to_plain(self) -> dict[str, Any]:
        """As JSON data, exact where decimals end."""
        sides = {"from": self.before, "to": self.after}
        texts = {key: None if v is None else decimal_text(v) for key, v in sides.items()}
        return {"what": self.what, **texts, "unit": self.unit}


def derived_difference(a: Composition, b: Composition, sheets: Sheets) -> tuple[Derived, ...]:
    """The derived figures that differ: each phase, emulsifier to the water phase, salts in it."""
    water = _water_phases(a, b)
    found = [*_phases(a, b, water), *_emulsifier(a, b, water), *_salts(a, b, water, sheets)]
    return tuple(one for one in found if one.before != one.after)


def _water_phases(a: Composition, b: Composition) -> tuple[str | None, str | None]:
    return a.water().phase, b.water().phase


def _decimals(*compositions: Composition) -> int:
    """Decimals of the finest typed percent."""
    typed = [line.typed for c in compositions for line in c.lines if line.typed is not None]
    return max((places_of(one) for one in typed), default=0)


def _phases(a: Composition, b: Composition, water: tuple[str | None, str | None]) -> list[Derived]:
    before = {total.phase: total.percent for total in a.phase_totals()}
    after = {total.phase: total.percent for total in b.phase_totals()}
    places = _decimals(a, b)
    found = []
    for phase in sorted({*before, *after}):
        name = f"phase {phase}"
        if water == (phase, phase):
            name += ", the water phase"
        sides = (before.get(phase), after.get(phase))
        found.append(Derived(what=name, before=sides[0], after=sides[1], unit="%", places=places))
    return found


def _share(composition: Composition, phase: str | None) -> Fraction | None:
    totals = {total.phase: total.percent for total in composition.phase_totals()}
    return None if phase is None else totals.get(phase)


def _emulsifier(
    a: Composition, b: Composition, water: tuple[str | None, str | None]
) -> list[Derived]:
    """Emulsifiers to 100 g of the water phase; nothing where a formula has none or no water."""
    sides = (_emulsifier_ratio(a, water[0]), _emulsifier_ratio(b, water[1]))
    if None in sides:
        return []
    what = "emulsifier to 100 g water phase"
    return [Derived(what=what, before=sides[0], after=sides[1], unit="g", places=1)]


def _emulsifier_ratio(composition: Composition, phase: str | None) -> Fraction | None:
    share = _share(composition, phase)
    own = [line.percent for line in composition.lines if "emulsifier" in line.functions]
    known = [percent for percent in own if percent is not None]
    if not share or not own or len(known) < len(own):
        return None
    return sum(known, Fraction()) / share * 100


def _salts(
    a: Composition, b: Composition, water: tuple[str | None, str | None], sheets: Sheets
) -> list[Derived]:
    """Each electrolyte in the water phase in mmol per kg of it, by the sheet's molar mass."""
    names = {line.sheet: None for line in (*a.lines, *b.lines) if "electrolyte" in line.functions}
    found = []
    for name in names:
        sides = (_molality(a, water[0], name, sheets), _molality(b, water[1], name, sheets))
        if None not in sides:
            what = f"{sheets.name_of(name)} in the water phase"
            found.append(
                Derived(what=what, before=sides[0], after=sides[1], unit="mmol/kg", places=0)
            )
    return found


def _molality(
    composition: Composition, phase: str | None, sheet: str, sheets: Sheets
) -> Fraction | None:
    share, known = _share(composition, phase), sheets.find(sheet)
    molar = known.molar_mass if known else None
    if not share or molar is None or not molar.value or molar.unit not in (None, "g/mol"):
        return None
    own = [line.percent for line in composition.lines if (line.phase, line.sheet) == (phase, sheet)]
    percents = [percent for percent in own if percent is not None]
    if len(percents) < len(own):
        return None
    return sum(percents, Fraction()) / Fraction(molar.value) / share * 1_000_000
