"""Label drafts: what is merged, what is taken apart, and what is never left out."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from labbook.model.formula import Line
from labbook.model.materials import Ingredient, Part, Value
from labbook.model.results.label import LabelDraft
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.label import REGIONS, draft_label
from tests.trade.making import formula, line


def sheet(name: str, inci: str | None = None, **more: Any) -> Ingredient:
    return Ingredient(id=name, inci=inci, **more)


def part(name: str, percent: str | None = None) -> Part:
    return Part(ingredient=name, percent=None if percent is None else Decimal(percent))


MOLAR = Value(value=Decimal("246.47"), unit="g/mol")
SHEETS = Sheets({
    one.id: one
    for one in (
        sheet("water", "Aqua", functions=("water",)),
        sheet("hydrosol", "Lavandula Angustifolia Flower Water", functions=("extract",)),
        sheet("oil", "Helianthus Annuus Seed Oil", allergens_complete=True),
        sheet("acid", "Citric Acid"),
        sheet("acid-solution", "Citric Acid, Aqua",
              contains=(part("acid", "20"), part("water", "80"))),
        sheet("salt", "Magnesium Sulfate", molar_mass=Value(value=Decimal("120.37"))),
        sheet("salt-hydrate", "Magnesium Sulfate", molar_mass=MOLAR,
              contains=(part("salt", "48.84"), part("water", "51.16"))),
        sheet("paste", "Titanium Dioxide, Oil", contains=(part("white", "40"),)),
        sheet("white", "CI 77891", functions=("pigment",)),
        sheet("scent", "Parfum", functions=("fragrance",),
              allergens=(part("linalool", "5"), part("geraniol"))),
        sheet("lavender", "Lavandula Angustifolia Oil", functions=("fragrance",),
              allergens=(part("linalool", "30"),), allergens_complete=True),
        sheet("linalool", "Linalool"),
        sheet("alcohol", "Benzyl Alcohol", allergens=(part("alcohol", "100"),),
              allergens_complete=True),
    )
})  # fmt: skip


def drafted(*lines: Line, region: str = "EU", use: str = "leave-on") -> LabelDraft:
    composition = resolve(formula(A=list(lines)), SHEETS)
    return draft_label(composition, SHEETS, region=region, use=use)


def amounts(draft: LabelDraft) -> dict[str, str]:
    return {
        entry.name: "unknown" if entry.percent is None else f"{float(entry.percent):g}"
        for entry in draft.entries
    }


def test_one_name_from_several_lines_is_one_with_their_sum() -> None:
    draft = drafted(line("water", "qs"), line("acid-solution", "10"), line("acid", "1"))
    assert amounts(draft) == {"Aqua": "97", "Citric Acid": "3"}
    assert draft.entries[0].ingredients == ("water",)


def test_a_hydrate_stands_whole_under_its_name() -> None:
    draft = drafted(line("water", "qs"), line("salt-hydrate", "4"), line("salt", "1"))
    assert amounts(draft) == {"Aqua": "95", "Magnesium Sulfate": "5"}


def test_what_a_blend_leaves_open_stays_in_the_list() -> None:
    draft = drafted(line("oil", "qs"), line("paste", "10"))
    assert amounts(draft) == {
        "Helianthus Annuus Seed Oil": "90", "rest of paste": "6", "CI 77891": "4",
    }  # fmt: skip
    assert "[rest of paste]" in draft.text
    assert "60 % of paste" in draft.gaps[0]


def test_a_name_that_nobody_gave_stands_in_brackets() -> None:
    draft = drafted(line("water", "qs"), line("honey", "2"))
    assert draft.text == "Aqua, [honey]"
    assert not draft.entries[1].named
    assert draft.unknown_first == ("honey",)


def test_a_colourant_is_marked() -> None:
    draft = drafted(line("oil", "qs"), line("white", "3"))
    assert [entry.name for entry in draft.entries if entry.colourant] == ["CI 77891"]


def test_a_line_without_percent_is_last_and_said() -> None:
    draft = drafted(line("oil", "50"), line("honey"), line("water", "50"))
    assert draft.entries[-1].percent is None
    assert "honey has no percent" in draft.findings


def test_allergens_of_several_sources_add_up() -> None:
    draft = drafted(line("oil", "qs"), line("scent", "0.01"), line("lavender", "0.002"))
    linalool = next(one for one in draft.allergens if one.name == "Linalool")
    assert linalool.percent == Fraction("0.0011")
    assert linalool.over is True
    assert linalool.ingredients == ("scent", "lavender")
    assert any(entry.name == "Linalool" and entry.allergen for entry in draft.entries)


def test_an_allergen_of_unknown_amount_is_neither_named_nor_left_out() -> None:
    draft = drafted(line("oil", "qs"), line("scent", "0.01"))
    geraniol = next(one for one in draft.allergens if one.name == "Geraniol")
    assert (geraniol.percent, geraniol.over) == (None, None)
    assert "Geraniol" not in draft.text


def test_an_unknown_part_does_not_hide_that_the_known_is_too_much() -> None:
    sheets = Sheets(
        {**SHEETS.by_file, "mix": sheet("mix", "Parfum", allergens=(part("linalool"),))}
    )
    lines = [line("oil", "qs"), line("lavender", "1"), line("mix", "1")]
    draft = draft_label(resolve(formula(A=lines), sheets), sheets, region="EU")
    (linalool,) = draft.allergens
    assert (linalool.percent, linalool.over) == (None, True)


def test_an_ingredient_that_is_itself_an_allergen_is_counted_once() -> None:
    draft = drafted(line("oil", "qs"), line("alcohol", "0.8"))
    assert amounts(draft)["Benzyl Alcohol"] == "0.8"
    assert [entry.name for entry in draft.entries].count("Benzyl Alcohol") == 1
    own = drafted(line("oil", "qs"), line("linalool", "0.0005"), line("lavender", "0.002"))
    assert [one.percent for one in own.allergens] == [Fraction("0.0011")]


def test_a_blend_keeps_the_list_of_allergens_that_its_own_sheet_has() -> None:
    """Its components' sheets may know of none, or of the same ones once more."""
    scent = sheet(
        "scent", "Scent", contains=(part("carrier", "90"), part("rose", "10")),
        allergens=(part("linalool", "2"),), functions=("fragrance",),
    )  # fmt: skip
    rose = sheet("rose", "Rosa", allergens=(part("linalool", "20"),))
    found = {one.id: one for one in (scent, rose, sheet("carrier", "Carrier"))}
    for complete in (None, True):
        sheets = Sheets({**found, "scent": replace(scent, allergens_complete=complete)})
        composition = resolve(formula(A=[line("scent", "5")]), sheets)
        draft = draft_label(composition, sheets, region="EU", use="leave-on")
        assert [(one.name, one.percent) for one in draft.allergens] == [
            ("Linalool", Fraction(1, 10))
        ]
        assert draft.text == "Carrier, Rosa, Linalool"
        assert draft.unknown_first == (() if complete else ("scent",))
        assert draft.unknown_other == ()


