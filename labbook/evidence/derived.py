"""Figures that follow from a composition and differ between two: phases, emulsifier, salt."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from labbook.evidence.lines import places_of
from labbook.model.sheets import Sheets
from labbook.trade.between import Between
from labbook.trade.composition import Composition
from labbook.trade.electrolyte import Electrolyte, Salt, common_name, electrolyte
from labbook.trade.exact import decimal_text, to_places
from labbook.trade.figures import emulsifier_to_water_phase
from labbook.trade.hydrates import same_grams
from labbook.trade.volume import water_phase_by_volume

Figure = Fraction | Between | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Derived:
    """A figure of two compositions; None where it can't be worked out or there is no such thing.

    `places` is how many decimals the typed figures deserve. `told` says whether a screen shows it;
    what isn't told stands in the plain data only. `note` says in words what the figures mean.
    """

    what: str
    before: Figure
    after: Figure
    unit: str
    places: int
    told: bool = True
    note: str = ""

    def text(self, value: Figure) -> str | None:
        """A value of it as it is shown."""
        if isinstance(value, Between):
            return value.text(self.places)
        return None if value is None else f"{to_places(value, self.places):f}"

    def to_plain(self) -> dict[str, Any]:
        """As JSON data, exact where decimals end."""
        sides = {"from": _plain(self.before), "to": _plain(self.after)}
        more = {"note": self.note} if self.note else {}
        return {"what": self.what, **sides, "unit": self.unit, **more}


def _plain(value: Figure) -> str | dict[str, str] | None:
    if isinstance(value, Between):
        return decimal_text(value.least) if value.exact else value.to_plain()
    return None if value is None else decimal_text(value)


def derived_difference(
    a: Composition, b: Composition, sheets: Sheets, *, told: bool = False
) -> tuple[Derived, ...]:
    """The derived figures that differ: each phase, emulsifier to the water phase, salts in it.

    Not told, but there unless only the `told` ones are wanted: the water phase by volume, ionic
    strength and osmolality, where both are known.
    """
    water = a.water().phase, b.water().phase
    dissolved = electrolyte(a, sheets), electrolyte(b, sheets)
    found = [
        *_phases(a, b, water),
        *_emulsifier(a, b, sheets),
        *_salts(dissolved, sheets),
    ]
    if told:
        found = [one for one in found if one.told]
    else:
        found += [*_of_the_water(dissolved), *_by_volume(a, b, sheets)]
    return tuple(one for one in found if one.before != one.after)


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


def _emulsifier(a: Composition, b: Composition, sheets: Sheets) -> list[Derived]:
    """Emulsifiers to 100 g of the water phase; nothing where a formula has none or no water."""
    sides = emulsifier_to_water_phase(a, sheets), emulsifier_to_water_phase(b, sheets)
    if None in sides:
        return []
    what = "emulsifier to 100 g water phase"
    return [Derived(what=what, before=sides[0], after=sides[1], unit="g", places=1)]


def _salts(sides: tuple[Electrolyte, Electrolyte], sheets: Sheets) -> list[Derived]:
    """Each salt in the water phase in mmol per kg of it; grades with and without water are one."""
    keys = dict.fromkeys(salt.key for side in sides for salt in side.salts)
    found = []
    for key in keys:
        one, other = (next((s for s in side.salts if s.key == key), None) for side in sides)
        before, after = _in_phase(one, sides[0]), _in_phase(other, sides[1])
        if before is None or after is None:
            continue
        names = [name for salt in (one, other) if salt is not None for name in salt.ingredients]
        found.append(
            Derived(
                what=f"{common_name(names)} in the water phase",
                before=before,
                after=after,
                unit="mmol/kg",
                places=0,
                told=any(salt.main for salt in (one, other) if salt is not None),
                note=_note(one, other, sheets),
            )
        )
    return found


def _in_phase(salt: Salt | None, side: Electrolyte) -> Fraction | None:
    """None where it can't be told; nothing of a salt in a water phase is 0."""
    if salt is None:
        return Fraction() if side.has_water_phase else None
    return salt.per_water_phase


def _note(one: Salt | None, other: Salt | None, sheets: Sheets) -> str:
    """`same grams, half the salt` where one grade took the place of another."""
    if one is None or other is None or len(one.ingredients) + len(other.ingredients) != 2:
        return ""
    before, after = sheets.find(one.ingredients[0]), sheets.find(other.ingredients[0])
    if before is None or after is None or one.percent != other.percent:
        return ""
    return same_grams(before, after, sheets)


def _of_the_water(sides: tuple[Electrolyte, Electrolyte]) -> list[Derived]:
    one, other = sides
    rows = (
        ("ionic strength of the water", one.ionic_strength, other.ionic_strength, "mol/kg", 3),
        ("osmolality of the water", one.osmolality, other.osmolality, "osmol/kg", 2),
    )
    return [
        Derived(what=what, before=before, after=after, unit=unit, places=places, told=False)
        for what, before, after, unit, places in rows
        if before is not None and after is not None
    ]


def _by_volume(a: Composition, b: Composition, sheets: Sheets) -> list[Derived]:
    before, after = water_phase_by_volume(a, sheets), water_phase_by_volume(b, sheets)
    if before is None or after is None:
        return []
    what = "water phase by volume at 20 °C"
    return [Derived(what=what, before=before, after=after, unit="%", places=1, told=False)]
