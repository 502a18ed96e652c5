"""Screens of counts and trends in words, and the calendar without a file being opened."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from labbook.model.formula import Limit
from labbook.model.quantities import parse_quantity as q
from labbook.model.results.looking import Count, Due, DueLook
from labbook.show.calendar import calendar
from labbook.show.outcome_table import count_words, limit_words
from labbook.show.trend import SPARKS, spark

NONE = Count(
    condition="room", group="", unit="days", what="batches", until=28, failed=0, of=3, low=0,
    high=0.6316,
)  # fmt: skip


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({}, "0 of 3 batches failed by day 28: the true share may be up to 63 %"),
        (
            {"what": "jars", "of": 1, "high": 0.95},
            "0 of 1 jar failed by day 28: the true share may be up to 95 %",
        ),
        (
            {"failed": 1, "of": 1, "low": 0.05, "high": 1, "until": 2, "unit": "cycles"},
            "1 of 1 batch failed by cycle 2: the true share may be down to 5 %",
        ),
        (
            {"failed": 1, "low": 0.0084, "high": 0.9057, "group": "separation"},
            "1 of 3 batches failed by day 28: the true share may be 0 to 91 %",
        ),
        (
            {"undecided": ("7K",), "later": ("C3", "R8")},
            "0 of 3 batches failed by day 28: the true share may be up to 63 %; C3 and R8 failed"
            " after that; not watched until then: 7K",
        ),
    ],
)
def test_a_count_in_words(change: dict[str, Any], words: str) -> None:
    assert count_words(replace(NONE, **change)) == words


def test_among_several_groups_of_failure_each_count_names_its_own() -> None:
    one = replace(NONE, failed=1, low=0.0084, high=0.9057, group="structure")
    assert "failed by day 28, structure: " in count_words(one, several=True)


def test_bounds_are_rounded_outwards() -> None:
    """Never narrower than they are: 0.84 to 90.57 % is told as 0 to 91 %."""
    one = replace(NONE, failed=1, low=0.0084, high=0.9001)
    assert count_words(one).endswith("0 to 91 %")


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (
            Limit(condition="room", until=q("90 d"), modes=("separation",), worst_grade=1),
            "room until day 90, separation at grade 1 at most",
        ),
        (
            Limit(condition="freeze-thaw", cycles=1, worst_grade=2),
            "freeze-thaw for 1 cycle, any failure at grade 2 at most",
        ),
        (
            Limit(condition="room", reading="pH", from_=Decimal("4.80"), to=Decimal(5)),
            "room, pH from 4.80 to 5",
        ),
    ],
)
def test_what_is_asked_for_in_words(limit: Limit, words: str) -> None:
    assert limit_words(limit) == words


def test_a_course_goes_from_the_lowest_bar_to_the_highest() -> None:
    values = [Decimal(n) for n in range(8)]
    assert spark(values, values[0], values[-1]) == SPARKS
    assert spark(values, values[0], values[-1], plain=True) == "12345678"
    assert spark([Decimal(5)] * 3, Decimal(5), Decimal(5)) == SPARKS[3] * 3


def test_a_calendar_is_made_without_opening_a_file() -> None:
    look = DueLook(
        batch="HC-260409-7K", short="7K", code="HC", version=2, jar="1", condition="freeze-thaw",
        point=None, cycle=2, day=date(2026, 4, 18), state="coming",
    )  # fmt: skip
    raw = calendar(Due(day=date(2026, 4, 16), coming=(look,)))
    assert b"SUMMARY:Look at 7K.1: cycle 2\\, freeze-thaw\r\n" in raw
