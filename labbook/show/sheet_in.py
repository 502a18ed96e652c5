"""Screens around the bench sheet page: written, served, taken in."""

from __future__ import annotations

from labbook.model.results.common import Next
from labbook.model.results.sheet_page import PageWritten, TakenIn
from labbook.show.layout import Screen
from labbook.show.making import group_rows
from labbook.show.parts import then


def page_screen(result: PageWritten, screen: Screen) -> str:
    """After `batch sheet --page`."""
    screen.title(f"{result.short}, bench sheet", result.id)
    screen.blank()
    screen.row("page", result.file)
    screen.row(
        "",
        "One file that needs no network: open it in a browser, or print it. It keeps what is typed"
        " in that browser until you finish there.",
    )
    then(
        screen,
        [
            Next(f"labbook batch note {result.short} --from FILE", "takes in what it gave"),
            Next(f"labbook batch sheet {result.short} --phone", "straight into the notebook"),
        ],
    )
    return screen.text()


def taken_screen(result: TakenIn, screen: Screen) -> str:
    """After `batch note --from FILE`: repeated back."""
    group_rows(screen, result.short, result.what)
    if result.already:
        known = "1 entry was" if result.already == 1 else f"{result.already} entries were"
        screen.row("same", f"{known} there already")
    if not result.what and not result.already and not result.remarks:
        screen.row(result.short, "nothing was typed on the sheet")
    group_rows(screen, "note", result.remarks)
    then(screen, [f"labbook show {result.short}", f"labbook close {result.short}"])
    return screen.text()
