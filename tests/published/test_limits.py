"""Limits of law against the texts, and conversions to the acid against printed figures.

The source stands beside each figure. The register copy is that of the Commission's ingredient
database: Regulation (EC) No 1223/2009, Annex V, latest date in it 2015-08-10, in the public
repository inhouse-work/cosing, data/annex.V.csv (commit 18f6642c). The consolidated text is
legislation.gov.uk/eur/2009/1223/annex/V/2017-09-03/data.html. What the law says today is another
question, which these tests don't answer.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from labbook.model.formula import Formula, Line, Phase
from labbook.model.rulebook import RuleBook, rulebook_of
from labbook.model.rules import Rules
from labbook.model.sheets import Sheets
from labbook.notebook.snapshot import read_bytes
from labbook.rules.trade import rule_texts
from labbook.trade.advice import Advice
from labbook.trade.checks.case import Case
from labbook.trade.checks.counted import FORMULAS, factor, mass_of_formula
from labbook.trade.checks.limits import limits
from labbook.trade.composition import resolve
from tests.trade.making import PIN

molmass: Any = importlib.import_module("molmass")  # it ships no types

READ = (read_bytes(f"rules/{name}", text.encode()).record for name, text in rule_texts().items())
RULES: RuleBook = rulebook_of(one for one in READ if isinstance(one, Rules))
STEP = Decimal("0.000001")

# Figures of the texts ----------------------------------------------------------------------------

REGISTER, TEXT_2017 = "register copy of 2015", "consolidated text as of 2017-09-03"
AS_SUPPLIED = [
    ("11", "chlorobutanol", "leave-on", "0.5", REGISTER),
    ("15", "dibromohexamidine-isethionate", "leave-on", "0.1", REGISTER),
    ("19", "hexetidine", "leave-on", "0.1", REGISTER),
    ("21", "bronopol", "leave-on", "0.1", REGISTER),
    ("22", "dichlorobenzyl-alcohol", "leave-on", "0.15", REGISTER),
    ("24", "chlorocresol", "leave-on", "0.2", REGISTER),
    ("26", "chloroxylenol", "leave-on", "0.5", REGISTER),
    ("27", "imidazolidinyl-urea", "leave-on", "0.6", REGISTER),
    ("29", "phenoxyethanol", "leave-on", "1.0", REGISTER),
    ("30", "methenamine", "leave-on", "0.15", REGISTER),
    ("32", "climbazole", "leave-on", "0.2", "ECHA list of Annex V as of 2024"),
    ("32", "climbazole", "rinse-off", "0.5", "ECHA list of Annex V as of 2024"),
    ("33", "dmdm-hydantoin", "leave-on", "0.6", REGISTER),
    ("34", "benzyl-alcohol", "leave-on", "1.0", REGISTER),
    ("35", "piroctone-olamine", "leave-on", "0.5", REGISTER),
    ("35", "piroctone-olamine", "rinse-off", "1.0", REGISTER),
    ("37", "bromochlorophene", "leave-on", "0.1", REGISTER),
    ("38", "o-cymen-5-ol", "leave-on", "0.1", REGISTER),
    ("39", "methylchloroisothiazolinone-methylisothiazolinone", "rinse-off", "0.0015", REGISTER),
    ("43", "phenoxyisopropanol", "rinse-off", "1.0", REGISTER),
    ("45", "dimethyl-oxazolidine", "leave-on", "0.1", REGISTER),
    ("46", "diazolidinyl-urea", "leave-on", "0.5", REGISTER),
    ("47", "hexamidine", "leave-on", "0.1", REGISTER),
    ("50", "chlorphenesin", "leave-on", "0.3", REGISTER),
    ("51", "sodium-hydroxymethylglycinate", "leave-on", "0.5", REGISTER),
    ("53", "benzethonium-chloride", "leave-on", "0.1", REGISTER),
    ("54", "benzalkonium-chloride", "leave-on", "0.1", REGISTER),
    ("56", "iodopropynyl-butylcarbamate", "leave-on", "0.01", REGISTER),
    ("58", "ethyl-lauroyl-arginate-hcl", "leave-on", "0.4", REGISTER),
    ("59", "citric-acid-and-silver-citrate", "leave-on", "0.2", REGISTER),
]
AS_ACID = [
    ("1", "benzoic-acid", "leave-on", "0.5", TEXT_2017),
    ("1", "benzoic-acid", "rinse-off", "2.5", TEXT_2017),
    ("2", "propionic-acid", "leave-on", "2", REGISTER),
    ("3", "salicylic-acid", "leave-on", "0.5", REGISTER),
    ("4", "sorbic-acid", "leave-on", "0.6", REGISTER),
    ("13", "dehydroacetic-acid", "leave-on", "0.6", REGISTER),
    ("14", "formic-acid", "leave-on", "0.5", REGISTER),
    ("18", "undecylenic-acid", "leave-on", "0.2", REGISTER),
]


def flagged(
    amounts: Mapping[str, Decimal | str], use: str | None = "leave-on", rules: RuleBook = RULES
) -> list[str]:
    """The rules that speak of a formula of these percents."""
    lines = tuple(Line(ingredient=n, percent=Decimal(p)) for n, p in amounts.items())
    formula = Formula(
        code="SBC", title="Cream", id=PIN.id, emulsion="oil-in-water", use=use,
        phases=(Phase(phase="A", lines=lines),),
    )  # fmt: skip
    sheets = Sheets()
    case = Case(
        formula=formula, composition=resolve(formula, sheets), sheets=sheets, rules=rules,
        region="EU", today=date(2026, 4, 16),
    )  # fmt: skip
    return [one.rule for one in limits(case) if isinstance(one, Advice)]


@pytest.mark.parametrize(("entry", "name", "use", "most", "source"), AS_SUPPLIED + AS_ACID)
def test_a_limit_of_annex_five_allows_its_figure_and_nothing_above(
    entry: str, name: str, use: str, most: str, source: str
) -> None:
    assert flagged({name: most}, use) == [], (entry, source)
    above = flagged({name: Decimal(most) + STEP}, use)
    assert len(above) == 1, (entry, source)
    row = RULES.limits[above[0]]
    assert f"entry {entry}" in row.text
    assert flagged({name: Decimal(most) - STEP}, use) == []


# As the acid: the highest percent of the salt or ester that the text allows ----------------------

SALTS = [
    # molmass 2026.1.8 for the masses, the limit of the register copy (Annex V entry in brackets)
    ("sodium-benzoate", "leave-on", "0.590"),  # 0.5 % benzoic acid [1], M 144.1035 / 122.1216
    ("sodium-benzoate", "rinse-off", "2.950"),  # 2.5 % benzoic acid [1]
    ("sodium-dehydroacetate", "leave-on", "0.678"),  # 0.6 % [13], M 190.1289 / 168.1471
    ("sodium-dehydroacetate-monohydrate", "leave-on", "0.743"),  # 0.6 % [13], with its water
    ("methylparaben", "leave-on", "0.441"),  # 0.4 % p-hydroxybenzoic acid [12]
    ("propylparaben", "leave-on", "0.183"),  # 0.14 % p-hydroxybenzoic acid [12a]
    # "0.80 % potassium sorbate is legal, 0.81 % is not" (0.6 % sorbic acid [4]): the same masses,
    # 150.217 / 112.128, give 0.804
    ("potassium-sorbate", "leave-on", "0.804"),
]
HALF = Decimal("0.0006")
"""Half of the last digit that is printed, and a little for the rounding of atomic weights."""


@pytest.mark.parametrize(("salt", "use", "most"), SALTS)
def test_a_salt_counts_as_its_acid(salt: str, use: str, most: str) -> None:
    assert flagged({salt: Decimal(most) - HALF}, use) == []
    assert len(flagged({salt: Decimal(most) + HALF}, use)) == 1


def test_potassium_sorbate_at_080_is_within_and_at_081_is_not() -> None:
    # the same example in words: 0.6 % as acid, Annex V entry 4, register copy of 2015
    assert flagged({"potassium-sorbate": "0.80"}) == []
    assert flagged({"potassium-sorbate": "0.81"}) == ["eu-sorbic-acid"]


@pytest.mark.parametrize(
    ("shift", "value"), [(Decimal("1.002"), "sodium-benzoate"), (Decimal("0.998"), "propylparaben")]
)
def test_a_factor_two_in_a_thousand_off_is_caught(shift: Decimal, value: str) -> None:
    """The tolerance above is tight enough: a shifted limit fails the printed figure."""
    salt, use, most = next(one for one in SALTS if one[0] == value)
    edge = Decimal(most) * shift
    inside = flagged({salt: edge}, use) == []
    assert inside is (shift < 1)


def test_a_factor_is_the_ratio_of_the_molar_masses_that_a_library_gives() -> None:
    # molmass: general-purpose, atomic weights by IUPAC
    for name, acid in (
        ("sodium-benzoate", "benzoic-acid"), ("potassium-sorbate", "sorbic-acid"),
        ("methylparaben", "p-hydroxybenzoic-acid"), ("sodium-propionate", "propionic-acid"),
        ("sodium-salicylate", "salicylic-acid"), ("sodium-undecylenate", "undecylenic-acid"),
    ):  # fmt: skip
        ratio = molmass.Formula(FORMULAS[acid]).mass / molmass.Formula(FORMULAS[name]).mass
        own = factor(name, acid, Sheets())
        assert own is not None
        assert float(own) == pytest.approx(ratio, rel=5e-5)
    twice = factor("calcium-sorbate", "sorbic-acid", Sheets())
    salt = molmass.Formula(FORMULAS["calcium-sorbate"]).mass
    assert twice is not None
    assert float(twice) == pytest.approx(2 * molmass.Formula("C6H8O2").mass / salt, rel=5e-5)


@pytest.mark.parametrize("name", FORMULAS)
def test_each_molar_mass_is_that_of_the_library(name: str) -> None:
    # within 1 in 10,000: for sulphur the abridged atomic weight, 32.06, is the library's 32.065
    formula = FORMULAS[name]
    mine = float(mass_of_formula(formula))
    assert mine == pytest.approx(molmass.Formula(formula).mass, rel=1e-4)
    assert mine * 1.001 != pytest.approx(molmass.Formula(formula).mass, rel=1e-4)


# Sums --------------------------------------------------------------------------------------------


def test_parabens_count_together() -> None:
    # Annex V entries 12 and 12a, register copy of 2015: 0.8 % as acid for mixtures, of which propyl
    # and butyl 0.14 % together. Masses by molmass: 0.40 methyl is 0.363, 0.44 ethyl 0.366.
    alone = {"methylparaben": "0.44", "propylparaben": "0.18"}
    assert flagged(alone) == []  # 0.3994 and 0.1380: 0.5374 together
    two = {"propylparaben": "0.10", "butylparaben": "0.09"}
    assert flagged(two) == ["eu-propyl-and-butylparaben"]  # 0.0766 + 0.0640 = 0.1406
    assert flagged({"propylparaben": "0.10", "butylparaben": "0.089"}) == []  # 0.1399
    three = {"methylparaben": "0.44", "ethylparaben": "0.48", "propylparaben": "0.01"}
    assert flagged(three) == ["eu-parabens-together"]  # 0.3994 + 0.3989 + 0.0077 = 0.8060
    assert flagged(three | {"ethylparaben": "0.47"}) == []  # 0.7977


def test_an_acid_and_its_salt_count_together() -> None:
    # 0.3 % benzoic acid leaves 0.2 % for the salt: 0.236 % sodium benzoate (0.590 * 0.2 / 0.5)
    assert flagged({"benzoic-acid": "0.3", "sodium-benzoate": "0.2355"}) == []
    assert flagged({"benzoic-acid": "0.3", "sodium-benzoate": "0.2365"}) == [
        "eu-benzoic-acid-leave-on"
    ]


# What is known to have changed -------------------------------------------------------------------

CHANGED = {
    # amending regulations from memory: 2017/1224, 2019/831, 2019/1966, 2021/1902
    "methylisothiazolinone": "2017/1224", "formaldehyde": "2019/831", "quaternium-15": "2019/831",
    "chloroacetamide": "2019/831", "zinc-pyrithione": "2021/1902", "o-phenylphenol": "2019/1966",
    "polyaminopropyl-biguanide": "2019/1966",
}  # fmt: skip


@pytest.mark.parametrize("name", CHANGED)
def test_a_row_that_has_changed_is_compared_with_nothing(name: str) -> None:
    for percent in ("0.0001", "50"):
        rules = flagged({name: percent})
        assert len(rules) == 1
        assert CHANGED[name] in (RULES.limits[rules[0]].changed or "")


def test_the_old_figures_of_changed_entries_are_not_shipped() -> None:
    # the register copy of 2015 said 0.01 % methylisothiazolinone, 0.2 % formaldehyde, 0.3 % PHMB,
    # 0.2 % o-phenylphenol, 0.2 % quaternium-15, 0.3 % chloroacetamide, 0.5 % zinc pyrithione
    old = {
        "eu-methylisothiazolinone": "0.01", "eu-formaldehyde": "0.2",
        "eu-polyaminopropyl-biguanide": "0.3", "eu-o-phenylphenol": "0.2",
        "eu-quaternium-15": "0.2", "eu-chloroacetamide": "0.3", "eu-zinc-pyrithione": "0.5",
    }  # fmt: skip
    assert all(RULES.limits[name].highest != Decimal(figure) for name, figure in old.items())


def test_what_is_for_rinse_off_only_is_not_allowed_in_what_stays_on() -> None:
    # Annex V entries 39 and 43, register copy of 2015
    assert flagged({"phenoxyisopropanol": "0.01"}, "leave-on") == ["eu-phenoxyisopropanol-leave-on"]
    assert flagged({"phenoxyisopropanol": "0.01"}, "rinse-off") == []
    mixture = {"methylchloroisothiazolinone-methylisothiazolinone": "0.001"}
    assert flagged(mixture, None) == ["eu-mci-mi-leave-on"]


def test_each_row_names_its_text_and_the_day_it_was_read() -> None:
    for row in RULES.limits.values():
        assert "1223/2009" in row.text
        assert row.source
        assert str(row.read) >= "2015-08-10"
        assert row.region in ("EU", "UK")


@pytest.mark.parametrize(("entry", "name", "use", "most", "source"), AS_SUPPLIED + AS_ACID)
def test_a_limit_shifted_by_a_hundredth_would_be_caught(
    entry: str, name: str, use: str, most: str, source: str
) -> None:
    """The mutation: with the row a hundredth too high, the figure just above passes unseen."""
    rows = {n: replace(r, highest=r.highest * Decimal("1.01")) for n, r in RULES.limits.items()}
    above = {name: Decimal(most) + STEP}
    assert flagged(above, use)
    assert flagged(above, use, replace(RULES, limits=rows)) == [], (entry, source)
