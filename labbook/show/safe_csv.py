"""CSV that a spreadsheet shows as it was written, and never takes for a formula.

Fields, quotes and line ends by RFC 4180. A cell that a spreadsheet would reckon with gets a single
quote in front, which spreadsheets take for "this is text" (see the test for where that is asked).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

STARTERS = "=+-@\t\r\n\0＝＋－＠"
"""Signs that begin a formula, wide forms too, and those that can hide one from a plain look."""


def safe_cell(text: str) -> str:
    """The text, with a single quote in front where it would begin a formula, after blanks too."""
    bare = text.lstrip(" \u00a0\ufeff")
    return f"'{text}" if bare and bare[0] in STARTERS else text


def kept_cell(text: str) -> str:
    """The same, so that `plain_cell` gives the text back: a quote in front gets another before it.

    A NUL, which many readers of CSV stumble over, becomes the sign for it.
    """
    whole = text.replace("\0", "\N{SYMBOL FOR NULL}")
    return f"'{whole}" if whole.startswith("'") else safe_cell(whole)


def plain_cell(cell: str) -> str:
    """The text that `kept_cell` made safe."""
    return cell.removeprefix("'")


def csv_text(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table with its head as text; a NUL, which no reader takes, is left out."""
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    for row in (head, *rows):
        writer.writerow([safe_cell(cell).replace("\0", "") for cell in row])
    return out.getvalue()
