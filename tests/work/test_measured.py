"""Readings of a home bench, as they are said. One row each; readable as a table."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.errors import Unclear
from labbook.work.measured import drop_test, measured, plain
from labbook.work.seeing import Seen, said_of, with_reading

SAID = [
    ("spread 41 mm under 200 g for 60 s", "spread 41 mm", "200 g, 60 s", "", ""),
    ("Spread 4,1 cm for 60 sec under 200 g", "spread 4.1 cm", "200 g, 60 s", "", ""),
    ("spread 41 under 200 g for 60 s at 20 C after 24 h", "spread 41 mm", "200 g, 60 s", "20 °C",
     "24 h"),
    ("funnel 38 s for 50 ml at 20 °C after 24 h rest", "funnel 38 s", "50 ml", "20 °C", "24 h"),
    ("funnel 38", "funnel 38 s", "", "", ""),
    ("droplets 12 um", "droplet size 12 µm", "", "", ""),
    ("droplet size 8", "droplet size 8 µm", "", "", ""),
    ("feel drag 3 of 5 by a pea, 20 circles", "feel drag 3 of 5", "a pea, 20 circles", "", ""),
]  # fmt: skip


@pytest.mark.parametrize(("text", "figure", "by", "at", "rest"), SAID)
def test_what_is_said(text: str, figure: str, by: str, at: str, rest: str) -> None:
    found = measured(text)
    assert found is not None
    assert f"{found.reading} {found.value:f} {found.unit}" == figure
    told = (found.by, str(found.at or ""), str(found.rest or ""))
    assert told == (by, at, rest)


@pytest.mark.parametrize(
    ("text", "asks"),
    [
        ("spread 41 mm", "Under which weight"),
        ("spread 41 mm under 200 g", "Under which weight"),
        ("funnel 38 s", "How much ran through?"),
        ("feel drag 3", "Rubbed in how?"),
        ("spread 41 mm under 200 g for 60 s", ""),
        ("droplets 12 um", ""),
    ],
)
def test_what_is_missing_to_compare_it_is_asked_for(text: str, asks: str) -> None:
    found = measured(text)
    assert found is not None
    assert [one.startswith(asks) for one in found.asks] == ([True] if asks else [])


@pytest.mark.parametrize(
    "text",
    ["spread 41 s", "feel drag 9", "spread 41 mm on the tile", "funnel 38 s for 50 g", "pH 4.9",
     "spread", "spread of 41"],
)  # fmt: skip
def test_words_that_are_not_understood_make_it_no_reading(text: str) -> None:
    assert measured(text) is None


@given(st.text(max_size=60))
def test_no_text_at_all_breaks_it(text: str) -> None:
    for head in ("spread 41 mm ", "funnel 3 s ", "feel drag 3 "):
        measured(head + text)


@pytest.mark.parametrize(
    ("text", "outer"),
    [
        ("drop in water spreads", "oil-in-water"), ("a drop in oil: stays", "oil-in-water"),
        ("drop in oil spreads", "water-in-oil"), ("drop in water stays together", "water-in-oil"),
        ("drop in tea spreads", None),
    ],
)  # fmt: skip
def test_a_drop_shows_the_outer_phase(text: str, outer: str | None) -> None:
    """Common practice, no source."""
    assert (drop_test(text) or (None,))[0] == outer


def test_in_a_look_it_is_kept_with_how_it_was_taken() -> None:
    seen = with_reading(Seen(grade=0), "spread 41 mm under 200 g for 60 s at 20 C after 24 h")
    assert said_of(seen) == "grade 0, spread 41 mm, by 200 g, 60 s, at 20 °C, after 24 h"
    dropped = with_reading(Seen(grade=0, note="pale"), "drop in water stays")
    assert dropped.note == "pale; a drop in water stays: water-in-oil"
    assert dropped.value is None
    with pytest.raises(Unclear, match="no score"):
        with_reading(Seen(), "feel drag 9")


@pytest.mark.parametrize(
    ("text", "figure", "how"),
    [
        ("viscosity 12000 mPa s by spindle 4, 12 rpm at 20 C", "viscosity 12000 mPa s",
         ("spindle 4, 12 rpm", "20 °C", "")),
        ("pH 4,9 at 21 C", "pH 4.9", ("", "21 °C", "")),
        ("pH=4.9", "pH 4.9", ("", "", "")),
        ("weight 31.4 g after 2 h", "weight 31.4 g", ("", "", "2 h")),
        ("colour -2", "colour -2", ("", "", "")),
    ],
)  # fmt: skip
def test_any_other_reading_has_a_way_too(text: str, figure: str, how: tuple[str, str, str]) -> None:
    found = plain(text)
    assert found is not None
    assert f"{found.reading} {found.value:f} {found.unit}".strip() == figure
    assert (found.by, str(found.at or ""), str(found.rest or "")) == how


@pytest.mark.parametrize("text", ["spread 41 mm on the tile", "weight 31.4 g 2", "1.2.3", "pH", ""])
def test_more_than_a_unit_behind_a_figure_is_no_reading(text: str) -> None:
    """Words that nobody understands would be kept as a unit, and part it from its like."""
    assert plain(text) is None
