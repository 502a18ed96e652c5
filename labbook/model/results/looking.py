"""Results of looking: what is due, what was seen, what became of jars and batches."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from labbook.model.batch import pin_name
from labbook.model.formula import FAILURE_MODES, Limit
from labbook.model.quantities import Quantity
from labbook.model.results.common import Next
from labbook.model.results.why import Lesson

INTACT = "intact"
FAILED = "failed"
NOT_WATCHED = "not watched"
DAYS = "days"
CYCLES = "cycles"
RUN = "run"
"""A run in a centrifuge is counted in nothing: it is a test that fails or doesn't."""

_PLACE = {mode: number for number, mode in enumerate(FAILURE_MODES)}


@dataclass(frozen=True, slots=True, kw_only=True)
class JarOutcome:
    """What became of one jar in one condition, for one group of failure.

    `last_intact` and `first_failed` are days since filling (or since the jar was put there), or
    cycles of freezing and thawing: whole days, below one day hours as a fraction of it; 1 for a run
    in a centrifuge. None is "never seen so". `modes` and `grade` are of the first look that failed;
    `worst_grade` is of all looks that counted. `ended_by` is the group whose failure ended the
    watching for this one.
    """

    batch: str
    jar: str
    condition: str
    group: str
    unit: str = DAYS
    state: str = NOT_WATCHED
    last_intact: float | None = None
    first_failed: float | None = None
    modes: tuple[str, ...] = ()
    grade: int | None = None
    worst_grade: int | None = None
    last_look: date | None = None
    ended_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchOutcome:
    """What became of one batch in one condition, for one group of failure.

    Its interval comes from its jars: `last_intact` is the smallest of theirs, `first_failed` the
    smallest too. `while_making` marks a failure seen on the bulk, at time 0. `split_from` names the
    batches that it was split from: sisters share all that happened before and count once for it.
    `wanted_until` is how long the acceptance limits ask for, in the same unit.
    """

    batch: str
    code: str
    version: int
    condition: str
    group: str
    unit: str = DAYS
    state: str = NOT_WATCHED
    last_intact: float | None = None
    first_failed: float | None = None
    modes: tuple[str, ...] = ()
    grade: int | None = None
    worst_grade: int | None = None
    while_making: bool = False
    split_from: tuple[str, ...] = ()
    wanted_until: float | None = None
    by_jar: tuple[JarOutcome, ...] = ()

    @property
    def short(self) -> str:
        """The two characters that are large on the jar."""
        return self.batch.rsplit("-", 1)[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Noticed:
    """Something seen that no limit judges: a mode without a limit, a grade without a mode."""

    jar: str
    condition: str
    point: float
    unit: str
    modes: tuple[str, ...]
    grade: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DueLook:
    """A look that a protocol asks for.

    `point` is the planned age; for freezing and thawing `cycle` is; off the plan neither. `day` is
    the date on which it falls due; `missed` counts earlier points that nobody looked at. `why` says
    what is special.
    """

    batch: str
    short: str
    code: str
    version: int
    jar: str
    condition: str
    day: date
    state: str  # overdue, today, coming
    point: Quantity | None = None
    cycle: int | None = None
    note: str = ""
    why: str = ""
    missed: int = 0
    trial_of: int | None = None

    @property
    def name(self) -> str:
        """`7K.1`."""
        return jar_name(self.short, self.jar)

    @property
    def of(self) -> str:
        """`SBC@2`, or `trial of SBC@1`."""
        return pin_name(self.code, self.version, self.trial_of)


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Jars to look at: overdue, today, the coming week."""

    day: date
    overdue: tuple[DueLook, ...] = ()
    today: tuple[DueLook, ...] = ()
    coming: tuple[DueLook, ...] = ()
    without_protocol: tuple[str, ...] = ()
    then: tuple[Next, ...] = ()

    @property
    def now(self) -> tuple[DueLook, ...]:
        """What to look at today, overdue first."""
        return self.overdue + self.today


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """A look that was written down, repeated back; cautions are said once.

    `lesson` is what a trial batch told, now that this look is in.
    """

    id: str
    short: str
    jar: str
    entry: str
    said: str
    state: str = ""
    cautions: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    lesson: Lesson | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How many of a kind failed until an age, with exact bounds for the true share.

    `group` is the group of failure, empty for any; `what` is batches or jars. `low` and `high` are
    one-sided bounds at 95 % where none or all failed, else they hold together at 95 %. `undecided`
    were not watched until then, or were made less long ago; so many of them as `widened` says were
    made long enough ago, and widen the bounds by what can have become of them. `later` failed after
    the age.
    """

    condition: str
    group: str
    unit: str
    what: str
    until: float
    failed: int
    of: int
    low: float
    high: float
    undecided: tuple[str, ...] = ()
    widened: int = 0
    later: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeRow:
    """One batch of a table of outcomes, or one of its jars: its headline and its intervals.

    `corrections` counts what was corrected later, of its making and its looks. `runs` are its runs
    in a centrifuge, in words.
    """

    batch: str
    short: str
    made: str
    age: int
    headline: str
    outcomes: tuple[BatchOutcome, ...] = ()
    noticed: tuple[Noticed, ...] = ()
    departures: tuple[str, ...] = ()
    young: bool = False
    jar: str = ""
    corrections: int = 0
    runs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeGroup:
    """Batches or jars that have something in common, newest first, and how many of them failed."""

    name: str
    rows: tuple[OutcomeRow, ...]
    counts: tuple[Count, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeTable:
    """What became of a formula's batches, by version or by something else.

    `conditions` are the columns, room first; `counted_in` is the one that the counts are about.
    `accelerated` are those that are tests beside real time. `asked_for` is what the formula asks
    for. `left_out` are dropped batches with the reason. `compared` says what two groups tell, and
    `failing` how failures come with age.
    """

    code: str
    title: str
    day: date
    conditions: tuple[str, ...]
    groups: tuple[OutcomeGroup, ...]
    by: str = "version"
    by_jar: bool = False
    counted_in: str = ""
    accelerated: tuple[str, ...] = ()
    asked_for: tuple[Limit, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    compared: str = ""
    failing: tuple[tuple[str, str], ...] = ()
    then: tuple[Next, ...] = ()


def jar_name(short: str, jar: str) -> str:
    """`7K.1`, also where the file names the jar with its batch already."""
    return jar if jar.upper().startswith(f"{short.upper()}.") else f"{short}.{jar}"


def modes_in_order(modes: set[str] | frozenset[str] | tuple[str, ...]) -> tuple[str, ...]:
    """Modes once each, in the order of the trade's list; what isn't in it comes last."""
    return tuple(sorted(set(modes), key=lambda mode: (_PLACE.get(mode, len(_PLACE)), mode)))
