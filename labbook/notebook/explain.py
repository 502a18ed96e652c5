"""A parser's complaint in a maker's words: what stands there, and the line to type instead."""

from __future__ import annotations

import re
from typing import Any

from labbook.model.problems import Problem
from labbook.notebook.text import error_at

RULE = "yaml-syntax"


def syntax_problem(error: Any, body: str, path: str) -> Problem:
    """The problem that a parser's error stands for.

    Args:
        error: a ruamel.yaml error with `problem`, `problem_mark` and `context_mark`.
        body: the text that was parsed, without a byte order mark.
        path: the file's path in the notebook.
    """
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    said = str(error.problem or "")
    opened = error.context_mark
    lines = body.split("\n")
    here = lines[line - 1].rstrip("\r") if line <= len(lines) else ""
    for explain in (_tab, _start, _colon, _quotes, _brackets, _indentation):
        found = explain(said, str(error.context or ""), here, line, column, opened, lines)
        if found:
            at_line, at_column, what, mend = found
            return error_at(path, at_line, at_column, RULE, what, mend)
    return error_at(path, line, column, RULE, f"this can't be read as YAML: {said}")


Found = tuple[int, int, str, str] | None


def _tab(
    said: str, context: str, here: str, line: int, column: int, opened: Any, lines: list[str]
) -> Found:
    indent = re.match(r"[ ]*\t[ \t]*", here)
    if indent is None or (column - 1 > indent.end() and "tab" not in said):
        return None
    tab = here.index("\t") + 1
    return line, tab, "a tab indents this line; YAML takes spaces only", "Put two spaces for it."


def _start(
    said: str, context: str, here: str, line: int, column: int, opened: Any, lines: list[str]
) -> Found:
    starts = "cannot start any token" in said
    starts = starts or "sequence entries are not allowed" in said
    starts = starts or "mapping keys are not allowed" in said
    alias = "scanning an alias" in context or "scanning an anchor" in context
    if not (starts or alias):
        return None
    at = opened.column + 1 if alias and opened else column
    if alias and opened:
        line = opened.line + 1
        here = lines[opened.line].rstrip("\r")
    value = here[at - 1 :].rstrip()
    quoted = value.replace("\\", "\\\\").replace('"', '\\"')
    what = f"no value can begin with {value[:1]} unless it is quoted"
    return line, at, what, f'Write "{quoted}"'


def _colon(
    said: str, context: str, here: str, line: int, column: int, opened: Any, lines: list[str]
) -> Found:
    if "mapping values are not allowed" in said:
        before = lines[line - 2].rstrip("\r") if line > 1 else ""
        if match := re.match(r"\s*(?:- )?([A-Za-z][\w ]*):([^\s:]\S*)\s*$", before):
            fixed = f"{match[1]}: {match[2]}"
            what = "a space is missing after the colon"
            return line - 1, before.index(":", match.start(1)) + 1, what, f"Write {fixed}"
        match = re.match(r"\s*(?:- )?([^:#]+): (.+: .+)$", here)
        if match and column - 1 > match.start(2):
            value = match[2].rstrip().replace('"', '\\"')
            what = "this value holds a colon and a space, which begin a new key"
            return line, match.start(2) + 1, what, f'Put quotes around it: {match[1]}: "{value}"'
        what = "this line is indented deeper than the one above, which already has a value"
        return line, len(here) - len(here.lstrip()) + 1, what, "Indent both lines alike."
    if "could not find expected ':'" in said and opened:
        alone = lines[opened.line].strip()
        column = opened.column + 1
        if match := re.match(r"(- )?([A-Za-z][\w ]*):(\S.*)$", alone):
            what = "a space is missing after the colon"
            return opened.line + 1, column, what, f"Write {match[2]}: {match[3]}"
        what = f"{alone[:40]!r} is neither a key with a value nor part of the line above"
        return opened.line + 1, column, what, "Write KEY: VALUE, or put # before a remark."
    return None


def _quotes(
    said: str, context: str, here: str, line: int, column: int, opened: Any, lines: list[str]
) -> Found:
    if "quoted scalar" in context or "quoted scalar" in said:
        at_line, at_column = (opened.line + 1, opened.column + 1) if opened else (line, column)
        if "escape" in said:
            what = "a backslash in double quotes begins a special character, and this is none"
            return line, column, what, "Double the backslash, or use single quotes."
        mark = lines[at_line - 1][at_column - 1 : at_column]
        return (
            at_line,
            at_column,
            f"the quote {mark} is opened here and never closed",
            (f"Put {mark} at the end of the value."),
        )
    left = here[: column - 1].rstrip()
    if "did not find expected key" in said and re.search(r"['\"]$", left):
        what = "something follows a closing quote"
        mend = "Inside single quotes write '' for an apostrophe; inside double quotes \\\" for \"."
        return line, column, what, mend
    return None


def _brackets(
    said: str, context: str, here: str, line: int, column: int, opened: Any, lines: list[str]
) -> Found:
    if "flow" in context and opened:
        at_line, at_column = opened.line + 1, opened.column + 1
        start = lines[opened.line]
        close = "}" if "mapping" in context else "]"
        comment = re.search(r"\s#", start[opened.column :])
        if comment:
            at = opened.column + comment.start() + 2
            what = f"everything from # on is a comment here, also the {close} that closes the line"
            return at_line, at, what, 'Quote the value that holds the #: "# 7".'
        if line == at_line:
            return (
                line,
                column,
                "a comma is missing here between two values",
                ("In a one-line form a comma stands between values."),
            )
        opening = start[opened.column]
        what = f"the {opening} that opens here is never closed"
        return at_line, at_column, what, f"Put {close} at its end."
    if here[column - 1 : column] in ("}", "]") and column > 1:
        what = f"one {here[column - 1]} too many closes here"
        return line, column, what, "Take it out, or quote it if it belongs to the text."
    return None


def _indentation(
    said: str, context: str, here: str, line: int, column: int, opened: Any, lines: list[str]
) -> Found:
    if "expected '-' indicator" in said or "block sequence" in context:
        what = "this line stands among list entries but begins with no dash"
        return line, column, what, "Begin it with a dash, or indent it like the key above the list."
    if "expected key" in said or "block end" in said:
        what = "this line is indented differently from its neighbours"
        mend = "Keys of one group begin in the same column; count the spaces."
        return line, column, what, mend
    return None
