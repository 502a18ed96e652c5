"""A volume is taken only where the sheet has a density; spoons and drops are not amounts."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from labbook.model.errors import Unclear
from labbook.model.quantities import Quantity
from labbook.work.bench import Bench
from labbook.work.weigh import mass_or_volume

SHEET = 'id: "oil"\ndensity: {value: 0.92, unit: "g/ml", source: "from memory"}\n'


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    (tmp_path / "labbook.yaml").write_text("format: 1\ntitle: Studio\n", encoding="utf-8")
    (tmp_path / "ingredients").mkdir()
    (tmp_path / "ingredients" / "oil.yaml").write_text(SHEET, encoding="utf-8")
    (tmp_path / "ingredients" / "wax.yaml").write_text('id: "wax"\n', encoding="utf-8")
    return Bench(tmp_path)


@pytest.mark.parametrize(
    ("typed", "grams"), [("10ml", "9.20"), ("2,5 ml", "2.30"), ("0.1 l", "92.00"), ("12.4", "12.4")]
)
def test_a_volume_of_a_liquid_with_a_density_is_grams(bench: Bench, typed: str, grams: str) -> None:
    assert mass_or_volume(bench, "oil", typed) == Quantity(Decimal(grams), "g")


@pytest.mark.parametrize("name", ["wax", "something-unknown"])
def test_without_a_density_it_has_to_be_weighed(bench: Bench, name: str) -> None:
    with pytest.raises(Unclear, match="density") as caught:
        mass_or_volume(bench, name, "10 ml")
    assert "Weigh it" in caught.value.mend


@pytest.mark.parametrize("typed", ["3 drops", "1 tsp", "2 cups", "1 fl oz"])
def test_drops_spoons_cups_and_fluid_ounces_are_refused_with_a_way_on(
    bench: Bench, typed: str
) -> None:
    with pytest.raises(Unclear, match=r"weigh|grams|ml"):
        mass_or_volume(bench, "oil", typed)
