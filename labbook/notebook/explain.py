"""A parser's complaint in a maker's words: what stands there, and the line to type instead."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from labbook.model.problems import Problem
from labbook.notebook.text import error_at

RULE = "yaml-syntax"
Found = tuple[int, int, str, str] | None
"""Line and column from 1, what is wrong, how to mend it."""


@dataclass(frozen=True, slots=True)
class Complaint:
    """What a parser said, where, and what it was reading since where; lines count from 1."""

    said: str
    context: str
    lines: list[str]
    line: int
    column: int
    opened: tuple[int, int] | None

    def text(self, line: int) -> str:
        """A line of the file without its end; empty beyond the last one."""
        return self.lines[line - 1].rstrip("\r") if 0 < line <= len(self.lines) else ""

    @property
    def here(self) -> str:
        """The line complained about."""
        return self.text(self.line)


def syntax_problem(error: Any, body: str, path: str) -> Problem:
    """The problem that a parser's error stands for.

    Args:
        error: a ruamel.yaml error with `problem`, `problem_mark` and `context_mark`.
        body: the text that was parsed, without a byte order mark.
        path: the file's path in the notebook.
    """
    lines = body.split("\n")
    line, column = _place(error.problem_mark or error.context_mark, lines)
    opened = _place(error.context_mark, lines) if error.context_mark else None
    said = Complaint(
        str(error.problem or ""), str(error.context or ""), lines, line, column, opened
    )
    for explain in (_tab, _start, _colon, _alone, _quotes, _after_quote, _flow, _surplus, _indent):
        if found := explain(said):
            return error_at(path, found[0], found[1], RULE, found[2], found[3])
    return error_at(path, line, column, RULE, f"this can't be read as YAML: {said.said}")


def _place(mark: Any, lines: list[str]) -> tuple[int, int]:
    """Line and column of a mark; one behind the end of the file stands at its end."""
    if mark is None:
        return 1, 1
    if mark.line >= len(lines):
        return len(lines), len(lines[-1]) + 1
    return mark.line + 1, mark.column + 1


def _tab(it: Complaint) -> Found:
    indent = re.match(r"[ ]*\t[ \t]*", it.here)
    if indent is None or (it.column - 1 > indent.end() and "tab" not in it.said):
        return None
    what = "a tab indents this line; YAML takes spaces only"
    return it.line, it.here.index("\t") + 1, what, "Put two spaces for it."


def _start(it: Complaint) -> Found:
    line, column = it.line, it.column
    if "scanning an alias" in it.context or "scanning an anchor" in it.context:
        line, column = it.opened or (line, column)
    elif not re.search(
        "cannot start any token|(sequence entries|mapping keys) are not allowed", it.said
    ):
        return None
    value = it.text(line)[column - 1 :].rstrip()
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    what = f"no value can begin with {value[:1]} unless it is quoted"
    return line, column, what, f'Write "{escaped}"'


def _colon(it: Complaint) -> Found:
    if "mapping values are not allowed" not in it.said:
        return None
    before = it.text(it.line - 1)
    if match := re.match(r"\s*(?:- )?([A-Za-z][\w ]*):([^\s:]\S*)\s*$", before):
        column = before.index(":", match.start(1)) + 1
        what = "a space is missing after the colon"
        return it.line - 1, column, what, f"Write {match[1]}: {match[2]}"
    match = re.match(r"\s*(?:- )?([^:#]+): (.+: .+)$", it.here)
    if match and it.column - 1 > match.start(2):
        value = match[2].rstrip().replace('"', '\\"')
        what = "this value holds a colon and a space, which begin a new key"
        mend = f'Put quotes around it: {match[1]}: "{value}"'
        return it.line, match.start(2) + 1, what, mend
    what = "this line is indented deeper than the one above, which already has a value"
    column = len(it.here) - len(it.here.lstrip()) + 1
    return it.line, column, what, "Indent both lines alike."


def _alone(it: Complaint) -> Found:
    if "could not find expected ':'" not in it.said or it.opened is None:
        return None
    line, column = it.opened
    alone = it.text(line).strip()
    if match := re.match(r"(?:- )?([A-Za-z][\w ]*):(\S.*)$", alone):
        what = "a space is missing after the colon"
        return line, column, what, f"Write {match[1]}: {match[2]}"
    what = f"{alone[:40]!r} is neither a key with a value nor part of the line above"
    return line, column, what, "Write KEY: VALUE, or put # before a remark."


def _quotes(it: Complaint) -> Found:
    if "quoted scalar" not in it.context:
        return None
    if "escape" in it.said:
        what = "a backslash in double quotes begins a special character, and this is none"
        return it.line, it.column, what, "Double the backslash, or use single quotes."
    line, column = it.opened or (it.line, it.column)
    mark = it.text(line)[column - 1 : column]
    what = f"the quote {mark} is opened here and never closed"
    return line, column, what, f"Put {mark} at the end of the value."


def _after_quote(it: Complaint) -> Found:
    left = it.here[: it.column - 1].rstrip()
    expected = "expected key" in it.said or "block end" in it.said
    if not expected or not left.endswith(("'", '"')):
        return None
    what = "something follows a closing quote"
    mend = "Inside single quotes write '' for an apostrophe; inside double quotes \\\" for \"."
    return it.line, it.column, what, mend


def _flow(it: Complaint) -> Found:
    if "flow" not in it.context or it.opened is None:
        return None
    line, column = _bracket(it, *it.opened)
    start = it.text(line)
    close = "}" if "mapping" in it.context else "]"
    if comment := re.search(r"\s#", start[column - 1 :]):
        what = f"everything from # on is a comment here, also the {close} that closes the line"
        return line, column + comment.start() + 1, what, 'Quote the value that holds the #: "# 7".'
    if it.line == line and it.column <= len(start):
        what = "a comma is missing here between two values"
        return line, it.column, what, "In a one-line form a comma stands between values."
    what = f"the {start[column - 1 : column]} that opens here is never closed"
    return line, column, what, f"Put {close} at its end."


def _bracket(it: Complaint, line: int, column: int) -> tuple[int, int]:
    """The place of the bracket that was opened; at the end of a file the mark stands behind it."""
    while line and it.text(line)[column - 1 : column] not in ("{", "["):
        before = it.text(line)[: column - 1]
        if (at := max(before.rfind("{"), before.rfind("["))) >= 0:
            return line, at + 1
        line, column = line - 1, len(it.text(line - 1)) + 1
    return line or 1, column


def _surplus(it: Complaint) -> Found:
    bracket = it.here[it.column - 1 : it.column]
    if bracket not in ("}", "]"):
        return None
    what = f"one {bracket} too many closes here"
    return it.line, it.column, what, "Take it out, or quote it if it belongs to the text."


def _indent(it: Complaint) -> Found:
    if "expected '-' indicator" in it.said or "block sequence" in it.context:
        what = "this line stands among list entries but begins with no dash"
        mend = "Begin it with a dash, or indent it like the key above the list."
        return it.line, it.column, what, mend
    if "expected key" in it.said or "block end" in it.said:
        what = "this line is indented differently from its neighbours"
        mend = "Keys of one group begin in the same column; count the spaces."
        return it.line, it.column, what, mend
    return None
