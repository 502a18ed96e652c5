"""Bytes of a file to text, and offsets to lines: what stands before any reading of keys.

Offsets count characters of the text as decoded: a byte order mark is its first character, Windows
line ends are two.
"""

from __future__ import annotations

import re

from labbook.model.errors import Unreadable
from labbook.model.problems import Place, Problem, Severity

LARGEST = 2_000_000  # bytes; a year of looks at one batch is under 100 kB
BOM = "\ufeff"
RULE = "unreadable-file"

# Control characters, and what YAML 1.1 takes for line ends but no editor shows as one.
_REFUSED = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_OLD_END = re.compile(r"\r(?!\n)")


class FileProblem(Unreadable):
    """A file that can't be read as keys and values; `problems` says where and why."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        first = problems[0]
        super().__init__(first.what, where=str(first.place), mend=first.mend)
        self.problems = problems


def line_and_column(text: str, offset: int) -> tuple[int, int]:
    """Line and column, from 1, of an offset; a byte order mark takes no column."""
    start = text.rfind("\n", 0, offset) + 1
    column = offset - start + 1
    if start == 0 and text.startswith(BOM):
        column = max(1, column - 1)
    return text.count("\n", 0, offset) + 1, column


def error_at(path: str, line: int, column: int, rule: str, what: str, mend: str = "") -> Problem:
    """A problem that keeps the file from being read."""
    return Problem(Severity.ERROR, rule, Place(path, line, column), what, mend)


def decode(raw: bytes, path: str) -> str:
    """The text of a file, a byte order mark kept.

    Raises:
        FileProblem: more than 2 MB, not UTF-8, or a character that no text needs.
    """
    if len(raw) > LARGEST:
        what = f"the file has {len(raw) / 1e6:.1f} MB; a notebook's files have up to 2 MB"
        mend = "Text this long is no formula or batch; pictures and tables lie beside it."
        raise FileProblem((error_at(path, 0, 0, RULE, what, mend),))
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        what = "the file is in UTF-16, as some Windows editors write it"
        raise FileProblem((error_at(path, 1, 1, RULE, what, "Save it again as UTF-8."),))
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8")
        line, column = line_and_column(before, len(before))
        what = f"the byte {raw[error.start]:#04x} is no UTF-8 text"
        mend = "Save the file again as UTF-8; ° and ä may then have to be typed once more."
        raise FileProblem((error_at(path, line, column, RULE, what, mend),)) from error
    if match := _REFUSED.search(text, 1 if text.startswith(BOM) else 0):
        line, column = line_and_column(text, match.start())
        what = f"an invisible character (U+{ord(match[0]):04X}) stands here"
        mend = "Delete it; such characters come along when text is pasted from a web page."
        raise FileProblem((error_at(path, line, column, RULE, what, mend),))
    if match := _OLD_END.search(text):
        line, column = line_and_column(text, match.start())
        what = "a lone carriage return stands here, a line end that nothing writes any more"
        mend = "Save the file with line ends of Linux (LF) or Windows (CRLF)."
        raise FileProblem((error_at(path, line, column, RULE, what, mend),))
    return text
