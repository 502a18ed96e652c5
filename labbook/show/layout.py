"""A screen as text: one margin of twelve columns with a quiet word in it, all content to its right.

Build it from the top down and take `text()` at the end:

    screen = Screen(width=80)
    screen.title("SBC@2 → SBC@3", "2026-01-22 → 2026-02-05")
    screen.blank()
    screen.row("method", "combine B into A: rate poured → slow")
    screen.table((Column("ingredient"), Column("@2", "point")), [("changed", ["salt", "0.40"])])
    screen.then([("labbook log SBC", "the versions")])
    print(screen.text())

Whatever is handed in counts as untrusted: control characters and marks that turn the direction of
writing round are shown as escapes (`clean`). With `ascii=True` the signs that a console without
UTF-8 lacks are written out; other letters stay as typed, so the stream needs its own fallback
(`errors="backslashreplace"`).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

MARGIN = 12
"""Columns of the margin; all content hangs to its right."""

WIDEST = 80
"""Columns that nothing but a table goes beyond, however wide the console is."""

NARROW = 60
"""Below this many columns a table turns into one block per row."""

_TITLE_EDGE = 78
_NO_MARGIN = 40
_GLOSS = 26
_LONG_COMMAND = 40
_SMALLEST_CELL = 16
_SPELLED = {
    "→": "->",
    "×": "x",
    "°": "deg ",
    "–": "-",
    "µ": "u",
    "±": "+-",
    "≤": "<=",
    "≥": ">=",
    "…": "...",
}
_HIDDEN = frozenset("\u034f\u115f\u1160\u3164\uffa0")
_NOT_PLAIN = re.compile("[^ -~]")
_MAY_BE_WIDE = re.compile("[^\x00-\u02ff]")
"""Below it stands no letter that takes two columns, and no accent on top."""
_PIECES = re.compile(" *[^ ]+")

Align = Literal["left", "right", "point", "unit"]
Row = tuple[str, Sequence[str]]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Args:
        head: the word above it; in a block per row it stands before the figure.
        align: `left`; `right`; `point`, figures under each other by their decimal point; `unit`,
            what the figure before it is counted in.
        gap: spaces before it; None takes 3, and 2 before a unit.
    """

    head: str = ""
    align: Align = "left"
    gap: int | None = None

    @property
    def space(self) -> int:
        """Spaces before the column."""
        if self.gap is not None:
            return self.gap
        return 2 if self.align == "unit" else 3


def clean(text: str) -> str:
    r"""Text without anything that a console would obey or that hides what is written.

    Control characters, lone surrogates, line separators, invisible characters and marks of writing
    direction become escapes such as `\x1b` and `\u202e`; a tab becomes a space.
    """
    if text.isascii() and text.isprintable():
        return text
    return _NOT_PLAIN.sub(_shown, text)


def _shown(found: re.Match[str]) -> str:
    char = found[0]
    if char == "\t":
        return " "
    hidden = unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
    if not hidden and char not in _HIDDEN:
        return char
    code = ord(char)
    if code < 0x100:
        return {"\n": "\\n", "\r": "\\r"}.get(char, f"\\x{code:02x}")
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def spelled_out(text: str) -> str:
    """The text with → × ° and their like in ASCII: `72 °C` is `72 deg C`."""
    return "".join(_SPELLED.get(char, char) for char in text)


