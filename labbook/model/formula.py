"""A formula as it stands in its file, and the words that it may use."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from labbook.model.fields import (
    CLOSED,
    EntryId,
    Mass,
    Name,
    Number,
    Percent,
    SignedNumber,
    Span,
    Temperature,
    Text,
    Whole,
    one_of,
)

EMULSIONS = ("water-in-oil", "oil-in-water", "anhydrous", "gel", "solution", "surfactant")
USES = ("leave-on", "rinse-off")
ACTS = (
    "weigh", "disperse", "hydrate", "melt", "heat", "hold", "combine", "mix", "whip", "cool",
    "add", "adjust", "rest", "pour", "fill", "other",
)  # fmt: skip
FAILURE_MODES = (
    "separation", "oil on top", "oil beads", "water beads", "water below", "cream layer",
    "inversion", "never formed",
    "structure", "grains", "lumps", "crystals", "thinner", "thicker",
    "microbial", "mould", "gas", "spoiled smell",
    "chemical", "pH", "colour", "rancid smell",
    "pack", "shrinkage", "leak", "swelling",
)  # fmt: skip

Emulsion = Annotated[str, one_of(*EMULSIONS)]
Use = Annotated[str, one_of(*USES)]
Act = Annotated[str, one_of(*ACTS)]
Mode = Annotated[str, one_of(*FAILURE_MODES)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One ingredient at one percent in one phase.

    `percent` is a number in percent by weight, `qs`, or with `adjust` the amount expected; with
    `active_percent` it is what `save` worked out from the sheet's active content.
    """

    __pydantic_config__ = CLOSED

    ingredient: Name
    percent: Percent | None = None
    active_percent: Number | None = None
    adjust: Text | None = None
    role: Text | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """Lines that are handled together, under a letter."""

    __pydantic_config__ = CLOSED

    phase: Name
    name: Text | None = None
    lines: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of the method with its set points."""

    __pydantic_config__ = CLOSED

    id: EntryId
    do: Act
    set: dict[str, Temperature] | None = None
    hold: Span | None = None
    add: Text | None = None
    into: Text | None = None
    rate: Text | None = None
    over: Span | None = None
    with_: Text | None = None
    speed: Text | None = None
    for_: Span | None = None
    then_mix: Span | None = None
    stir_until: Temperature | None = None
    at: Temperature | None = None
    below: Temperature | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A range that a reading should fall into, and what it is measured in."""

    __pydantic_config__ = CLOSED

    of: Text
    reading: Text
    from_: SignedNumber | None = None
    to: SignedNumber | None = None
    unit: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What a jar may still look like in a condition until an age."""

    __pydantic_config__ = CLOSED

    condition: Text
    until: Span | None = None
    cycles: Whole | None = None
    modes: tuple[Mode, ...] = ()
    worst_grade: Whole | None = None
    reading: Text | None = None
    from_: SignedNumber | None = None
    to: SignedNumber | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """A formula file: a recipe in percent by weight, with its method and what it must hold."""

    __pydantic_config__ = CLOSED

    code: Name
    title: Text
    id: EntryId
    version: Whole = 0
    from_: Text | None = None
    emulsion: Emulsion
    use: Use | None = None
    batch_size: Mass | None = None
    phases: tuple[Phase, ...] = ()
    method: tuple[Step, ...] = ()
    targets: tuple[Target, ...] = ()
    acceptance: tuple[Limit, ...] = ()
    protocol: Name | None = None
    public: Text | None = None
    notes: Text | None = None

    @property
    def lines(self) -> tuple[tuple[Phase, Line], ...]:
        """All lines with their phase, in the order of the file."""
        return tuple((phase, line) for phase in self.phases for line in phase.lines)
