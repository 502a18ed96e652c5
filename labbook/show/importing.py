"""The screens of `formula import FILE`: what was read and assumed, then what was written."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.results.common import Next
from labbook.model.results.importing import Imported, SheetLine, SheetRead, Told
from labbook.model.sheets import fold
from labbook.show.layout import Column, Screen
from labbook.show.parts import plural, then


def imported_screen(result: Imported, screen: Screen) -> str:
    """The formula that the file holds, the sum, all that was assumed, what is unclear."""
    read = result.read
    sheet = f", sheet {read.sheet}" if read.sheet else ""
    screen.title(f"{read.file}{sheet}", plural(len(read.lines), "line"))
    screen.blank()
    if read.title:
        screen.row("title", read.title)
    if read.emulsion:
        screen.row("type", read.emulsion)
    screen.blank()
    _formula(read, screen)
    _sum(read, screen)
    unknown = [line for line in read.lines if not line.named.known and line.named.ingredient]
    for number, line in enumerate(unknown):
        near = f"; near it: {', '.join(line.named.near)}" if line.named.near else ""
        screen.row("no sheet" if not number else "", f"{line.named.ingredient}{near}")
    _told("assumed", read.assumed, screen)
    if read.kept:
        screen.row("kept", f"as notes: {'; '.join(read.kept)}")
    _told("unclear", read.unclear, screen)
    if result.written is None:
        screen.blank()
        screen.row("written", "nothing yet")
        _next(result, screen)
        return screen.text()
    screen.blank()
    screen.row("written", result.written.path)
    if result.written.sheets:
        screen.row(
            "sheets", f"{plural(len(result.written.sheets), 'ingredient sheet')} came with it"
        )
    code = result.written.code
    then(
        screen,
        [
            Next(f"labbook check {code}", "is it sound?"),
            Next(f"labbook edit {code}", "the method, and what the table left open"),
            Next(f"labbook save {code}", "its first version"),
        ],
    )
    return screen.text()


def _next(result: Imported, screen: Screen) -> None:
    read = result.read
    if read.unclear:
        screen.row("", "What is unclear has to be settled first, in the file or by an option.")
    if not read.emulsion:
        screen.row("", "The table names no emulsion type: say it with --type.")
    then(screen, [Next(result.command)] if not read.unclear else [])


def _formula(read: SheetRead, screen: Screen) -> None:
    names = dict(read.phases)
    rows = []
    phase = ""
    for line in read.lines:
        word = "" if line.phase == phase else f"phase {line.phase}"
        phase = line.phase
        rows.append((word, _cells(line)))
    columns = (
        Column("ingredient"), Column("in the file"), Column("", "point"), Column("", "unit"),
    )  # fmt: skip
    screen.table(columns, rows)
    named = [f"{letter} {name}" for letter, name in names.items() if name]
    if named:
        screen.row("phases", ", ".join(named))


def _cells(line: SheetLine) -> list[str]:
    name = line.named.ingredient or "?"
    same = fold(line.written) == fold(name)
    there = line.amount if same else f"{line.written}  {line.amount}"
    percent = "q.s." if line.qs else "open" if line.percent is None else f"{line.percent:f}"
    top = " on top" if line.on_top else ""
    aim = f", {line.adjust}" if line.adjust else ""
    return [name + aim, there + top, percent, "" if line.percent is None else "%"]


def _sum(read: SheetRead, screen: Screen) -> None:
    there = f"{read.in_file} in the file; " if read.in_file else ""
    if read.total is not None:
        total = f"{read.total.normalize():f} %"
    elif read.unclear:
        total = "can't be told yet"
    elif any(line.qs for line in read.lines):
        known = sum((line.percent for line in read.lines if line.percent is not None), start=0)
        rest = [line.written for line in read.lines if not line.qs and line.percent is None]
        total = f"{known:f} % and q.s." + (f"; open: {', '.join(rest)}" if rest else "")
    else:
        total = "can't be told, since a line is open"
    screen.row("together", f"{there}{total}")
    if read.size:
        screen.row("batch size", read.size)


def _told(word: str, told: Sequence[Told], screen: Screen) -> None:
    for number, one in enumerate(told):
        row = f"row {one.row}: " if one.row else ""
        screen.row(word if not number else "", f"{row}{one.text}")
