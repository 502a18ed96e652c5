"""The figures of a formula as rows of a screen, with what isn't known in one sentence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from labbook.model.results.formulas import ShownFigure
from labbook.trade.between import Between
from labbook.trade.electrolyte import Electrolyte
from labbook.trade.exact import decimal_text, to_places
from labbook.trade.figures import Figures

MOST_NAMES = 3
WIDE = Fraction(1)
"""A range of percents wider than this is shown in whole percents."""


def shown_figures(found: Figures) -> tuple[ShownFigure, ...]:
    """All figures that are known; `told` are those that a screen shows."""
    return (*_volumes(found), *_water(found), *_dissolved(found.electrolyte))


def _volumes(found: Figures) -> Iterator[ShownFigure]:
    at = f"at {decimal_text(found.celsius)} °C"
    for one in found.volumes:
        if one.share is not None and one.millilitres is not None:
            name = f"phase {one.phase} by volume {at}"
            yield _row(f"volume {one.phase}", name, one.share, "%", _places(one.share), told=False)
            yield _row(
                f"millilitres {one.phase}",
                f"phase {one.phase} in 100 g {at}",
                one.millilitres,
                "ml",
                1,
                told=False,
            )


def _water(found: Figures) -> Iterator[ShownFigure]:
    water = found.water
    if water.least is not None and water.most is not None and water.most > 0:
        whole = Between(water.least, water.most)
        told = not whole.exact or whole.least != found.water_phase
        yield _row("water", "water, all that the lines bring", whole, "%", 1, told=told)
    if found.water_phase is not None:
        share = Between.exactly(found.water_phase)
        yield _row("water phase", "water phase by weight", share, "%", 1)
    by_volume = found.water_phase_by_volume
    if by_volume is not None:
        yield _row("water phase by volume", "water phase by volume", by_volume, "%", 1)
    if found.internal is not None:
        inner = found.internal
        name = f"internal phase, {inner.what}"
        yield _row("internal phase", f"{name}, by weight", inner.by_mass, "%", 1, told=False)
        if inner.by_volume is not None:
            text = f"{name}, by volume"
            told = inner.by_volume != by_volume
            yield _row("internal phase by volume", text, inner.by_volume, "%", 1, told=told)
    if found.emulsifier is not None:
        ratio = Between.exactly(found.emulsifier)
        yield _row("emulsifier", "emulsifier to 100 g water phase", ratio, "g", 1)


def _dissolved(found: Electrolyte) -> Iterator[ShownFigure]:
    for salt in found.salts:
        if salt.per_water_phase is not None:
            name = f"{salt.name} in the water phase"
            each = Between.exactly(salt.per_water_phase)
            key = f"{salt.name} per water phase"
            yield _row(key, name, each, "mmol/kg", 0, told=salt.main)
        if salt.per_formula is not None:
            name = f"{salt.name} in the formula"
            each = Between.exactly(salt.per_formula)
            yield _row(f"{salt.name} per formula", name, each, "mmol/kg", 0, told=False)
        if salt.molality is not None:
            name = f"{salt.name} to the water alone"
            told = salt.main and salt.per_water_phase is None
            yield _row(f"{salt.name} per water", name, salt.molality, "mmol/kg", 0, told=told)
    if found.salts and found.ionic_strength is not None:
        strength = found.ionic_strength
        yield _row("ionic strength", "ionic strength of the water", strength, "mol/kg", 2)
    if found.osmolality is not None and found.osmolality.most > 0:
        name = "all that is dissolved, ideal"
        told = bool(found.salts)
        yield _row("osmolality", name, found.osmolality, "osmol/kg", 2, told=told)


def _places(share: Between) -> int:
    return 0 if share.most - share.least > WIDE else 1


def _row(
    key: str, what: str, value: Between, unit: str, places: int, *, told: bool = True
) -> ShownFigure:
    if unit == "%":
        places = min(places, _places(value))
    exact = decimal_text(value.least) if value.exact else ""
    text = exact if unit == "%" and 0 < len(exact) <= 5 else value.text(places)
    return ShownFigure(
        key=key,
        what=what,
        text=text,
        unit=unit,
        least=f"{to_places(value.least, places + 2):f}",
        most=f"{to_places(value.most, places + 2):f}",
        told=told,
    )


def not_known(found: Figures) -> tuple[str, ...]:
    """What keeps figures from being known, or from being one value: short sentences."""
    said = []
    guessed = dict.fromkeys(name for one in found.volumes for name in one.guessed)
    wanted = found.water_phase_by_volume is not None or found.internal is not None
    if guessed and wanted:
        said.append(f"density of {_names(list(guessed))}")
    reasons: dict[str, list[str]] = {}
    if found.electrolyte.salts:
        for name, why in found.electrolyte.left_out:
            reasons.setdefault(why, []).append(name)
    said += [f"{_names(names)}: {why}" for why, names in reasons.items()]
    said += [gap.what for gap in found.gaps]
    return tuple(said)


def _names(names: Sequence[str]) -> str:
    """At most three names, the rest counted."""
    if len(names) <= MOST_NAMES:
        return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
    return f"{', '.join(names[:MOST_NAMES])} and {len(names) - MOST_NAMES} more"
