"""The starter formulas, protocols and equipment are sound."""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from labbook.model.fields import QS
from labbook.model.formula import Formula
from labbook.model.materials import Ingredient
from labbook.model.settings import Protocol
from labbook.rules.starters import starter_text
from labbook.shipped import shipped
from tests.sample import record

TEMPLATES = shipped("templates")
EMULSIONS = ("anhydrous", "gel", "oil-in-water", "water-in-oil")
FOLDERS = ("formulas", "protocols", "equipment")
ACIDS = ("sodium-benzoate", "potassium-sorbate")


def read(path: Path) -> Any:
    """A template's record, its placeholders filled in as `formula new` does."""
    text = path.read_text(encoding="utf-8")
    name = path.relative_to(TEMPLATES).as_posix()
    if path.parent.name == "formulas":
        for line in ("code: CODE\n", 'title: "TITLE"\n', 'id: "ID"\n'):
            assert text.count(line) == 1
        text = text.replace("CODE", "NEW").replace("TITLE", "A new one").replace('"ID"', '"f-new"')
        name = "formulas/NEW.yaml"
    return record(name, text.encode("utf-8"))


def formula(emulsion: str) -> Formula:
    found: Formula = read(TEMPLATES / "formulas" / f"{emulsion}.yaml")
    return found


def sheet(name: str) -> Ingredient:
    text = starter_text(name)
    assert text is not None, f"{name} has no starter sheet"
    found: Ingredient = record(f"ingredients/{name}.yaml", text.encode("utf-8"))
    return found


def temperatures(of: Formula) -> Iterator[tuple[str, Decimal]]:
    """The highest temperature in °C that the method plans for a phase."""
    for step in of.method:
        for phase, quantity in (step.set or {}).items():
            yield phase, quantity.value


@pytest.mark.parametrize("folder", FOLDERS)
def test_every_template_reads_under_its_own_name(folder: str) -> None:
    paths = sorted((TEMPLATES / folder).glob("*.yaml"))
    assert paths
    for path in paths:
        one = read(path)
        if folder != "formulas":
            assert one.id == path.stem


def test_there_is_one_starter_formula_for_each_kind() -> None:
    stems = [path.stem for path in sorted((TEMPLATES / "formulas").glob("*.yaml"))]
    assert tuple(stems) == EMULSIONS
    assert all(formula(emulsion).emulsion == emulsion for emulsion in EMULSIONS)


@pytest.mark.parametrize("emulsion", EMULSIONS)
def test_it_sums_to_100_with_qs_and_has_no_number_yet(emulsion: str) -> None:
    one = formula(emulsion)
    typed = [line.percent for _, line in one.lines if isinstance(line.percent, Decimal)]
    assert [line.percent for _, line in one.lines].count(QS) == 1
    assert len(typed) == len(one.lines) - 1
    assert 0 < sum(typed) < 100
    assert one.version == 0
    assert (TEMPLATES / "protocols" / f"{one.protocol}.yaml").is_file()


@pytest.mark.parametrize("emulsion", [one for one in EMULSIONS if one != "anhydrous"])
def test_water_is_preserved_in_its_phase_at_a_ph_where_it_works(emulsion: str) -> None:
    one = formula(emulsion)
    (watery,) = {phase.phase for phase, line in one.lines if line.ingredient == "water"}
    doses = {li.ingredient: li.percent for p, li in one.lines if p.phase == watery}
    benzoate, sorbate = (doses.get(name, Decimal(0)) for name in ACIDS)
    assert isinstance(benzoate, Decimal)
    assert isinstance(sorbate, Decimal)
    # EU 1223/2009 Annex V entries 1 and 5, leave-on: 0.5 % as benzoic acid, 0.6 % as sorbic acid;
    # molar masses 122.122/144.103 and 112.128/150.217 g/mol from IUPAC atomic weights.
    assert Decimal("0.3") <= benzoate
    assert benzoate * Decimal("122.122") / Decimal("144.103") < Decimal("0.5")
    assert sorbate * Decimal("112.128") / Decimal("150.217") < Decimal("0.6")
    (target,) = one.targets
    assert (target.of, target.reading, target.to) == ("water phase", "pH", Decimal("5.0"))
    for name in ACIDS:
        window = sheet(name).pH_window
        assert window is not None
        assert window.to is not None
        assert target.to is not None
        assert target.to <= window.to
    assert [p.phase for p, line in one.lines if line.adjust] == [watery]


@pytest.mark.parametrize("emulsion", EMULSIONS)
def test_doses_and_heat_keep_to_the_sheets(emulsion: str) -> None:
    one = formula(emulsion)
    heat = dict(temperatures(one))
    for phase, line in one.lines:
        known = sheet(line.ingredient)
        if known.highest_use and known.highest_use.value is not None:
            assert isinstance(line.percent, Decimal)
            assert line.percent <= known.highest_use.value
        limit = known.highest_temperature
        if limit and limit.value is not None and phase.phase in heat:
            assert heat[phase.phase] <= limit.value, line.ingredient
        melting = known.melting_point
        if melting and phase.phase in heat and known.physical == "solid":
            top = melting.to if melting.to is not None else melting.value
            assert top is not None
            assert heat[phase.phase] >= top, f"{line.ingredient} does not melt"


def test_what_joins_a_finished_water_in_oil_cream_is_soluble_in_oil() -> None:
    one = formula("water-in-oil")
    combined = next(i for i, step in enumerate(one.method) if step.do == "combine")
    later = {step.add for step in one.method[combined + 1 :]}
    for phase, line in one.lines:
        if phase.phase in later:
            assert sheet(line.ingredient).soluble_in == "oil"


def test_protocols_say_where_they_come_from() -> None:
    for path in sorted((TEMPLATES / "protocols").glob("*.yaml")):
        protocol: Protocol = read(path)
        assert protocol.source == "common practice, no source"
        for point in protocol.looks:
            days = [span.exact("d") for span in point.after]
            assert days == sorted(set(days))
            assert bool(days) != bool(point.cycles)
