"""Whether there are as many values from outside as the package's docstring says."""

from __future__ import annotations

from fractions import Fraction

import pytest

import tests.published
from tests.published.agreement import holds, rounding
from tests.published.counted import COUNTED, apart, known, sources, table
from tests.published.outside import short


def test_the_docstring_has_the_table() -> None:
    """To renew it, paste what `tests.published.counted.table()` gives."""
    assert table() in (tests.published.__doc__ or "")


@pytest.mark.parametrize("name", COUNTED)
def test_six_values_from_two_sources_at_least(name: str) -> None:
    rows = COUNTED[name]
    assert apart(known(rows)) >= 6
    assert len(sources(rows)) >= 2
    assert all(row.source for row in rows)


def test_120_values_at_least_in_all() -> None:
    assert sum(apart(known(rows)) for rows in COUNTED.values()) >= 120


def test_what_two_sources_print_alike_is_one_value() -> None:
    rows = COUNTED["weighing: the bench rule"]
    assert apart(rows) < len(rows)


@pytest.mark.parametrize(
    ("source", "name"),
    [
        ("Table I, pmc.ncbi.nlm.nih.gov/articles/PMC3969497/table/Tab1", "PMC3969497"),
        ("lesson, scribd.com/document/580323051/Lesson", "scribd 580323051"),
        ("www.aqion.de/sd/178?page=3", "aqion.de"),
        ("molmass 2026.1.8", "molmass 2026.1.8"),
    ],
)
def test_a_source_has_a_short_name(source: str, name: str) -> None:
    assert short(source) == name


@pytest.mark.parametrize("shift", ["2.1", "-2.1"])
def test_a_result_off_by_twice_its_tolerance_is_refused(shift: str) -> None:
    """The comparison itself, on every value that the lists hold with its result."""
    for rows in COUNTED.values():
        for row in rows:
            if row.result is None:
                continue
            room = rounding(row.printed) if row.within is None else Fraction(row.within)
            moved = Fraction(row.result) + Fraction(shift) * room
            with pytest.raises(AssertionError, match="is not"):
                holds(moved, row.printed, row.within, source=row.source, wide=row.wide)
