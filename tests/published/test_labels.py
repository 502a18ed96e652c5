"""Labels against the texts that rule them.

Sources: [Art 19] Regulation (EC) No 1223/2009, Article 19(1)(g), legislation.gov.uk/eur/2009/1223/
article/19, as quoted in public text: descending weight at the time of addition, below 1 % in any
order (that those stand after the others: from memory). [701.3] 21 CFR 701.3(a), descending order of
predominance, fragrance by that word: cosmeticsinfo.org/glossary/letter_2; (f), 1 % or less and
colour additives without respect to order after the others: as summed up at arrsys.com/?p=28566.
[1545] Regulation (EU) 2023/1545: a fragrance allergen is named above 0.001 % in leave-on and 0.01 %
in rinse-off products:
oxfordbiosciences.com/cosmetics-europe-adds-56-additional-fragrance-allergens/.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from labbook.model.materials import Ingredient, Part
from labbook.model.results.label import LabelDraft
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.label import ORDERS, draft_label
from tests.trade.making import formula, line

NAMES = {"EU": "Aqua", "US": "Water"}
FRAGRANCE = {"EU": "Parfum", "US": "Fragrance"}


def sheet(name: str, inci: str | None = None, **more: Any) -> Ingredient:
    return Ingredient(id=name, inci=inci, **more)


SHEETS = Sheets({
    "water": sheet("water", "Aqua", label_names=NAMES, allergens_complete=True),
    "oil": sheet("oil", "Helianthus Annuus Seed Oil", allergens_complete=True),
    "butter": sheet("butter", "Butyrospermum Parkii Butter", allergens_complete=True),
    "wax": sheet("wax", "Cera Alba", allergens_complete=True),
    "fragrance": sheet(
        "fragrance", "Parfum", label_names=FRAGRANCE, functions=("fragrance",),
        allergens=(Part(ingredient="linalool", percent=Decimal(1)),), allergens_complete=True,
    ),
})  # fmt: skip


def drafted(region: str, use: str = "leave-on", **percents: str) -> LabelDraft:
    lines = [line("water", "qs"), *(line(name, text) for name, text in percents.items())]
    composition = resolve(formula(A=lines), SHEETS)
    return draft_label(composition, SHEETS, region=region, use=use)


def free(draft: LabelDraft) -> list[str]:
    return [entry.name for entry in draft.entries if entry.any_order]


# At exactly 1.000 % an ingredient is ordered under "less than 1 %" and free under "1 % or less"; a
# ten-thousandth further on either side both texts agree.
BOUNDARY = [
    ("EU", "0.9999", True),  # [Art 19]
    ("EU", "1.000", False),  # [Art 19]
    ("EU", "1.0001", False),  # [Art 19]
    ("UK", "0.9999", True),  # [Art 19], the copy kept in UK law
    ("UK", "1.000", False),  # [Art 19], the same
    ("UK", "1.0001", False),  # [Art 19], the same
    ("US", "0.9999", True),  # [701.3](f)
    ("US", "1.000", True),  # [701.3](f)
    ("US", "1.0001", False),  # [701.3](f)
]


@pytest.mark.parametrize(("region", "percent", "any_order"), BOUNDARY)
def test_where_order_starts_to_be_free(region: str, percent: str, any_order: bool) -> None:
    draft = drafted(region, wax=percent)
    assert free(draft) == (["Cera Alba"] if any_order else [])
    assert draft.threshold == 1


# [1545], at the threshold, and a hundred-thousandth of the product beyond it: 1 % linalool in the
# fragrance, so 0.1 % fragrance is 0.001 % linalool.
ALLERGENS = [
    ("leave-on", "0.1", False),
    ("leave-on", "0.1001", True),
    ("leave-on", "0.0999", False),
    ("rinse-off", "1", False),
    ("rinse-off", "1.001", True),
    ("rinse-off", "0.999", False),
]


@pytest.mark.parametrize(("use", "percent", "named"), ALLERGENS)
def test_from_where_an_allergen_is_named(use: str, percent: str, named: bool) -> None:
    draft = drafted("EU", use, fragrance=percent)
    (allergen,) = draft.allergens
    assert allergen.over is named
    assert ("Linalool" in draft.text) is named
    assert draft.allergen_threshold == Fraction("0.001" if use == "leave-on" else "0.01")


def test_the_threshold_is_not_carried_to_where_it_is_no_law() -> None:
    draft = drafted("US", fragrance="1")
    assert draft.allergens[0].over is True  # told, by the EU's threshold
    assert "Linalool" not in draft.text  # [701.3](a): fragrance by that word


def test_a_product_of_unknown_use_counts_as_left_on() -> None:
    draft = drafted("EU", "", fragrance="0.1001")
    assert draft.use_assumed
    assert draft.allergens[0].over is True  # [1545], the stricter of the two


def test_descending_weight_with_the_names_of_the_region() -> None:
    percents = {"oil": "12", "butter": "20", "wax": "5", "fragrance": "0.5"}
    eu = drafted("EU", **percents)
    # [Art 19]: descending weight; the name of water by the common names in use there (from memory).
    assert eu.text.startswith("Aqua, Butyrospermum Parkii Butter, Helianthus Annuus Seed Oil, Cera")
    assert "Parfum" in eu.text
    us = drafted("US", **percents)
    assert us.text.startswith("Water, ")
    assert "Fragrance" in us.text  # [701.3](a): fragrance by that word
    assert "Parfum" not in us.text


def test_the_example_of_a_guide_to_the_order() -> None:
    # flavor365.com/how-to-list-ingredients-on-a-cosmetic-label-explained: 30, 20 and 15 parts stand
    # in this order, water first; here as percents of the three.
    draft = drafted("US", butter="30.77", oil="23.08")
    assert [entry.ingredients for entry in draft.entries] == [("water",), ("butter",), ("oil",)]


def test_weight_at_the_time_of_addition_puts_the_larger_first_by_any_difference() -> None:
    assert drafted("EU", oil="10.01", butter="10").text.index("Helianthus") < drafted(
        "EU", oil="10.01", butter="10"
    ).text.index("Butyrospermum")
    turned = drafted("EU", oil="10", butter="10.01").text
    assert turned.index("Butyrospermum") < turned.index("Helianthus")


def test_what_is_free_stands_after_what_is_ordered() -> None:
    for region in ORDERS:
        draft = drafted(region, oil="10", butter="1.5", wax="0.9", fragrance="0.2")
        marks = [entry.any_order for entry in draft.entries]
        assert marks == sorted(marks)  # [Art 19], from memory, and [701.3](f)


def test_equal_weights_are_told_only_where_order_counts() -> None:
    assert drafted("EU", oil="10", butter="10").ties == (
        ("Butyrospermum Parkii Butter", "Helianthus Annuus Seed Oil"),
    )
    assert drafted("EU", oil="0.5", butter="0.5").ties == ()