def columns_of(text: str) -> int:
    """How many columns of a console the text takes: wide letters two, accents on top none."""
    if text.isascii() or not _MAY_BE_WIDE.search(text):
        return len(text)
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def wrapped(text: str, width: int) -> list[str]:
    """Lines of at most `width` columns, broken at spaces; a longer word is cut where it must be.

    Spaces inside a line stay as they are; the line breaks of the text count too.
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        if columns_of(paragraph) <= width:
            lines.append(paragraph.rstrip(" "))
            continue
        line, taken = "", 0
        for piece in _PIECES.findall(paragraph):
            more = columns_of(piece)
            if line and taken + more > width:
                lines.append(line)
                piece = piece.lstrip(" ")
                line, taken, more = "", 0, columns_of(piece)
            line, taken = line + piece, taken + more
            while taken > width:
                cut = _cut(line, width)
                lines.append(line[:cut])
                line = line[cut:]
                taken = columns_of(line)
        lines.append(line)
    return lines


def _cut(word: str, width: int) -> int:
    """Where a word that is too long is cut: after its last hyphen or slash that fits."""
    end = 1
    while end < len(word) and columns_of(word[: end + 1]) <= width:
        end += 1
    joint = max(word.rfind("-", 0, end), word.rfind("/", 0, end)) + 1
    return joint if joint > end // 2 else end


class Screen:
    """A screen under construction; see the module for an example.

    Args:
        width: columns of the console.
        ascii: whether the console lacks → × °.
    """

    def __init__(self, width: int = WIDEST, *, ascii: bool = False) -> None:
        self.width = max(width, 20)
        self.ascii = ascii
        self._lines: list[str] = []

    def title(self, left: str, right: str = "") -> None:
        """The first line: the thing at the left, its size or date at the right."""
        left, right = self._ready(left), self._ready(right)
        edge = min(self.width, _TITLE_EDGE)
        space = edge - columns_of(left) - columns_of(right)
        if right and space >= 2:
            self._put(left + " " * space + right)
            return
        for line in wrapped(left, edge):
            self._put(line)
        for line in wrapped(right, edge) if right else ():
            self._put(" " * max(0, edge - columns_of(line)) + line)

    def blank(self) -> None:
        """An empty line; two in a row, or one at the top, are never written."""
        if self._lines and self._lines[-1]:
            self._lines.append("")

    def row(self, margin: str, text: str = "") -> None:
        """A word in the margin and text beside it, wrapped; line breaks in the text are kept.

        A margin that is too long for twelve columns runs on, alone in its line.
        """
        body = "\n".join(self._ready(part) for part in text.splitlines())
        room = min(self.width, WIDEST) - self._indent
        self._hang(self._ready(margin), wrapped(body, room) if body else [])

    def table(self, columns: Sequence[Column], rows: Iterable[Row], *, margin: str = "") -> None:
        """Rows of a margin word and one cell per column, under the columns' heads.

        `margin` stands beside the heads and may run on. Below sixty columns, or where the table
        fits in no way, each row is a block: its first cell, then one line per filled cell.
        """
        heads = [self._ready(column.head) for column in columns]
        ready = [(self._ready(word), [self._ready(cell) for cell in cells]) for word, cells in rows]
        if not ready:
            return
        grid = _aligned(columns, heads, [cells for _, cells in ready])
        room = self.width - self._indent
        first = room - sum(g.width + g.space for g in grid[1:])
        if self.width < NARROW or first < min(_SMALLEST_CELL, grid[0].width):
            self._blocks(columns, heads, ready, self._ready(margin))
            return
        if any(heads) or margin:
            self._head_line(grid, self._ready(margin))
        for number, (word, _) in enumerate(ready):
            names = wrapped(grid[0].cells[number].rstrip(), min(first, grid[0].width))
            rest = "".join(" " * g.space + g.cells[number] for g in grid[1:])
            wide = min(first, grid[0].width)
            top = names[0] + " " * (wide - columns_of(names[0])) + rest
            self._hang(word, [top.rstrip(), *names[1:]])

    def then(self, commands: Sequence[tuple[str, str]]) -> None:
        """The last group: at most three commands as they are typed, each with a gloss or none.

        A command is never wrapped, so that it can be pasted.

        Raises:
            ValueError: more than three commands.
        """
        if len(commands) > 3:
            raise ValueError("a screen ends with three commands at most")
        ready = [(self._ready(command), self._ready(gloss)) for command, gloss in commands]
        room = min(self.width, WIDEST) - self._indent
        glossed = [columns_of(command) for command, gloss in ready if gloss]
        wider = [length + 2 for length in glossed if _GLOSS <= length <= _LONG_COMMAND]
        column = max(_GLOSS, *wider) if wider else _GLOSS
        word = "then"
        for command, gloss in ready:
            line = command + " " * (column - columns_of(command)) + gloss
            if not gloss or (columns_of(command) < column and columns_of(line) <= room):
                self._hang(word, [line.rstrip()])
            else:
                self._hang(word, [command, *("  " + g for g in wrapped(gloss, room - 2))])
            word = ""

    def text(self) -> str:
        """The whole screen, with a line end after its last line."""
        return "\n".join(self._lines).rstrip("\n") + "\n" if self._lines else ""

    @property
    def _indent(self) -> int:
        return MARGIN if self.width >= _NO_MARGIN else 2

    def _ready(self, text: str) -> str:
        return spelled_out(clean(text)) if self.ascii else clean(text)

    def _put(self, line: str) -> None:
        self._lines.append(line.rstrip(" "))

    def _hang(self, word: str, lines: Sequence[str]) -> None:
        """A margin word beside the first of the lines, or above them where it is too long."""
        if not lines or columns_of(word) >= self._indent:
            for line in wrapped(word, min(self.width, WIDEST)) if word else ():
                self._put(line)
            word = ""
        for line in lines:
            self._put(word + " " * (self._indent - columns_of(word)) + line)
            word = ""

    def _head_line(self, grid: Sequence[_Aligned], margin: str) -> None:
        line = grid[0].head.rstrip()
        room = self.width - self._indent
        first = min(grid[0].width, room - sum(g.width + g.space for g in grid[1:]))
        line += " " * (first - columns_of(line))
        line += "".join(" " * g.space + g.head for g in grid[1:])
        start = len(line) - len(line.lstrip(" "))
        if columns_of(margin) < self._indent + max(0, start - 1):
            self._put(margin + (" " * self._indent + line)[columns_of(margin) :])
            return
        self._hang(margin, [])
        self._hang("", [line])

    def _blocks(
        self, columns: Sequence[Column], heads: Sequence[str], rows: Sequence[Row], margin: str
    ) -> None:
        if margin:
            self._hang(margin, [])
        room = min(self.width, WIDEST) - self._indent
        for word, cells in rows:
            lines: list[str] = []
            for column, head, cell in zip(columns, heads, cells, strict=True):
                if not cell.strip():
                    continue
                if head and lines:
                    lines.append(f"{head} {cell}")
                elif lines:
                    lines[-1] += f"{' ' if column.align == 'unit' else '  '}{cell}"
                else:
                    lines.append(cell)
            self._hang(word, [part for line in lines for part in wrapped(line, room)])


@dataclass(frozen=True, slots=True)
class _Aligned:
    """A column whose head and cells all have the same width."""

    head: str
    cells: tuple[str, ...]
    width: int
    space: int


def _aligned(
    columns: Sequence[Column], heads: Sequence[str], rows: Sequence[Sequence[str]]
) -> list[_Aligned]:
    grid = []
    for number, (column, head) in enumerate(zip(columns, heads, strict=True)):
        cells = [row[number] for row in rows]
        if column.align == "point":
            cells = _by_point(cells)
        width = max(columns_of(text) for text in (head, *cells))
        left = column.align in ("left", "unit")
        padded = tuple(_pad(text, width, left=left) for text in cells)
        space = column.space if number else 0
        grid.append(_Aligned(_pad(head, width, left=left), padded, width, space))
    return grid


def _by_point(cells: Sequence[str]) -> list[str]:
    """Figures with spaces behind them, so that right-aligned their decimal points meet."""
    tails = []
    for cell in cells:
        figure = re.match(r"[^0-9]*[0-9]+(\.[0-9]+)?", cell)
        tails.append(columns_of(cell[figure.start(1) :]) if figure and figure[1] else 0)
    longest = max(tails, default=0)
    figures = [bool(re.match(r"[+<>~ -]*[0-9]", cell)) for cell in cells]
    return [
        cell + " " * (longest - tail) if figure else cell
        for cell, tail, figure in zip(cells, tails, figures, strict=True)
    ]


def _pad(text: str, width: int, *, left: bool) -> str:
    spaces = " " * (width - columns_of(text))
    return text + spaces if left else spaces + text
