"""Hydrates both ways and the water they bring, against worked examples, the source beside each."""

from __future__ import annotations

from fractions import Fraction

import pytest

from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.hydrates import Hydrate, hydrate_by_formula, hydrate_of
from labbook.trade.molar import molar_mass_of
from tests.published.outside import Outside
from tests.published.test_starter_values import sheet_of
from tests.trade.making import formula, line

F = Fraction
HYDRATION = "compoundingtoday.com/Salts/WaterOfHydration.cfm"
MOLMASS = "molmass 2026.1.8"

NAMES = (
    "magnesium-sulfate-heptahydrate", "magnesium-sulfate-anhydrous", "citric-acid-monohydrate",
    "citric-acid", "calcium-chloride-dihydrate", "magnesium-chloride-hexahydrate",
    "magnesium-chloride-anhydrous", "water",
)  # fmt: skip
SALTS = Sheets({name: sheet_of(name) for name in NAMES})


def hydrate(name: str) -> Hydrate:
    found = hydrate_of(SALTS.find(name), SALTS)
    assert found is not None
    return found


def share_of(wet: str, dry: str) -> Fraction:
    own, inner = molar_mass_of(wet), molar_mass_of(dry)
    assert own and inner
    return hydrate_by_formula(own, inner)


CITRIC, EPSOM = hydrate("citric-acid-monohydrate"), hydrate("magnesium-sulfate-heptahydrate")
HYDRATES = [
    Outside("monohydrate for the anhydrous", CITRIC.as_hydrate(F(1)), "1.093", HYDRATION, "0.001"),
    Outside("anhydrous for the monohydrate", CITRIC.as_anhydrous(F(1)), "0.914", HYDRATION),
    Outside("50 mg by the factor", CITRIC.as_hydrate(F(50)), "54.65", HYDRATION, "0.05"),
    Outside(
        "salt in 100 g", EPSOM.as_anhydrous(F(100)), "48.8",
        "bbc.co.uk/bitesize/guides/zbysqp3/revision/4",
    ),
    Outside(
        "water in ferric chloride", 100 - 100 * share_of("FeCl3·6H2O", "FeCl3"), "40.0",
        "tmcleod.org, wiki page PercentHydrate",
    ),
]  # fmt: skip


def water_in(name: str) -> Fraction | None:
    """The water that a formula of nothing else holds, in percent."""
    share = resolve(formula(A=[line(name, "100")]), SALTS).water()
    assert share.least == share.most
    return share.least


BITTER = "magnesium-sulfate-heptahydrate"
WATER = [
    Outside("heptahydrate", water_in(BITTER), "51.2", "byjus.com, water of crystallization"),
    Outside("heptahydrate", water_in(BITTER), "51.16", "answers.yahoo.com qid 20071212225804"),
    Outside("heptahydrate", water_in(BITTER), "51.2", "bbc.co.uk/bitesize/guides/zbysqp3"),
    Outside("monohydrate", water_in("citric-acid-monohydrate"), "8.6", f"1 − 0.914, {HYDRATION}"),
    Outside("dihydrate", water_in("calcium-chloride-dihydrate"), "24.5", "qammunity.org/19769285"),
    Outside("dihydrate", water_in("calcium-chloride-dihydrate"), "24.508", MOLMASS, "0.005"),
    Outside("hexahydrate", water_in("magnesium-chloride-hexahydrate"), "53.168", MOLMASS, "0.005"),
]


@pytest.mark.parametrize("row", [*HYDRATES, *WATER], ids=str)
def test_worked_examples_of_hydrates(row: Outside) -> None:
    row.check()