def test_sheets_that_do_not_say_that_their_list_is_whole_are_unknown() -> None:
    draft = drafted(
        line("water", "qs"), line("oil", "5"), line("scent", "0.1"), line("hydrosol", "3"),
        line("lavender", "0.1"),
    )  # fmt: skip
    assert draft.unknown_first == ("scent", "hydrosol")
    assert draft.unknown_other == ("water",)


# Laws ---------------------------------------------------------------------------------------------

NAMES = st.sampled_from(sorted({*SHEETS.by_file, "honey", "clay"}))
FORMULAS = st.dictionaries(NAMES, st.decimals("0.001", "9", places=3), min_size=1, max_size=9)


@given(FORMULAS, st.sampled_from(REGIONS), st.randoms())
def test_the_list_holds_everything_in_order_whatever_the_order_of_lines(
    percents: dict[str, Decimal], region: str, chance: Any
) -> None:
    lines = [line(name, f"{percent:f}") for name, percent in percents.items()]
    draft = drafted(*lines, line("oil", "qs"), region=region)
    known = [e.percent for e in draft.entries if e.percent is not None]
    assert known == sorted(known, reverse=True)
    own = [e for e in draft.entries if not (e.allergen and e.name in ("Linalool", "Geraniol"))]
    brought = sum((e.percent for e in own if e.percent is not None), Fraction())
    assert brought <= 100
    if "linalool" not in percents:
        assert brought == 100
    marks = [entry.any_order for entry in draft.entries]
    assert marks == sorted(marks)
    chance.shuffle(lines)
    again = drafted(*lines, line("oil", "qs"), region=region)
    assert again.text == draft.text
    listed = {name for entry in draft.entries for name in entry.ingredients}
    assert set(percents) - {"acid-solution", "paste"} <= listed
