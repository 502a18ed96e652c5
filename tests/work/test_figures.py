"""What `show` says a formula comes to, and what it says it doesn't know."""

from __future__ import annotations

from dataclasses import replace

from labbook.model.formula import Formula
from labbook.model.results.formulas import ShownFigure
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.figures import Figures, figures
from labbook.work.figures import not_known, shown_figures
from tests.published.test_starter_values import sheet_of
from tests.trade.making import formula, line

NAMES = (
    "water", "sodium-chloride", "magnesium-sulfate-heptahydrate", "glycerin", "sunflower-oil",
    "polyglyceryl-3-diisostearate", "citric-acid-20-percent", "xanthan-gum", "candelilla-wax",
)  # fmt: skip
SHEETS = Sheets({name: sheet_of(name) for name in NAMES})
CREAM = formula(
    A=[line("sunflower-oil", "20"), line("polyglyceryl-3-diisostearate", "4.5")],
    B=[line("water", "qs"), line("glycerin", "3"), line("magnesium-sulfate-heptahydrate", "1")],
)


def of(one: Formula, sheets: Sheets = SHEETS) -> Figures:
    return figures(one, resolve(one, sheets), sheets)


def told(one: Formula, sheets: Sheets = SHEETS) -> dict[str, ShownFigure]:
    return {row.key: row for row in shown_figures(of(one, sheets)) if row.told}


def test_a_water_in_oil_cream_comes_to_this() -> None:
    found = told(CREAM)
    assert [found[key].text for key in ("water phase", "emulsifier")] == ["75.5", "6.0"]
    assert found["emulsifier"].what == "emulsifier to 100 g water phase"
    salt = found["magnesium-sulfate-heptahydrate per water phase"]
    assert (salt.text, salt.unit) == ("54", "mmol/kg")
    assert found["ionic strength"].text == "0.23"
    assert "to" in found["water phase by volume"].text
    # The same share twice is said once; the plain data hold both.
    assert "internal phase by volume" not in found
    assert "internal phase by volume" in {row.key for row in shown_figures(of(CREAM))}


def test_of_an_oil_in_water_cream_the_oil_is_inside() -> None:
    found = told(replace(CREAM, emulsion="oil-in-water"))
    assert found["internal phase by volume"].what == "internal phase, oil, by volume"


def test_a_balm_has_no_figures_of_water() -> None:
    balm = formula(A=[line("sunflower-oil", "80"), line("candelilla-wax", "20")])
    assert told(replace(balm, emulsion="anhydrous")) == {}
    assert not_known(of(replace(balm, emulsion="anhydrous"))) == ()


def test_what_is_not_known_is_said_in_few_words() -> None:
    assert not_known(of(CREAM)) == (
        "density of polyglyceryl-3-diisostearate and magnesium-sulfate-heptahydrate",
    )
    acid = formula(
        A=list(CREAM.phases[0].lines),
        B=[
            line("water", "qs"),
            line("sodium-chloride", "1"),
            line("citric-acid-20-percent", "0.5"),
            line("nobody-knows", "1"),
        ],
    )
    said = not_known(of(acid))
    assert any("nobody-knows" in one and "no sheet" in one for one in said)
    assert any("citric-acid in citric-acid-20-percent" in one for one in said)


def test_figures_of_a_draft_with_gaps_stay_unknown() -> None:
    draft = formula(
        A=[line("sunflower-oil")], B=[line("water", "qs"), line("sodium-chloride", "1")]
    )
    found = told(draft)
    assert "water phase" not in found
    assert "ionic strength" not in found
    assert "emulsifier" not in found
