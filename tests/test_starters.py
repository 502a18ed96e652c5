"""The starter sheets: each reads without a problem, says where its figures come from, ships."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import fields
from decimal import Decimal
from importlib.resources import files

import molmass
import pytest

from labbook.model.fields import key_of
from labbook.model.materials import Ingredient, Value
from labbook.model.sheets import Sheets, fold
from labbook.notebook.validate import ReadFile, read_file
from labbook.rules.starters import starter_named, starter_names, starter_parts, starter_text

NAMES = starter_names()
UNITS = {
    "density": "g/ml",
    "melting_point": "°C",
    "highest_temperature": "°C",
    "molar_mass": "g/mol",
    "expansion": "per °C",
    "oil_water_ratio": None,
    "HLB": None,
    "required_HLB": None,
    "pKa": None,
    "pH_window": None,
}  # every other figure of a sheet is a percent
WITHIN = {
    "per °C": (0.0001, 0.002),
    "%": (0, 100),
    "g/ml": (0.7, 6),
    "°C": (-120, 150),
    "g/mol": (18, 1000),
}
NO_UNIT = (0, 20)  # HLB runs to 20, pH and pKa to 14

# Written down apart from the sheets, from the materials' structure (from memory).
FORMULAS = {
    "allantoin": "C4H6N4O3",
    "arginine": "C6H14N4O2",
    "ascorbyl-palmitate": "C22H38O7",
    "behentrimonium-methosulfate": "C26H57NO4S",
    "behenyl-alcohol": "C22H46O",
    "benzoic-acid": "C7H6O2",
    "benzyl-alcohol": "C7H8O",
    "betaine": "C5H11NO2",
    "bisabolol": "C15H26O",
    "butylene-glycol": "C4H10O2",
    "calcium-chloride-anhydrous": "CaCl2",
    "calcium-chloride-dihydrate": "CaCl2(H2O)2",
    "caprylyl-glycol": "C8H18O2",
    "cetyl-alcohol": "C16H34O",
    "citric-acid": "C6H8O7",
    "citric-acid-monohydrate": "C6H8O7(H2O)",
    "cyclopentasiloxane": "C10H30O5Si5",
    "dehydroacetic-acid": "C8H8O4",
    "dicaprylyl-carbonate": "C17H34O3",
    "dicaprylyl-ether": "C16H34O",
    "disodium-edta": "C10H14N2Na2O8(H2O)2",
    "disodium-edta-anhydrous": "C10H14N2Na2O8",
    "ethanol": "C2H6O",
    "ethylhexyl-palmitate": "C24H48O2",
    "ethylhexylglycerin": "C11H24O3",
    "gluconolactone": "C6H10O6",
    "glycerin": "C3H8O3",
    "isopropyl-myristate": "C17H34O2",
    "isopropyl-palmitate": "C19H38O2",
    "lactic-acid": "C3H6O3",
    "levulinic-acid": "C5H8O3",
    "magnesium-chloride-anhydrous": "MgCl2",
    "magnesium-chloride-hexahydrate": "MgCl2(H2O)6",
    "magnesium-stearate": "Mg(C18H35O2)2",
    "magnesium-sulfate-anhydrous": "MgSO4",
    "magnesium-sulfate-heptahydrate": "MgSO4(H2O)7",
    "niacinamide": "C6H6N2O",
    "octyldodecanol": "C20H42O",
    "p-anisic-acid": "C8H8O3",
    "panthenol": "C9H19NO4",
    "pentylene-glycol": "C5H12O2",
    "phenethyl-alcohol": "C8H10O",
    "phenoxyethanol": "C8H10O2",
    "potassium-chloride": "KCl",
    "potassium-sorbate": "KC6H7O2",
    "propanediol": "C3H8O2",
    "propylene-glycol": "C3H8O2",
    "salicylic-acid": "C7H6O3",
    "silica": "SiO2",
    "sodium-benzoate": "NaC7H5O2",
    "sodium-bicarbonate": "NaHCO3",
    "sodium-chloride": "NaCl",
    "sodium-citrate-anhydrous": "Na3C6H5O7",
    "sodium-citrate-dihydrate": "Na3C6H5O7(H2O)2",
    "sodium-dehydroacetate": "NaC8H7O4",
    "sodium-gluconate": "NaC6H11O7",
    "sodium-hydroxide": "NaOH",
    "sodium-lactate": "NaC3H5O3",
    "sodium-levulinate": "NaC5H7O3",
    "sorbic-acid": "C6H8O2",
    "squalane": "C30H62",
    "stearic-acid": "C18H36O2",
    "stearyl-alcohol": "C18H38O",
    "tetrasodium-glutamate-diacetate": "C9H9NNa4O8",
    "titanium-dioxide": "TiO2",
    "tocopherol": "C29H50O2",
    "tocopheryl-acetate": "C31H52O3",
    "triethanolamine": "C6H15NO3",
    "urea": "CH4N2O",
    "water": "H2O",
    "zinc-oxide": "ZnO",
    "zinc-pca": "Zn(C5H6NO3)2",
    "zinc-stearate": "Zn(C18H35O2)2",
    "zinc-sulfate-anhydrous": "ZnSO4",
    "zinc-sulfate-heptahydrate": "ZnSO4(H2O)7",
}


def text_of(name: str) -> str:
    text = starter_text(name)
    assert text is not None, name
    return text


def read(name: str) -> ReadFile:
    return read_file(text_of(name).encode("utf-8"), f"ingredients/{name}.yaml")


READ = {name: read(name) for name in NAMES}
SHEETS: dict[str, Ingredient] = {
    name: found.record for name, found in READ.items() if isinstance(found.record, Ingredient)
}


def values(sheet: Ingredient) -> dict[str, Value]:
    """The figures of a sheet by field."""
    found = {field.name: getattr(sheet, field.name) for field in fields(sheet)}
    return {name: value for name, value in found.items() if isinstance(value, Value)}


FIGURES = [
    (name, field, value) for name, sheet in SHEETS.items() for field, value in values(sheet).items()
]


def ends(value: Value) -> list[Decimal]:
    return [end for end in (value.from_, value.value, value.to) if end is not None]


def test_there_are_enough_of_them() -> None:
    assert len(NAMES) >= 110
    assert list(NAMES) == sorted(set(NAMES))


def test_every_file_reads_without_a_problem() -> None:
    problems = {name: found.problems for name, found in READ.items() if found.problems}
    assert not problems
    assert list(SHEETS) == list(NAMES)


def test_the_id_is_the_name_of_the_file() -> None:
    assert {name: sheet.id for name, sheet in SHEETS.items()} == {name: name for name in NAMES}
    assert not [name for name in NAMES if name != fold(name)]


def test_every_sheet_says_what_the_material_is_for() -> None:
    for name, sheet in SHEETS.items():
        assert sheet.title, name
        assert sheet.inci, name
        assert sheet.functions, name
        assert sheet.soluble_in, name
        assert sheet.physical, name


def test_every_figure_names_its_source() -> None:
    assert len(FIGURES) > 400
    assert not [(name, field) for name, field, value in FIGURES if not value.source]


def test_every_figure_is_one_value_or_one_range_in_its_unit() -> None:
    for name, field, value in FIGURES:
        where = (name, field)
        assert (value.value is None) != (value.from_ is None and value.to is None), where
        assert value.unit == UNITS.get(field, "%"), where
        assert ends(value) == sorted(set(ends(value))), where
        low, high = WITHIN.get(value.unit or "", NO_UNIT)
        assert all(low <= float(end) <= high for end in ends(value)), where


def test_a_density_says_at_which_temperature_or_why_not() -> None:
    densities = {name: sheet.density for name, sheet in SHEETS.items() if sheet.density}
    bare = [name for name, one in densities.items() if one.at is None and not one.note]
    # A solid's changes too little with temperature to matter on a bench.
    assert all(SHEETS[name].physical in ("solid", "powder") for name in bare)


def test_a_name_means_one_material() -> None:
    names = [fold(name) for name in NAMES]
    names += [fold(other) for sheet in SHEETS.values() for other in sheet.also]
    assert not [name for name, count in Counter(names).items() if count > 1]


def test_a_label_name_finds_its_sheet_where_no_other_sheet_has_it() -> None:
    count = Counter(fold(sheet.inci or "") for sheet in SHEETS.values())
    sheets = Sheets(SHEETS)
    for sheet in SHEETS.values():
        inci = sheet.inci or ""
        # A label names neither the water of crystallisation nor the strength of a solution.
        telling = not sheet.id.endswith("hydrate") and "," not in inci
        if count[fold(inci)] == 1 and telling:
            assert sheets.find(inci) is sheet, inci


def test_blends_and_solutions_hold_known_materials_and_no_more_than_all() -> None:
    blends = {name: sheet.contains for name, sheet in SHEETS.items() if sheet.contains}
    assert blends
    for name, parts in blends.items():
        assert all(part.ingredient in SHEETS for part in parts), name
        assert all(part.percent for part in parts), name
        assert sum(part.percent or 0 for part in parts) <= 100, name


def test_a_solution_holds_what_its_name_and_figures_say() -> None:
    solutions = [name for name in NAMES if re.search(r"-[0-9]+-percent$", name)]
    assert solutions
    for name in solutions:
        sheet, strength = SHEETS[name], Decimal(name.split("-")[-2])
        assert sheet.active_content is not None
        assert sheet.water_content is not None
        assert sheet.active_content.value == strength
        assert sheet.water_content.value == 100 - strength
        for part in sheet.contains:
            expected = 100 - strength if part.ingredient == "water" else strength
            assert part.percent == expected, name


def test_molar_masses_agree_with_molmass() -> None:
    given = {name: sheet.molar_mass for name, sheet in SHEETS.items() if sheet.molar_mass}
    assert set(given) == set(FORMULAS)
    for name, value in given.items():
        mass = molmass.Formula(FORMULAS[name]).mass
        assert float(value.value or 0) == pytest.approx(mass, abs=0.01), name


@pytest.mark.parametrize(
    ("name", "waters"),
    [
        ("magnesium-sulfate-heptahydrate", 7),
        ("magnesium-chloride-hexahydrate", 6),
        ("calcium-chloride-dihydrate", 2),
        ("sodium-citrate-dihydrate", 2),
        ("citric-acid-monohydrate", 1),
        ("disodium-edta", 2),
        ("zinc-sulfate-heptahydrate", 7),
    ],
)
def test_water_of_crystallisation_agrees_with_molmass(name: str, waters: int) -> None:
    share = waters * molmass.Formula("H2O").mass / molmass.Formula(FORMULAS[name]).mass
    given = SHEETS[name].water_content
    assert given is not None
    assert float(given.value or 0) == pytest.approx(100 * share, abs=0.01)


def test_a_chemical_formula_is_that_of_the_material() -> None:
    given = {name: sheet.chemical_formula for name, sheet in SHEETS.items()}
    known = {name: formula for name, formula in given.items() if formula}
    assert len(known) > 50
    for name, formula in known.items():
        own = molmass.Formula(re.sub(r"·(\d*)H2O", r"(H2O)\1", formula)).composition()
        other = molmass.Formula(FORMULAS[name]).composition()
        counts = [{k: v.count for k, v in one.items()} for one in (own, other)]
        assert counts[0] == counts[1], name


def test_ions_cancel_and_add_up_to_the_formula() -> None:
    given = {name: sheet for name, sheet in SHEETS.items() if sheet.ions}
    assert len(given) > 20
    for name, sheet in given.items():
        charges, pieces = 0, ""
        for ion, count in (sheet.ions or {}).items():
            found = re.fullmatch(
                r"(?P<what>[A-Za-z0-9]+?) ?(?P<n>(?<= )[0-9]?|[0-9]?)(?P<s>[+-])", ion
            )
            assert found, ion
            charges += count * int(found["n"] or 1) * (1 if found["s"] == "+" else -1)
            pieces += f"({found['what']}){count}"
        assert charges == 0, name
        dry = re.sub(r"·\d*H2O", "", sheet.chemical_formula or "")
        assert molmass.Formula(pieces).mass == pytest.approx(
            molmass.Formula(dry).mass, abs=0.001
        ), name


def test_what_goes_into_the_water_phase_says_how_much_water_it_brings() -> None:
    silent = [n for n, s in SHEETS.items() if s.soluble_in != "oil" and s.water_content is None]
    assert not silent


def test_dangerous_materials_carry_a_caution() -> None:
    def cautions(name: str) -> str:
        return " ".join(SHEETS[name].cautions)

    for name in ("sodium-hydroxide", "sodium-hydroxide-10-percent"):
        assert "goggles" in cautions(name)
        assert "never water onto alkali" in cautions(name)
    assert "flame" in cautions("ethanol")
    assert "jar" in cautions("sodium-bicarbonate")
    for name, sheet in SHEETS.items():
        dusty = {"powder", "pigment", "gellant"} & set(sheet.functions)
        if sheet.physical == "powder" and dusty:
            assert "dust" in cautions(name), name
        if {"goggles", "dust", "flame"} & set(re.findall(r"[a-z]+", cautions(name))):
            assert "safety data sheet" in cautions(name) or "water bath" in cautions(name), name


def test_nothing_is_called_safe() -> None:
    for name in NAMES:
        text = text_of(name).replace("safety data sheet", "")
        assert not re.search(r"\bsafe", text, re.IGNORECASE), name


def test_files_are_written_alike() -> None:
    order = [key_of(field.name) for field in fields(Ingredient)]
    for name in NAMES:
        raw = files("labbook.rules").joinpath("ingredients", f"{name}.yaml").read_bytes()
        assert b"\r" not in raw, name
        head, *lines = raw.decode("utf-8").split("\n")
        assert head == "# yaml-language-server: $schema=../.labbook/schema/ingredient.json", name
        assert lines[-1] == "", name
        keys = [line.partition(":")[0] for line in lines if line[:1].strip()]
        assert keys == sorted(keys, key=order.index), name


# Looking one up --------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", ["Sweet Almond Oil", "sweet-almond-oil", "SWEET_ALMOND OIL"])
def test_a_sheet_is_found_however_its_name_is_typed(typed: str) -> None:
    assert starter_text(typed) == text_of("sweet-almond-oil")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("Aqua", "water"), ("epsom salt", "magnesium-sulfate-heptahydrate"), ("Water", "water")],
)
def test_a_sheet_is_found_by_another_name(typed: str, meant: str) -> None:
    assert starter_named(typed) == meant


def test_every_other_name_leads_to_its_sheet() -> None:
    for name, sheet in SHEETS.items():
        assert {starter_named(other) for other in (name, *sheet.also)} == {name}


def test_a_name_that_looks_like_a_path_reads_nothing_but_a_sheet() -> None:
    assert starter_text("../ingredients/water") is None
    assert starter_text("../starters.py") is None
    assert starter_text("/water") == text_of("water")


# An unqualified name of a salt could mean either of two strengths.
@pytest.mark.parametrize("typed", ["unobtainium", "", "magnesium sulfate"])
def test_what_has_no_sheet_has_none(typed: str) -> None:
    assert starter_text(typed) is None
    assert starter_named(typed) is None


def test_the_components_of_a_blend_are_known_by_their_sheets() -> None:
    assert starter_parts("citric-acid-20-percent") == ("citric-acid", "water")
    assert starter_parts("lavender-oil") == ()
    assert starter_parts("no-such-thing") == ()
    for name in NAMES:
        sheet = READ[name].record
        assert isinstance(sheet, Ingredient)
        inside = [part.ingredient for part in sheet.contains]
        assert list(starter_parts(name)) == [p for p in inside if starter_text(p) is not None]
