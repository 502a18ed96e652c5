"""Figures of a sheet in words."""

from decimal import Decimal

from labbook.model.materials import Value
from labbook.show.materials import figure_words


def test_a_figure_with_one_end_says_which_also_at_nought() -> None:
    zero, five = Decimal(0), Decimal("5.5")
    assert figure_words(Value(from_=zero, unit="%")) == "from 0 %"
    assert figure_words(Value(to=zero, unit="%")) == "to 0 %"
    assert figure_words(Value(from_=zero, to=five)) == "0 to 5.5"
    assert figure_words(Value()) == "?"
