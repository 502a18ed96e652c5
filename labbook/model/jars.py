"""A batch's jars, where each stood, and the looks at them, as they stand in their files.

The list of looks only grows: a look is struck or corrected beside, never written over.
"""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.batch import Correction, KnownFrom
from labbook.model.fields import (
    CLOSED,
    AnyQuantity,
    EntryId,
    Length,
    Mass,
    Moment,
    Name,
    SignedNumber,
    Span,
    Speed,
    Temperature,
    Text,
    Whole,
)
from labbook.model.formula import Mode


@dataclass(frozen=True, slots=True, kw_only=True)
class Jar:
    """One filled container; who has it is private."""

    __pydantic_config__ = CLOSED

    id: EntryId
    jar: Text
    container: Text | None = None
    mass: Mass | None = None
    filled: Moment | None = None
    fill_level: AnyQuantity | None = None
    given_to: Text | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """Where a jar stood from when on, and under which condition."""

    __pydantic_config__ = CLOSED

    id: EntryId
    jar: Text
    condition: Text
    place: Text | None = None
    since: Moment


@dataclass(frozen=True, slots=True, kw_only=True)
class JarDone:
    """From then on a jar is asked for no more where it stands: enough was seen of it."""

    __pydantic_config__ = CLOSED

    id: EntryId
    jar: Text
    time: Moment
    why: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Jars:
    """The jars of one batch."""

    __pydantic_config__ = CLOSED

    batch: Name
    protocol: Name | None = None
    jars: tuple[Jar, ...] = ()
    stays: tuple[Stay, ...] = ()
    done: tuple[JarDone, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One observation of one jar (or `bulk`) at one time; the absence of a key is unknown.

    Without `planned` and `cycle` it was off the plan. `by` says how a reading was taken, where that
    has to be the same for two to be compared: `200 g, 60 s`. `speed`, `radius` (from the axis to
    the sample) and `spun` are of a run in a centrifuge: a sample was spun, the jar stays as it was.
    """

    __pydantic_config__ = CLOSED

    id: EntryId
    jar: Text
    time: Moment
    planned: Span | None = None
    cycle: Whole | None = None
    condition: Text | None = None
    grade: Whole | None = None
    modes: tuple[Mode, ...] = ()
    extent: Text | None = None
    layer: Length | None = None
    rest: Span | None = None
    at: Temperature | None = None
    speed: Speed | None = None
    radius: Length | None = None
    spun: Span | None = None
    reading: Text | None = None
    value: SignedNumber | None = None
    unit: Text | None = None
    by: Text | None = None
    photo: Text | None = None
    who: Text | None = None
    known_from: KnownFrom | None = None
    struck: Text | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stability:
    """The looks of one batch; the list only grows."""

    __pydantic_config__ = CLOSED

    batch: Name
    looks: tuple[Look, ...] = ()
    corrections: tuple[Correction, ...] = ()
