"""Results of making: batches opened, weighed, noted, closed, corrected, shown."""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.batch import Batch
from labbook.model.jars import Jars, Stability
from labbook.model.results.actual import MadeOf
from labbook.model.results.common import BatchLabel
from labbook.model.results.formulas import Saved
from labbook.model.results.photos import Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A batch that was opened."""

    batch: Batch
    path: str
    saved: Saved | None
    findings: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    parents: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighLine:
    """A line at the bench: target and what was weighed so far, in grams as text."""

    line: str
    phase: str
    ingredient: str
    percent: str
    target: str
    weighed: str = ""
    left: str = ""
    over: str = ""
    lot: str = ""
    qs: bool = False
    adjust: str = ""
    warning: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TooMuch:
    """A line that holds too much, and the three ways on, in grams as text.

    Left in, it is `leave_percent` of `leave_size`. With the rest weighed up to it the batch is
    `rest_size`; `cant_follow` are combined already and `keep` hold more than they then should.
    Taking it out again can't be done where it is `combined`. Texts are empty where it can't be
    known, for want of the weights of `missing`.
    """

    line: str
    ingredient: str
    over: str
    leave_percent: str
    leave_size: str
    rest_size: str
    cant_follow: tuple[str, ...]
    keep: tuple[str, ...]
    combined: bool
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """The bench after weighing: every line, and how many are still open.

    `apart` is a part of another batch: its lines came with it and none of them is open. `slips` are
    lines that just got too much.
    """

    id: str
    short: str
    code: str
    version: int
    made_of: str
    size: str
    balance: str
    lines: tuple[WeighLine, ...]
    unplanned: tuple[WeighLine, ...] = ()
    total: str = ""
    recorded: tuple[str, ...] = ()
    apart: bool = False
    slips: tuple[TooMuch, ...] = ()

    @property
    def open_lines(self) -> tuple[WeighLine, ...]:
        """Lines that nothing was weighed for."""
        return () if self.apart else tuple(line for line in self.lines if not line.weighed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """An entry that was written down, repeated back in words."""

    id: str
    short: str
    what: tuple[str, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """A batch that was closed, with its jars and where each stands."""

    id: str
    short: str
    code: str
    version: int
    made_of: str
    yield_text: str
    loss: str
    jars: tuple[tuple[str, str, str], ...]
    protocol: str
    unweighed: tuple[str, ...]
    not_recorded: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """A correction that now stands beside the first figure."""

    short: str
    what: str
    was: str
    now: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchShown:
    """Everything that was recorded about a batch; of reactions only how many there are."""

    batch: Batch
    title: str
    path: str
    bench: Weighed
    jars: Jars | None
    stability: Stability | None
    children: tuple[BatchLabel, ...] = ()
    outcome: str = ""
    made_of: MadeOf | None = None
    photos: tuple[Picture, ...] = ()
    reactions: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchList:
    """Batches, newest first; dropped ones only when asked for."""

    batches: tuple[BatchLabel, ...]
    dropped: int = 0
    code: str = ""
