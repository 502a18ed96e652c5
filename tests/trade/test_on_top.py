from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.trade.active import as_active, as_supplied
from labbook.trade.on_top import of_base, of_finished, parts_as_percent, per_base, per_finished

MASSES = st.fractions(min_value=Fraction(1, 100), max_value=100_000)
BELOW = st.fractions(min_value=0, max_value=99)


@given(MASSES, BELOW)
def test_what_was_asked_of_the_finished_batch_is_what_comes_out(
    base: Fraction, percent: Fraction
) -> None:
    found = of_finished(base, percent)
    assert found.per_finished == percent
    assert found.finished == base + found.addition
    assert found.per_base >= percent


@given(st.fractions(min_value=0, max_value=1000))
def test_per_base_and_per_finished_go_there_and_back(percent: Fraction) -> None:
    assert per_base(per_finished(percent)) == percent


@given(MASSES, BELOW)
def test_on_top_of_the_base_is_less_of_the_finished_batch(base: Fraction, share: Fraction) -> None:
    found = of_base(base, share)
    assert found.per_base == share
    assert found.per_finished <= share


@given(st.dictionaries(st.text(max_size=5), MASSES, min_size=1))
def test_parts_come_to_a_hundred_and_keep_their_ratios(parts: dict[str, Fraction]) -> None:
    found = parts_as_percent(parts)
    assert sum(found.values()) == 100
    first = next(iter(parts))
    assert all(found[n] * parts[first] == found[first] * parts[n] for n in parts)


@given(MASSES, st.fractions(min_value=Fraction(1, 10), max_value=100))
def test_active_and_supplied_go_there_and_back(amount: Fraction, content: Fraction) -> None:
    assert as_active(as_supplied(amount, content), content) == amount
    assert as_supplied(amount, content) >= amount


@pytest.mark.parametrize("content", [0, -1, 101])
def test_an_active_content_outside_its_bounds_is_refused(content: int) -> None:
    for way in (as_active, as_supplied):
        with pytest.raises(ValueError, match="active content"):
            way(Fraction(1), Fraction(content))


@pytest.mark.parametrize(("base", "percent"), [(0, 2), (-5, 2), (100, -1), (100, 100), (100, 101)])
def test_what_cannot_be_added_is_refused(base: int, percent: int) -> None:
    with pytest.raises(ValueError, match="finished batch"):
        of_finished(Fraction(base), Fraction(percent))
    if percent < 100:
        with pytest.raises(ValueError, match="on top"):
            of_base(Fraction(base), Fraction(percent))


def test_parts_of_nothing_are_refused() -> None:
    for parts in ({}, {"a": Fraction()}, {"a": Fraction(-1), "b": Fraction(3)}):
        with pytest.raises(ValueError, match="more than nothing"):
            parts_as_percent(parts)
