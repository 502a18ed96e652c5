"""The figures that follow from a composition, worked out together for a screen or a comparison."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from labbook.model.formula import Formula
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.between import Between
from labbook.trade.composition import Composition
from labbook.trade.electrolyte import Electrolyte, electrolyte
from labbook.trade.expand import Gap, expand
from labbook.trade.volume import (
    ROOM,
    InternalPhase,
    PhaseVolume,
    internal_phase,
    phase_volumes,
)
from labbook.trade.water import PhaseTotal, WaterShare, in_sum


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What a formula comes to. Percents by weight unless a name says by volume.

    `emulsifier` is in g to 100 g of the water phase. `gaps` say which sheets leave open what they
    contain.
    """

    phases: tuple[PhaseTotal, ...]
    volumes: tuple[PhaseVolume, ...]
    celsius: Fraction
    water: WaterShare
    emulsifier: Fraction | None
    internal: InternalPhase | None
    electrolyte: Electrolyte
    gaps: tuple[Gap, ...]

    @property
    def water_phase(self) -> Fraction | None:
        """The water phase's percent of the formula."""
        found = [one.percent for one in self.phases if one.phase == self.water.phase]
        return found[0] if found else None

    @property
    def water_phase_by_volume(self) -> Between | None:
        """The water phase's percent of the whole volume."""
        found = [one.share for one in self.volumes if one.phase == self.water.phase]
        return found[0] if found else None


def figures(
    formula: Formula, composition: Composition, sheets: Sheets, celsius: Fraction = ROOM
) -> Figures:
    """All figures of a formula; volumes at a temperature in °C."""
    return Figures(
        phases=composition.phase_totals(),
        volumes=phase_volumes(composition, sheets, celsius),
        celsius=celsius,
        water=composition.water(),
        emulsifier=emulsifier_to_water_phase(composition, sheets),
        internal=internal_phase(formula.emulsion or "", composition, sheets, celsius),
        electrolyte=electrolyte(composition, sheets),
        gaps=expand(composition, sheets).gaps,
    )


def emulsifier_to_water_phase(composition: Composition, sheets: Sheets) -> Fraction | None:
    """Emulsifiers in g to 100 g of the water phase, those in blends too.

    A blend that is itself called an emulsifier counts whole. None without an emulsifier, without a
    water phase, or where a percent isn't known.
    """
    inner = expand(composition, sheets, _is_emulsifier)
    own = [piece.percent for piece in inner.pieces if _is_emulsifier(sheets.find(piece.sheet))]
    phase = composition.water().phase
    share = {one.phase: one.percent for one in composition.phase_totals()}.get(phase or "")
    amount = in_sum(own)
    return amount / share * 100 if own and share and amount is not None else None


def _is_emulsifier(sheet: Ingredient | None) -> bool:
    return sheet is not None and "emulsifier" in sheet.functions
