"""The screen of `trust`."""

from __future__ import annotations

from labbook.model.results.trusting import Trust
from labbook.show.layout import Column, Screen
from labbook.show.parts import plural


def trust_screen(result: Trust, screen: Screen) -> str:
    """`trust`: which files would run, and what a template can and can't do."""
    state = "trusted here" if result.trusted else "not trusted here"
    count = plural(len(result.templates), "template")
    screen.title(f"{count} of this notebook's own, {state}")
    screen.blank()
    screen.table(
        (Column("file"), Column("lines", "right"), Column("instead of")),
        [
            ("", (one.path, str(one.lines), "the program's" if one.replaces else "nothing"))
            for one in result.templates
        ],
    )
    screen.blank()
    screen.row("can", "say anything in the pages that you publish, also wrong figures")
    screen.row("can't", "read files, reach the network, start programs, or see what is private")
    screen.row("limits", "a minute, 200 MB of pages")
    if not result.trusted:
        screen.row("", "Read them first. A template that changes later needs trust again.")
    return screen.text()
