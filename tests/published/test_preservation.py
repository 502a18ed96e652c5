"""Preservation by acids against printed figures, the source beside each.

"From memory" means that nobody has looked the figure up for this test.
"""

from fractions import Fraction

import pytest
from molmass import Formula

from labbook.trade.acids import MOLAR_MASSES, as_acid
from labbook.trade.preservation import free_share
from tests.published.agreement import holds
from tests.published.test_starter_values import only, sheet_of

HENDERSON = "Henderson-Hasselbalch equation"
NBS = "J Res NBS 71A:379 (1967) Table 1, pmc.ncbi.nlm.nih.gov/articles/PMC6624721/table/T1"
IONIZE = "electrolyte library ionize 1.5.3, reference pKa at 25 °C"
ANNEX_V = (
    "EU 1223/2009 Annex V, Commission register copy of 2015-08-10, "
    "GitHub inhouse-work/cosing data/annex.V.csv (commit 18f6642c); masses by molmass 2026.1.8"
)

# The free share -----------------------------------------------------------------------------------

PH = ("3", "4", "5", "6", "7")
SHARES = {
    "4.20": ("94.06", "61.31", "13.68", "1.560", "0.158"),  # benzoic
    "4.76": ("98.29", "85.19", "36.53", "5.441", "0.572"),  # sorbic
    "5.27": ("99.47", "94.90", "65.06", "15.70", "1.828"),  # dehydroacetic, pKa from memory
}
ROWS = [(pKa, pH, one) for pKa, row in SHARES.items() for pH, one in zip(PH, row, strict=True)]


@pytest.mark.parametrize(("pKa", "pH", "percent"), ROWS)
def test_free_share(pKa: str, pH: str, percent: str) -> None:
    holds(100 * free_share(Fraction(pKa), Fraction(pH)), percent, source=HENDERSON)


FOOD_TABLES = {
    # Tables of food microbiology, all from memory: they round, and go by other pKa in places, so
    # that a tenth of each figure is left open.
    "4.20": ("94", "60", "13", "1.5", "0.15"),
    "4.76": ("98", "86", "37", "6.0", "0.6"),
}


@pytest.mark.parametrize("pKa", FOOD_TABLES)
def test_free_share_as_tables_of_food_print_it(pKa: str) -> None:
    for pH, printed in zip(PH, FOOD_TABLES[pKa], strict=True):
        found = 100 * free_share(Fraction(pKa), Fraction(pH))
        holds(
            found, printed, source="from memory", within=0.1 * float(printed), wide="rounded tables"
        )


def test_at_its_pka_half_of_an_acid_is_free() -> None:
    assert free_share(Fraction("4.2"), Fraction("4.2")) == 0.5, HENDERSON


def test_what_the_choice_of_pka_does() -> None:
    # Benzoic acid at pH 5.0: 13.95 % with the measured 4.21, 13.68 % with the usual 4.20.
    holds(100 * free_share(Fraction("4.21"), Fraction(5)), "13.95", source=NBS)
    holds(100 * free_share(Fraction("4.20"), Fraction(5)), "13.68", source=HENDERSON)


PKA = [
    ("benzoic-acid", "4.210", 0.002, NBS),
    ("benzoic-acid", "4.203", 0.01, IONIZE),
    ("sorbic-acid", "4.77", 0.01, IONIZE),
    ("sorbic-acid", "4.76", 0.005, "liquisearch.com/sorbic_acid/properties_and_uses"),
    ("lactic-acid", "3.86", 0.005, IONIZE),
    ("lactic-acid", "3.86", 0.005, "aqion organic-acid table, www.aqion.de/sd/178?page=3"),
    ("salicylic-acid", "3.107", 0.0005, IONIZE),
    ("levulinic-acid", "4.602", 0.0005, IONIZE),
    ("citric-acid", "3.128", 0.0005, IONIZE),
]


@pytest.mark.parametrize(("name", "printed", "within", "source"), PKA)
def test_pka_of_the_sheets(name: str, printed: str, within: float, source: str) -> None:
    holds(only(sheet_of(name).pKa), printed, source=source, within=within)


# A limit as acid, and the salt or ester that it allows --------------------------------------------

BENZOATE, BENZOIC = "C7H5NaO2", "C7H6O2"
DEHYDROACETATE, DEHYDROACETIC = "C8H7NaO4", "C8H8O4"
HYDROXYBENZOIC = "C7H6O3"
LIMITS = [
    ("sodium benzoate", "0.5", BENZOATE, BENZOIC, "0.590"),
    ("sodium benzoate, rinse-off", "2.5", BENZOATE, BENZOIC, "2.950"),
    ("sodium dehydroacetate", "0.6", DEHYDROACETATE, DEHYDROACETIC, "0.678"),
    ("its monohydrate", "0.6", "C8H7NaO4H2O", DEHYDROACETIC, "0.743"),
    ("methylparaben", "0.4", "C8H8O3", HYDROXYBENZOIC, "0.441"),
    ("propylparaben", "0.14", "C10H12O3", HYDROXYBENZOIC, "0.183"),
    ("potassium sorbate, which 0.80 % meets", "0.6", "C6H7KO2", "C6H8O2", "0.804"),
]


@pytest.mark.parametrize(("name", "limit", "salt", "acid", "printed"), LIMITS)
def test_what_a_limit_as_acid_allows(
    name: str, limit: str, salt: str, acid: str, printed: str
) -> None:
    own, of_acid = (Fraction(Formula(one).mass) for one in (salt, acid))
    allowed = Fraction(limit) / as_acid(Fraction(1), own, of_acid)
    holds(allowed, printed, source=f"{name}: {ANNEX_V}")
    assert as_acid(allowed, own, of_acid) == Fraction(limit)


FORMULAS = {
    "anisic": "C8H8O3", "benzoic": "C7H6O2", "dehydroacetic": "C8H8O4", "formic": "CH2O2",
    "lactic": "C3H6O3", "levulinic": "C5H8O3", "propionic": "C3H6O2", "salicylic": "C7H6O3",
    "sorbic": "C6H8O2", "undecylenic": "C11H20O2",
}  # fmt: skip


@pytest.mark.parametrize("acid", MOLAR_MASSES)
def test_molar_masses_of_acids(acid: str) -> None:
    mass = Formula(FORMULAS[acid]).mass
    holds(
        MOLAR_MASSES[acid], f"{mass:.6f}", source="molmass 2026.1.8, average masses", within=0.001
    )
