"""A content with one thing made otherwise still adds up, and differs in that one thing only."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.difference import LineChange, difference
from labbook.model.fields import QS
from labbook.model.formula import Formula, Line, Phase, Step
from labbook.model.materials import Ingredient
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.variant import (
    NoSuchLine,
    moved,
    replaced,
    with_amount,
    with_set_point,
    with_step,
)

NAMES = ("sunflower-oil", "beeswax", "polyglyceryl-3-diisostearate", "water", "glycerin",
         "sodium-chloride")  # fmt: skip


def content(*, qs: bool = True) -> Formula:
    water = Line(ingredient="water", percent=QS if qs else Decimal("75.2"))
    oils = (
        Line(ingredient="sunflower-oil", percent=Decimal("14")),
        Line(ingredient="beeswax", percent=Decimal("1.5")),
        Line(ingredient="polyglyceryl-3-diisostearate", percent=Decimal("4.5")),
    )
    rest = (
        Line(ingredient="glycerin", percent=Decimal("4")),
        Line(ingredient="sodium-chloride", percent=Decimal("0.8")),
    )
    return Formula(
        code="HC",
        title="invented",
        id="f-1",
        emulsion="water-in-oil",
        phases=(
            Phase(phase="A", lines=oils),
            Phase(phase="B", lines=(water, *rest)),
        ),
        method=(
            Step(id="s1", do="heat", set={"A": Quantity(Decimal(72), "°C")}),
            Step(id="s2", do="combine", add="B", into="A", rate="slow"),
        ),
    )


SHEETS = Sheets(
    {name: Ingredient(id=name, functions=("water",) if name == "water" else ()) for name in NAMES}
)


def changes(a: Formula, b: Formula) -> tuple[LineChange, ...]:
    return difference(a, b, SHEETS, a_name="a", b_name="b").lines


@given(
    qs=st.booleans(),
    name=st.sampled_from(("sunflower-oil", "beeswax", "sodium-chloride")),
    percent=st.decimals(min_value="0.1", max_value="20", places=2),
)
def test_another_amount_is_the_only_deliberate_change(
    qs: bool, name: str, percent: Decimal
) -> None:
    base = content(qs=qs)
    made = with_amount(base, SHEETS, name, percent)
    assert resolve(made, SHEETS).complete
    found = changes(base, made)
    told = [c.ingredient for c in found if c.kind != "balancing"]
    before = {line.ingredient: line.percent for _, line in base.lines}
    assert told == ([] if before[name] == percent else [name])


def test_nought_takes_the_line_out() -> None:
    made = with_amount(content(), SHEETS, "sodium-chloride", Decimal(0))
    assert "sodium-chloride" not in {line.ingredient for _, line in made.lines}
    assert resolve(made, SHEETS).complete


def test_a_line_that_is_not_there_is_added_to_its_phase() -> None:
    base = with_amount(content(), SHEETS, "sodium-chloride", Decimal(0))
    made = with_amount(base, SHEETS, "sodium-chloride", Decimal("0.8"), phase="B")
    assert not changes(content(), made)


def test_what_fills_up_cannot_be_changed_by_itself() -> None:
    with pytest.raises(NoSuchLine, match="fills up"):
        with_amount(content(), SHEETS, "water", Decimal(60))


def test_a_move_keeps_the_amount() -> None:
    made = moved(content(), SHEETS, "glycerin", "A")
    change = changes(content(), made)
    told = [(str(c.change), c.from_phase, c.to_phase, c.points) for c in change]
    assert told == [("moved", "B", "A", Fraction())]


def test_another_ingredient_takes_the_place_of_one() -> None:
    made = replaced(content(), SHEETS, "sunflower-oil", "glycerin")
    assert next(line.ingredient for _, line in made.lines) == "glycerin"


def test_set_points_and_words_of_a_step() -> None:
    cold = with_set_point(content(), "s2", "B", Quantity(Decimal(58), "°C"))
    assert cold.method[1].set == {"B": Quantity(Decimal(58), "°C")}
    assert with_step(content(), "s2", rate="poured").method[1].rate == "poured"
    assert replace(cold, method=content().method) == content()


@pytest.mark.parametrize(
    "change",
    [
        lambda f: moved(f, SHEETS, "lanolin", "A"),
        lambda f: moved(f, SHEETS, "glycerin", "Z"),
        lambda f: replaced(f, SHEETS, "lanolin", "water"),
        lambda f: with_step(f, "s9", rate="slow"),
        lambda f: with_amount(f, SHEETS, "lanolin", Decimal(1), phase="Z"),
    ],
)
def test_what_is_not_there_is_said(change: Callable[[Formula], Formula]) -> None:
    with pytest.raises(NoSuchLine):
        change(content())
