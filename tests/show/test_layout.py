"""The screen builder: margin, figures by the point, narrow and ASCII consoles, untrusted text."""

import unicodedata

import hypothesis.strategies as st
import pytest
from hypothesis import given

from labbook.show.layout import MARGIN, Column, Screen, clean, columns_of, wrapped

FIGURES = (Column("ingredient"), Column("@2", "point"), Column("@3", "point"), Column("", "unit"))
ROWS = [
    ("changed", ["polyglyceryl-3-diisostearate", "3.60", "4.5", "%"]),
    ("follows", ["water, q.s.", "71.70", "170", "%"]),
    ("added", ["tocopherol", "-", "+0.40", "%"]),
]


def table(width: int = 80, *, ascii: bool = False) -> list[str]:
    screen = Screen(width, ascii=ascii)
    screen.table(FIGURES, ROWS)
    return screen.text().splitlines()


def test_points_stand_under_each_other_and_units_once() -> None:
    assert table() == [
        "            ingredient                        @2       @3",
        "changed     polyglyceryl-3-diisostearate    3.60     4.5   %",
        "follows     water, q.s.                    71.70   170     %",
        "added       tocopherol                         -    +0.40  %",
    ]


def test_below_sixty_columns_each_row_is_a_block() -> None:
    assert table(59)[:3] == [
        "changed     polyglyceryl-3-diisostearate",
        "            @2 3.60",
        "            @3 4.5 %",
    ]
    assert table(60)[0].split() == ["ingredient", "@2", "@3"]


def test_title_has_its_date_at_the_right() -> None:
    screen = Screen()
    screen.title("SBC@2 → SBC@3", "2026-01-22")
    line = screen.text().rstrip("\n")
    assert line.startswith("SBC@2 → SBC@3  ") and line.endswith("  2026-01-22")
    assert len(line) == 78
    narrow = Screen(30)
    narrow.title("A title that is far too long for it", "2026-01-22")
    assert max(map(len, narrow.text().splitlines())) <= 30


def test_a_long_margin_runs_on_alone_in_its_line() -> None:
    screen = Screen()
    screen.row("if it separates, about 2 in 5", "sodium-chloride")
    screen.row("likely", "first\nsecond")
    assert screen.text().splitlines() == [
        "if it separates, about 2 in 5",
        "            sodium-chloride",
        "likely      first",
        "            second",
    ]


def test_then_lines_up_its_glosses_and_keeps_commands_whole() -> None:
    long = (
        "labbook batch correct c3 sunflower-oil=12.40 -m 'typed from the wrong line of the sheet'"
    )
    screen = Screen(60)
    screen.then([("labbook next", "the one batch"), (long, "a slip"), ("labbook due", "")])
    lines = screen.text().splitlines()
    assert lines[0].startswith("then        labbook next ")
    assert lines[1] == " " * MARGIN + long
    assert lines[2] == " " * MARGIN + "  a slip"
    with pytest.raises(ValueError, match="three"):
        screen.then([("a", "")] * 4)


def test_ascii_signs_and_blank_lines() -> None:
    screen = Screen(ascii=True)
    screen.blank()
    screen.row("changed", "72 °C → 58 °C, 3 × 2, crème")
    screen.blank()
    screen.blank()
    assert screen.text() == "changed     72 deg C -> 58 deg C, 3 x 2, crème\n"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[31mred", "\\x1b[31mred"),
        ("a\u202eb", "a\\u202eb"),
        ("a\u2066b\u200fc", "a\\u2066b\\u200fc"),
        ("a\u200bb\ufeff", "a\\u200bb\\ufeff"),
        ("tab\there\r\n", "tab here\\r\\n"),
        ("\x9b2J\x7f", "\\x9b2J\\x7f"),
        ("\ud800", "\\ud800"),
        ("\U000e0041", "\\U000e0041"),
        ("crème brûlée 保湿 °", "crème brûlée 保湿 °"),
    ],
)
def test_what_a_console_would_obey_is_shown_as_an_escape(text: str, shown: str) -> None:
    assert clean(text) == shown
    assert clean(shown) == shown


@given(st.text(), st.text(), st.integers(20, 120))
def test_nothing_handed_in_reaches_the_console_as_a_control(a: str, b: str, width: int) -> None:
    screen = Screen(width)
    screen.title(a, b)
    screen.row(a, b)
    screen.table(FIGURES, [(a, [b, a, b, a])], margin=b)
    screen.then([(a, b)])
    sent = screen.text().replace("\n", "")
    assert clean(sent) == sent


@given(st.text("ab-/ 保é", max_size=80), st.integers(2, 40))
def test_wrapping_loses_no_letter_and_keeps_to_the_width(text: str, width: int) -> None:
    lines = wrapped(text, width)
    assert all(columns_of(line) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(st.integers(60, 140), st.text("ab-c ", min_size=1, max_size=150))
def test_a_table_keeps_to_the_console(width: int, name: str) -> None:
    screen = Screen(width)
    screen.table(FIGURES, [("changed", [name, "3.60", "4.5", "%"])])
    assert max(map(len, screen.text().splitlines())) <= width


@given(st.text(st.sampled_from("aé°ǅ\u02ff\u0300\u0301保〜\u3099ｶ한")))
def test_each_letter_takes_the_columns_that_unicode_gives_it(text: str) -> None:
    each = (
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )
    assert columns_of(text) == sum(each)


def test_wide_letters_take_two_columns() -> None:
    screen = Screen()
    screen.table((Column("a"), Column("b", "point")), [("", ["保湿", "1"]), ("", ["abcd", "2"])])
    lines = screen.text().splitlines()
    assert columns_of(lines[1]) == columns_of(lines[2])
