"""Results about formulas: written, saved, shown, restored."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from labbook.model.formula import Formula
from labbook.model.problems import Problem
from labbook.model.results.common import BatchLabel, FormulaState

if TYPE_CHECKING:
    from labbook.model.versions import Version


@dataclass(frozen=True, slots=True, kw_only=True)
class FormulaWritten:
    """A new formula file, with the sheets that came with it and the names that have none."""

    code: str
    path: str
    title: str
    parent: str | None
    sheets: tuple[str, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Saved:
    """What `save` did with one formula.

    `number` is the version it now has; `new` tells whether that number is new; `what` is the
    difference in short lines; `findings` are what doesn't add up (a draft may be saved).
    """

    code: str
    number: int
    new: bool
    committed: bool
    what: tuple[str, ...]
    same_as: int | None = None
    findings: tuple[str, ...] = ()
    sheets: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownLine:
    """A line of a formula as shown: percents and masses are text with their digits."""

    phase: str
    ingredient: str
    title: str
    percent: str
    qs: bool
    adjust: str
    role: str
    known: bool
    mass: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownFigure:
    """A figure that follows from a formula: `key` is its stable name, `text` what a screen shows.

    `least` and `most` are its bounds, equal where it is known. `told` says whether the screen
    shows it; the plain data hold all.
    """

    key: str
    what: str
    text: str
    unit: str
    least: str
    most: str
    told: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class FormulaShown:
    """A formula content with totals, its standing, its batches, and what follows from it.

    `not_known` says in short sentences what keeps figures from being known.
    """

    name: str
    when: str
    formula: Formula
    state: FormulaState | None
    lines: tuple[ShownLine, ...]
    phase_totals: tuple[tuple[str, str, str], ...]
    total: str
    water_phase: str | None
    findings: tuple[str, ...]
    batches: tuple[BatchLabel, ...]
    problems: tuple[Problem, ...] = ()
    figures: tuple[ShownFigure, ...] = ()
    not_known: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """A formula set back to an earlier content, under a new number."""

    code: str
    number: int
    from_name: str
    already: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """What `undo` took back, by a new commit."""

    subject: str
    commit: str
    when: str
    paths: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedVersion:
    """A version in the log: what changed in it, and the batches made of it."""

    version: Version
    said: str
    what: tuple[str, ...]
    batches: tuple[BatchLabel, ...]
    difference: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """The versions of a formula, newest first."""

    state: FormulaState
    changed: tuple[str, ...]
    entries: tuple[LoggedVersion, ...]
    loose_batches: tuple[BatchLabel, ...] = ()
