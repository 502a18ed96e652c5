"""Errors that a maker can cause or meet, and the exit code that each of them ends with.

Every error says where, what, and how to mend it. Exceptions carry data; the boundary in
`labbook.cli` prints them. Problems *in* a file are values (`labbook.model.problems`), because one
bad file never hides the state of the other ninety-nine.
"""

from __future__ import annotations

FINE = 0
FINDINGS = 1
USAGE = 2
UNREADABLE = 3
GIT_REFUSED = 4
UNEXPECTED = 70
INTERRUPTED = 130
BROKEN_PIPE = 141


class LabbookError(Exception):
    """Something that stops a command, said in the maker's words.

    Args:
        what: what is so, one or two sentences.
        where: file, batch or formula that it is about; may be empty.
        mend: how to go on, usually a command or the line to type.
    """

    exit_code = USAGE

    def __init__(self, what: str, *, where: str = "", mend: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.mend = mend


class NotANotebook(LabbookError):
    """No notebook here or above."""


class UnknownName(LabbookError):
    """A code, version, batch, jar, ingredient or lot that the notebook doesn't hold."""


class Unclear(LabbookError):
    """What was typed can mean several things, or nothing; the choices are in the message."""


class NotAllowed(LabbookError):
    """The records forbid it: a closed batch, a weighing already struck, a date out of order."""


class Unreadable(LabbookError):
    """A file that this command needs can't be read."""

    exit_code = UNREADABLE


class ChangedMeanwhile(LabbookError):
    """A file changed between reading and writing it; nothing was overwritten."""

    exit_code = UNREADABLE


class GitRefused(LabbookError):
    """Git is missing or declined; what was recorded stays on the disk."""

    exit_code = GIT_REFUSED
