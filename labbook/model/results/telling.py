"""Results of telling: entries written, things made public, the journal checked and built."""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.problems import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryWritten:
    """A new entry of the journal."""

    path: str
    title: str
    day: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """A formula, batch or entry that was made public or private.

    `also` names the batches that are public now, or private again, because their formula is.
    """

    name: str
    path: str
    word: str
    before: str
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalState:
    """What the journal would publish, against what it published last.

    `new`, `changed` and `gone` are names like `version SBC@3`; `things` counts all that is public,
    by kind. `first` says that nothing was published yet.
    """

    things: tuple[tuple[str, int], ...]
    hidden: tuple[tuple[str, int], ...]
    new: tuple[str, ...]
    changed: tuple[str, ...]
    gone: tuple[str, ...]
    first: bool
    problems: tuple[Problem, ...]

    @property
    def errors(self) -> int:
        """How many findings are errors; `journal check` then ends with exit code 1."""
        return sum(1 for problem in self.problems if problem.severity.rank == 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """The site as it was written: where, how many pages, what was written and taken away.

    `left` names files that are no part of it any more and were changed by somebody since: they are
    left alone. `branch` is the branch that holds it, `commit` its new commit; empty without one.
    """

    folder: str
    index: str
    pages: int
    written: int
    removed: int
    state: JournalState
    left: tuple[str, ...] = ()
    branch: str = ""
    commit: str = ""
