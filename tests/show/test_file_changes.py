"""What git prints of a file: a line for each entry, and what differs between two contents."""

from __future__ import annotations

from labbook.show.file_changes import file_changes_screen
from labbook.show.file_lines import FileLine, file_lines
from labbook.show.layout import Screen

OIL = ("phases", "A", "lines", "beeswax")


def said(old: list[FileLine], new: list[FileLine]) -> list[str]:
    """The screen below its first line."""
    return file_changes_screen("x.yaml", old, new, Screen(80)).splitlines()[2:]


def test_both_forms_of_a_line_read_the_same() -> None:
    short = FileLine(OIL, "1.50")
    long = FileLine(OIL, {"ingredient": "beeswax", "percent": "1.50"})
    assert short.text == long.text == "phase A, beeswax  1.50 %"


def test_a_line_with_more_to_say() -> None:
    data = {"ingredient": "beeswax", "percent": "qs", "role": "thickener"}
    assert FileLine(OIL, data).text == "phase A, beeswax  q.s.  role thickener"


def test_entries_are_called_what_they_are() -> None:
    look = FileLine(("looks", "o3"), {"id": "o3", "jar": "1", "modes": ["oil on top"]})
    assert look.text == "look o3: jar 1, modes [oil on top]"
    step = FileLine(("steps", "s2", "done"), {"temperatures": {"A": "71 °C"}})
    assert step.text == "step s2, done: temperatures {A 71 °C}"


def test_a_text_of_several_lines_keeps_them() -> None:
    assert FileLine(("notes",), "one\ntwo\n").text.split("\n") == ["notes:", "  one", "  two"]


def test_comments_stand_above_what_they_are_about() -> None:
    lines = [FileLine(("code",), "HC", ("# mine",)), FileLine((), "", ("# the end",))]
    assert file_lines(lines) == "# mine\ncode: HC\n# the end\n"


def test_what_was_added_taken_out_and_changed() -> None:
    old = [
        FileLine(("title",), "Cream"),
        FileLine(OIL, "1.5"),
        FileLine(("looks", "o1"), {"a": "1"}),
    ]
    new = [
        FileLine(("title",), "Milk"),
        FileLine(("looks", "o1"), {"a": "2", "b": "3"}),
        FileLine(("looks", "o2"), {"a": "1"}, ("# late",)),
    ]
    assert said(old, new) == [
        "changed     title: Cream → Milk",
        "taken out   phase A, beeswax  1.5 %",
        "changed     look o1: a 1 → 2, b 3 added",
        "added       look o2: a 1",
        "added       # late",
    ]


def test_only_spacing_differs() -> None:
    assert said([FileLine(("code",), "HC")], [FileLine(("code",), "HC")]) == [
        "same        nothing but spacing, quotation marks or the order of keys differs"
    ]


def test_a_comment_that_changed_is_told() -> None:
    old, new = FileLine(("code",), "HC", ("# a",)), FileLine(("code",), "HC", ("# b",))
    assert said([old], [new]) == ["taken out   # a", "added       # b"]
