"""A problem found in a notebook, as a value with its place."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Severity(Enum):
    """How much a problem matters; the order is the order on screen."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for an error, 1 for a warning, 2 for a note."""
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where in the notebook: path from its root, line and column from 1 (0: the whole file)."""

    path: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        if not self.line:
            return self.path
        return f"{self.path}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong at a place, and how to mend it.

    `rule` is the stable name under which `help RULE` explains it and a notebook may accept it;
    `about` names the formula, batch or sheet that it concerns, where there is one; `commit` is the
    full id of the commit that brought it, where history knows.
    """

    severity: Severity
    rule: str
    place: Place
    what: str
    mend: str = ""
    source: str = ""
    about: str = ""
    commit: str = ""

    @property
    def sort_key(self) -> tuple[int, Place, str, str]:
        """Errors first, then by place; the same order on every machine."""
        return (self.severity.rank, self.place, self.rule, self.what)
