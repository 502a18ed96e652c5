"""Figures of two compositions that differ, and which of them a screen shows."""

from __future__ import annotations

from labbook.evidence.derived import Derived, derived_difference
from labbook.model.formula import Line
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from tests.published.test_starter_values import sheet_of
from tests.trade.making import formula, line

NAMES = (
    "water", "sodium-chloride", "sodium-benzoate", "magnesium-sulfate-heptahydrate",
    "magnesium-sulfate-anhydrous", "sunflower-oil", "polyglyceryl-3-diisostearate",
)  # fmt: skip
SHEETS = Sheets({name: sheet_of(name) for name in NAMES})

BARE = Sheets({name: SHEETS.by_file[name] for name in ("water", "sunflower-oil")})


def between(before: list[Line], after: list[Line], sheets: Sheets = SHEETS) -> list[Derived]:
    oil = [line("sunflower-oil", "20"), line("polyglyceryl-3-diisostearate", "4")]
    one, other = (
        resolve(formula(A=oil, B=[*own, line("water", "qs")]), sheets) for own in (before, after)
    )
    return list(derived_difference(one, other, sheets))


def test_a_grade_swapped_at_the_same_weight_is_another_amount_of_salt() -> None:
    wet, dry = "magnesium-sulfate-heptahydrate", "magnesium-sulfate-anhydrous"
    told = [one for one in between([line(wet, "1")], [line(dry, "1")]) if one.told]
    assert [one.what for one in told] == ["magnesium-sulfate in the water phase"]
    (salt,) = told
    assert (salt.text(salt.before), salt.text(salt.after)) == ("53", "109")
    assert salt.note == "same grams, 2.05 times the salt"
    (back,) = [one for one in between([line(dry, "1")], [line(wet, "1")]) if one.told]
    assert back.note == "same grams, half the salt"
    (other,) = [one for one in between([line(wet, "1")], [line(dry, "0.5")]) if one.told]
    assert other.note == ""


def test_a_salt_put_in_is_told_from_nothing() -> None:
    told = [one for one in between([], [line("sodium-chloride", "0.8")]) if one.told]
    assert [(one.what, one.text(one.before), one.text(one.after)) for one in told] == [
        ("sodium-chloride in the water phase", "0", "180")
    ]


def test_a_preservative_that_gives_ions_is_in_the_plain_data_only() -> None:
    found = between([line("sodium-benzoate", "0.4")], [line("sodium-benzoate", "0.5")])
    assert not [one for one in found if one.told]
    names = {one.what: one.to_plain() for one in found}
    assert set(names) >= {"ionic strength of the water", "osmolality of the water"}
    assert names["osmolality of the water"]["unit"] == "osmol/kg"


def test_what_cannot_be_told_on_one_side_is_not_compared() -> None:
    found = between([line("sodium-chloride", "1")], [line("sodium-chloride", "2")], BARE)
    assert not [one for one in found if "ionic" in one.what or "chloride" in one.what]


def test_equal_compositions_have_nothing_to_tell() -> None:
    assert between([line("sodium-chloride", "1")], [line("sodium-chloride", "1")]) == []
