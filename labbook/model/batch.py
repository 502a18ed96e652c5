"""A batch as it stands in its file: the making.

Lists of entries only grow. An entry is never written over: a weighing is struck with a reason, and
after closing a correction stands beside the first figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from labbook.model.fields import (
    CLOSED,
    AnyQuantity,
    EntryId,
    Mass,
    Moment,
    Name,
    Number,
    SignedNumber,
    Span,
    Temperature,
    Text,
    Whole,
    YesNo,
    one_of,
)
from labbook.model.formula import Step

STATES = ("open", "closed")
KNOWN_FROM = ("paper", "memory")
PARENTAGE = ("split", "rework", "control")


def pin_name(code: str, version: int, trial_of: int | None) -> str:
    """What a batch is made of: `SBC@2`, or `trial of SBC@1`."""
    return f"{code}@{version}" if trial_of is None else f"trial of {code}@{trial_of}"


KnownFrom = Annotated[str, one_of(*KNOWN_FROM)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """The exact formula content: code, number, digest, blob; the commit is a hint only.

    A trial batch is made from a content that is no version: `version` is then 0, `trial_of` the
    version that it departs from, and the content stands in `formula.yaml` beside the batch.
    """

    __pydantic_config__ = CLOSED

    code: Name
    id: EntryId
    version: Whole
    digest: Text
    blob: Text
    commit: Text | None = None
    trial_of: Whole | None = None

    @property
    def name(self) -> str:
        """`SBC@2`, or `trial of SBC@1`."""
        return pin_name(self.code, self.version, self.trial_of)


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchLine:
    """A line as resolved when the batch was opened: the copy stands though history be lost.

    `sheet` is the ingredient's permanent id; `qs` marks the line that filled up to 100 %.
    """

    __pydantic_config__ = CLOSED

    id: EntryId
    phase: Name
    ingredient: Name
    sheet: Name
    percent: Number | None = None
    qs: YesNo | None = None
    adjust: Text | None = None
    role: Text | None = None
    target: Mass | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """What the balance showed for a line, or for something added that no line foresaw."""

    __pydantic_config__ = CLOSED

    id: EntryId
    line: EntryId | None = None
    ingredient: Name | None = None
    phase: Name | None = None
    mass: Mass
    lot: Name | None = None
    batch: Name | None = None
    time: Moment | None = None
    balance: Name | None = None
    as_target: YesNo | None = None
    known_from: KnownFrom | None = None
    struck: Text | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What was really done in a step; a key that is absent was not recorded."""

    __pydantic_config__ = CLOSED

    temperatures: dict[str, Temperature] | None = None
    started: Moment | None = None
    ended: Moment | None = None
    took: Span | None = None
    hold: Span | None = None
    mixed: Span | None = None
    speed: Text | None = None
    rate: Text | None = None
    with_: Text | None = None
    stirred_until: Temperature | None = None
    seen: Text | None = None
    skipped: Text | None = None
    known_from: KnownFrom | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchStep:
    """A step of the method as planned, and as done."""

    __pydantic_config__ = CLOSED

    id: EntryId
    plan: Step | None = None
    done: Done | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A measured or observed value, with what it was measured in.

    `value` for a figure, `seen` for an observation in words (`emulsion type`: water-in-oil).
    `by` is how it was taken, `rest` how long the sample had stood.
    """

    __pydantic_config__ = CLOSED

    id: EntryId
    reading: Text
    value: SignedNumber | None = None
    seen: Text | None = None
    unit: Text | None = None
    uncertainty: Number | None = None
    of: Text | None = None
    step: EntryId | None = None
    with_: Name | None = None
    by: Text | None = None
    at: Temperature | None = None
    rest: Span | None = None
    time: Moment | None = None
    known_from: KnownFrom | None = None
    struck: Text | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """Where the making departed from the method."""

    __pydantic_config__ = CLOSED

    id: EntryId
    text: Text
    step: EntryId | None = None
    line: EntryId | None = None
    time: Moment | None = None
    known_from: KnownFrom | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """Something said about the making that is neither a reading nor a deviation."""

    __pydantic_config__ = CLOSED

    id: EntryId
    text: Text
    step: EntryId | None = None
    time: Moment | None = None
    private: YesNo | None = None
    known_from: KnownFrom | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """A later change to a closed batch: old and new value stand side by side, with the reason.

    `of` is the id of an entry, `room`, `tools`, `batch`, or `readings` for a reading that nobody
    had written down, under its name and medium as `key`; a line's id for its first weight. `was`
    is absent where nothing stood there, `now` where it is taken away.
    """

    __pydantic_config__ = CLOSED

    id: EntryId
    of: Text
    key: Text | None = None
    was: Text | None = None
    now: Text | None = None
    why: Text
    who: Text | None = None
    time: Moment
    known_from: KnownFrom | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Parent:
    """A batch that this one was made from."""

    __pydantic_config__ = CLOSED

    batch: Name
    mass: Mass | None = None
    how: Annotated[str, one_of(*PARENTAGE)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The air of the room while making."""

    __pydantic_config__ = CLOSED

    temperature: Temperature | None = None
    humidity: AnyQuantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """The equipment of the batch, by the names of their files."""

    __pydantic_config__ = CLOSED

    balance: Name | None = None
    mixer: Name | None = None
    meter: Name | None = None
    thermometer: Name | None = None
    vessel: Name | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropped:
    """The batch is kept, but out of every list."""

    __pydantic_config__ = CLOSED

    time: Moment
    why: Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One making of one version.

    `asks` names the failed and the good batch that a trial, or the repeat beside it, was made to
    tell apart.
    """

    __pydantic_config__ = CLOSED

    id: Name
    state: Annotated[str, one_of(*STATES)]
    made: Moment
    known_from: KnownFrom | None = None
    maker: Text | None = None
    aim: Text | None = None
    changes: Text | None = None
    asks: tuple[Name, ...] = ()
    formula: Pin
    size: Mass
    from_: tuple[Parent, ...] = ()
    session: Text | None = None
    room: Room | None = None
    tools: Tools | None = None
    lines: tuple[BatchLine, ...] = ()
    steps: tuple[BatchStep, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    readings: tuple[Reading, ...] = ()
    deviations: tuple[Deviation, ...] = ()
    remarks: tuple[Remark, ...] = ()
    yield_: Mass | None = None
    closed: Moment | None = None
    corrections: tuple[Correction, ...] = ()
    dropped: Dropped | None = None
    public: Text | None = None
    notes: Text | None = None

    @property
    def short(self) -> str:
        """The two characters that are large on the jar."""
        return self.id.rsplit("-", 1)[-1]
