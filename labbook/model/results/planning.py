"""Results of planning looks: every look that a protocol asks for, jar by jar."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from labbook.model.quantities import Quantity
from labbook.model.results.common import Next
from labbook.model.results.looking import jar_name

DONE = "done"
DUE = "due"
OVERDUE = "overdue"
COMING = "coming"
MISSED = "missed"
ENDED = "ended"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLook:
    """One look that a protocol asks for, and what became of it.

    `point` is the age, or `cycle` the number of the cycle; `day` is the date on which it falls due,
    of a look that was made the date of the look. `state` is done, due (today), overdue, coming,
    missed (the age is over, and a later one was reached), or ended (the jar is done).
    """

    point: Quantity | None
    cycle: int | None
    day: date
    state: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffPlan:
    """A look that no plan asked for: after a heat wave, at a jar that came back.

    `point` is the age in days, or in cycles, as `unit` says.
    """

    point: float
    unit: str
    day: date
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedJar:
    """The looks of one jar in the condition in which it stands."""

    short: str
    jar: str
    condition: str
    since: date
    looks: tuple[PlannedLook, ...] = ()
    off_plan: tuple[OffPlan, ...] = ()

    @property
    def name(self) -> str:
        """`7K.1`."""
        return jar_name(self.short, self.jar)


@dataclass(frozen=True, slots=True, kw_only=True)
class StabilityPlan:
    """The looks that are planned for a batch.

    `protocol` is the protocol's name, empty where there is none; `named_by` says what names it:
    the batch, the formula, or the notebook. `before` and `written` are filled where the plan was
    changed: the protocol until now, and the files that were written.
    """

    id: str
    short: str
    of: str
    protocol: str
    title: str
    named_by: str
    day: date
    jars: tuple[PlannedJar, ...]
    before: str = ""
    written: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    then: tuple[Next, ...] = ()
