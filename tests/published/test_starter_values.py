"""Figures of the starter sheets against what others have printed; the source beside each check.

A table's figure is copied here apart from the sheets. Where two sources disagree the sheet has to
give the range that holds both.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from labbook.model.materials import Ingredient, Value
from labbook.notebook.validate import read_file
from labbook.rules.starters import starter_names, starter_text


def sheet_of(name: str) -> Ingredient:
    text = starter_text(name)
    assert text is not None, name
    record = read_file(text.encode("utf-8"), f"ingredients/{name}.yaml").record
    assert isinstance(record, Ingredient)
    return record


def bounds(value: Value | None) -> tuple[Decimal, Decimal]:
    assert value is not None
    low = value.value if value.value is not None else value.from_
    high = value.value if value.value is not None else value.to
    assert low is not None
    assert high is not None
    return low, high


def only(value: Value | None) -> Decimal:
    low, high = bounds(value)
    assert low == high
    return low


# Reference table of emulsifier HLB by INCI name,
# cosmetics.alfa-chemistry.com/resources/reference-guide-to-hlb-values-of-common-emulsifiers.html
HLB_BY_INCI = {
    "sorbitan-trioleate": "1.8",
    "sorbitan-sesquioleate": "3.7",
    "glyceryl-stearate": "3.8",
    "lecithin": "4",
    "sorbitan-oleate": "4.3",
    "sorbitan-stearate": "4.7",
    "sorbitan-isostearate": "4.7",
    "steareth-2": "4.9",
    "glyceryl-laurate": "5.2",
    "ceteth-2": "5.3",
    "peg-30-dipolyhydroxystearate": "5.5",
    "glyceryl-stearate-se": "5.8",
    "methyl-glucose-sesquistearate": "6.6",
    "polysorbate-85": "11",
    "cetearyl-glucoside": "11",
    "polyglyceryl-3-methylglucose-distearate": "12",
    "ceteth-10": "12.9",
    "polysorbate-60": "14.9",
    "polysorbate-80": "15",
    "peg-20-methyl-glucose-sesquistearate": "15",
    "ceteareth-20": "15.2",
    "oleth-20": "15.3",
    "steareth-20": "15.3",
}
# PMC3969497, Table I, pmc.ncbi.nlm.nih.gov/articles/PMC3969497/table/Tab1: end points of its blends
HLB_OF_BLENDS = {
    "sorbitan-laurate": "8.6",
    "polysorbate-20": "16.7",
    "peg-40-hydrogenated-castor-oil": "15",
    "sorbitan-oleate": "4.3",
    "polysorbate-80": "15",
}
# swiftcraftymonkey.blogspot.com/2013/08/you-dont-need-to-use-hlb-system-for-all.html
HLB_ON_A_PAGE = {"peg-100-stearate": "18.8", "glyceryl-stearate": "3.8"}

ALL_HLB = [
    *HLB_BY_INCI.items(),
    *HLB_OF_BLENDS.items(),
    *HLB_ON_A_PAGE.items(),
]


@pytest.mark.parametrize(("name", "printed"), ALL_HLB)
def test_hlb_is_the_printed_one(name: str, printed: str) -> None:
    assert only(sheet_of(name).HLB) == Decimal(printed)


def test_no_sheet_names_a_table_that_does_not_print_its_figure() -> None:
    tables = {"cosmetics.alfa-chemistry.com": HLB_BY_INCI, "PMC3969497": HLB_OF_BLENDS}
    for name in starter_names():
        value = sheet_of(name).HLB
        for address, table in tables.items():
            if value is not None and address in (value.source or ""):
                assert name in table


# Griffin: HLB = 20 × mass of the ethylene oxide part / molar mass, en.wikipedia.org/wiki/
# Hydrophilic-lipophilic_balance; ethylene oxide and the fatty parts by molmass.
GRIFFIN = [
    ("steareth-2", "C18H38O", 2),
    ("steareth-20", "C18H38O", 20),
    ("ceteth-2", "C16H34O", 2),
    ("ceteth-10", "C16H34O", 10),
    ("oleth-20", "C18H36O", 20),
    ("peg-100-stearate", "C18H36O2", 100),
]


@pytest.mark.parametrize(("name", "fatty", "units"), GRIFFIN)
def test_hlb_of_ethoxylates_follows_griffin(name: str, fatty: str, units: int) -> None:
    from molmass import Formula

    oxide = units * Formula("C2H4O").mass
    computed = 20 * oxide / (oxide + Formula(fatty).mass)
    assert float(only(sheet_of(name).HLB)) == pytest.approx(computed, abs=0.06)


# Pharmacy textbook, Table 27.5, reproduced at questionai.com.tr/amp/questions-txTZ4SHqbb0A
TEXTBOOK = {
    "petrolatum": ("7", "8"),
    "mineral-oil": ("10.5", "10.5"),
    "light-mineral-oil": ("12", "12"),
    "castor-oil": ("14", "14"),
    "lanolin": ("12", "12"),
    "beeswax": ("9", "9"),
    "cottonseed-oil": ("6", "6"),
}
# OCL 2022, article ocl210096, Table 4,
# ocl-journal.org/articles/ocl/full_html/2022/01/ocl210096/T4.html
OCL = {
    "beeswax": ("12", "12"),
    "isopropyl-myristate": ("11.5", "11.5"),
    "stearic-acid": ("15", "15"),
}
# Worked example, es.scribd.com/document/672866704/Copia-de-Ejemplo-HLB
WORKED = {"mineral-oil": ("12", "12"), "lanolin": ("10", "10")}

PRINTED_REQUIRED = [(n, *p) for table in (TEXTBOOK, OCL, WORKED) for n, p in table.items()]


@pytest.mark.parametrize(("name", "low", "high"), PRINTED_REQUIRED)
def test_required_hlb_holds_every_printed_figure(name: str, low: str, high: str) -> None:
    least, most = bounds(sheet_of(name).required_HLB)
    assert least <= Decimal(low) <= Decimal(high) <= most


@pytest.mark.parametrize("name", sorted({name for name, _, _ in PRINTED_REQUIRED}))
def test_required_hlb_reaches_no_further_than_what_is_printed(name: str) -> None:
    printed = [Decimal(end) for n, *ends in PRINTED_REQUIRED if n == name for end in ends]
    assert bounds(sheet_of(name).required_HLB) == (min(printed), max(printed))


# Sunflower: Codex Alimentarius CXS 210-1999, 2022 amendment,
# scribd.com/document/696376798/Cxs-210e-Vegetable-Oils.
# Coconut: Codex values repeated at wap.21food.com/amp/products/coconut-oil-800352.html.
# Cottonseed: Codex CXS 210, Table 2, from memory.
CODEX = [
    ("sunflower-oil", "0.916", "0.923", "20 °C"),
    ("coconut-oil", "0.908", "0.921", "40 °C"),
    ("cottonseed-oil", "0.918", "0.926", "20 °C"),
]


@pytest.mark.parametrize(("name", "low", "high", "at"), CODEX)
def test_density_of_oils_is_that_of_the_codex(name: str, low: str, high: str, at: str) -> None:
    density = sheet_of(name).density
    assert bounds(density) == (Decimal(low), Decimal(high))
    assert density is not None
    assert str(density.at) == at


def test_density_of_water_is_that_of_the_international_formulation() -> None:
    # IAPWS-95 at 20 °C and 101 325 Pa: 998.2072 kg/m3 (iapws 1.5.5).
    density = sheet_of("water").density
    assert float(only(density)) == pytest.approx(0.9982072, abs=5e-6)
    assert density is not None
    assert str(density.at) == "20 °C"


# Benzoic: J Res NBS 71A:379 (1967), Table 1, pmc.ncbi.nlm.nih.gov/articles/PMC6624721/table/T1,
# 4.210 ± 0.002. Sorbic: 4.76, liquisearch.com/sorbic_acid/properties_and_uses. Lactic: 3.86,
# www.aqion.de/sd/178?page=3. The others: electrolyte library ionize 1.5.3, 25 °C.
PKA = [
    ("benzoic-acid", "4.21"),
    ("sodium-benzoate", "4.21"),
    ("sorbic-acid", "4.76"),
    ("potassium-sorbate", "4.76"),
    ("lactic-acid", "3.86"),
    ("lactic-acid-80-percent", "3.86"),
    ("sodium-lactate-60-percent", "3.86"),
    ("salicylic-acid", "3.107"),
    ("levulinic-acid", "4.602"),
    ("citric-acid", "3.128"),
    ("citric-acid-monohydrate", "3.128"),
    ("citric-acid-20-percent", "3.128"),
]


@pytest.mark.parametrize(("name", "printed"), PKA)
def test_pka_is_the_printed_one(name: str, printed: str) -> None:
    assert only(sheet_of(name).pKa) == Decimal(printed)


# molmass 2026.1.8
MOLAR_MASSES = {
    "water": "18.0153",
    "sodium-chloride": "58.4427",
    "magnesium-sulfate-anhydrous": "120.3675",
    "magnesium-sulfate-heptahydrate": "246.4745",
    "calcium-chloride-dihydrate": "147.0144",
    "magnesium-chloride-hexahydrate": "203.3026",
    "citric-acid": "192.1238",
    "citric-acid-monohydrate": "210.1391",
    "sodium-benzoate": "144.1035",
    "benzoic-acid": "122.1216",
    "sodium-dehydroacetate": "190.1289",
    "dehydroacetic-acid": "168.1471",
}


@pytest.mark.parametrize(("name", "mass"), MOLAR_MASSES.items())
def test_molar_masses(name: str, mass: str) -> None:
    assert abs(only(sheet_of(name).molar_mass) - Decimal(mass)) <= Decimal("0.01")


def test_the_hydrate_is_about_half_water() -> None:
    # MgSO4 in MgSO4·7H2O: 0.48836 by weight (molmass 2026.1.8).
    water = only(sheet_of("magnesium-sulfate-heptahydrate").water_content)
    assert float(water) == pytest.approx(100 * (1 - 0.48836), abs=0.01)


# Melting ranges: rice bran wax 21 CFR 172.890; candelilla wax en.wikipedia.org/wiki/Candelilla_wax;
# carnauba wax, Merck Index entry reproduced at data.cas-msds.com/Carnauba%20Wax.html.
MELTING = [
    ("rice-bran-wax", "75", "80"),
    ("candelilla-wax", "68.5", "72.5"),
    ("carnauba-wax", "82", "85.5"),
]


@pytest.mark.parametrize(("name", "low", "high"), MELTING)
def test_melting_range_of_waxes(name: str, low: str, high: str) -> None:
    assert bounds(sheet_of(name).melting_point) == (Decimal(low), Decimal(high))


# Densities at 20 °C by percent by weight, engineeringtoolbox.com (aqueous solutions of organic
# acids, of inorganic sodium salts).
SOLUTIONS = {
    "citric-acid-20-percent": "1.0858",
    "lactic-acid-80-percent": "1.1848",
    "sodium-hydroxide-10-percent": "1.1089",
}


@pytest.mark.parametrize(("name", "printed"), SOLUTIONS.items())
def test_density_of_solutions(name: str, printed: str) -> None:
    assert only(sheet_of(name).density) == Decimal(printed)
