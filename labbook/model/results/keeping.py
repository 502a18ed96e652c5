"""Results of keeping a notebook: started, looked at, checked, shown as a demo."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from labbook.model.problems import Problem
from labbook.model.results.common import BatchLabel, FormulaState, Next
from labbook.model.results.thinking import Comparison
from labbook.model.results.why import NextBatch, Why


@dataclass(frozen=True, slots=True, kw_only=True)
class Started:
    """A notebook that was started, or one that was there and got what it lacked."""

    folder: str
    title: str
    new: bool
    repository: str
    identity: str
    written: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """What there is to do: open batches, changed formulas, what is half-done.

    `without_git` says why nothing is known of versions, where git is missing.
    """

    title: str
    day: str
    weekday: str
    stopped: bool
    open: tuple[BatchLabel, ...]
    changed: tuple[tuple[FormulaState, tuple[str, ...]], ...]
    formulas: tuple[FormulaState, ...]
    batches: int
    unreadable: tuple[str, ...]
    leftovers: tuple[str, ...]
    then: tuple[Next, ...]
    looks_due: int = 0
    looks_overdue: int = 0
    unexplained: tuple[str, ...] = ()
    without_git: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """All findings, and what was looked at and what was not.

    `commits` is how many were walked with `--history`; 0 without.
    """

    scope: str
    formulas: int
    batches: int
    looks: int
    problems: tuple[Problem, ...]
    accepted: tuple[Problem, ...]
    not_checked: tuple[str, ...]
    commits: int = 0

    @property
    def errors(self) -> int:
        """How many findings are errors; `check` then ends with exit code 1."""
        return sum(1 for problem in self.problems if problem.severity.rank == 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """A line of a file before and after mending, with its line end."""

    path: str
    line: int
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """The sample notebook, replayed."""

    folder: str
    head: str
    today: str
    formulas: tuple[FormulaState, ...]
    steps: int
    story: str
    site: str
    pair: Comparison[Any]
    why: Why
    next: NextBatch
    then: tuple[Next, ...]
