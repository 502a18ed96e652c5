"""Rules of the trade as they stand in a file: limits, pairs, checks, causes of failure.

The program's own stand in `labbook/rules/`, a notebook's in its `rules/NAME.yaml`, alike in form.
A notebook's row takes the place of the program's row of the same name, so that a maker can
sharpen, soften or switch off what doesn't hold for them; a name of its own adds a rule.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from labbook.model.fields import (
    CLOSED,
    EntryId,
    Moment,
    Name,
    Number,
    SignedNumber,
    Text,
    YesNo,
    one_of,
)
from labbook.model.formula import Act, Emulsion, Use
from labbook.model.materials import CHARGES, FUNCTIONS, SOLUBLE_IN

SEVERITIES = ("error", "warning", "note", "off")
WHERE = ("formula", "water phase", "oil phase", "oils", "other phase")
GROUPS = ("separation", "structure", "microbial", "chemical", "pack")
STRENGTHS = ("known", "plausible", "weak", "disputed")
DIRECTIONS = ("more helps", "more hurts", "optimum", "depends")
FACTORS = (
    "amount", "phase of entry", "order", "temperature", "gap", "time", "hold", "rate", "speed",
    "shear", "stir until", "device", "lot", "supplier", "grade", "pH", "size", "room", "session",
    "water phase", "substitution", "evaporation", "fill temperature", "container", "fill level",
    "place", "skipped", "other",
)  # fmt: skip

_Function = Annotated[str, one_of(*FUNCTIONS)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Selector:
    """Which lines are meant: those named, and those whose sheet (or role) has all other keys.

    `functions` asks for any of them; `roles` for any, as a line's `role:` or a sheet's function.
    """

    __pydantic_config__ = CLOSED

    ingredients: tuple[Name, ...] = ()
    functions: tuple[_Function, ...] = ()
    roles: tuple[Text, ...] = ()
    charge: Annotated[str, one_of(*CHARGES)] | None = None
    soluble_in: Annotated[str, one_of(*SOLUBLE_IN)] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LegalLimit:
    """The highest share of an ingredient that a text allows, in percent of the finished product.

    `counted_as` is the ingredient as which the amount is reckoned (`benzoic-acid` for its salts),
    None as supplied. Several `ingredients` count together. `condition` is what the program can't
    test, in words. `read` is the day of the text that was read; a row known to have `changed` since
    is not compared with.
    """

    __pydantic_config__ = CLOSED

    name: EntryId
    region: Text
    ingredients: tuple[Name, ...] = ()
    counted_as: Name | None = None
    use: Use | None = None
    highest: Number
    condition: Text | None = None
    text: Text
    read: Moment
    changed: Text | None = None
    source: Text
    severity: Annotated[str, one_of(*SEVERITIES)] = "error"


@dataclass(frozen=True, slots=True, kw_only=True)
class BadPair:
    """Two kinds of ingredient that don't go together, and why.

    `emulsions` limits it to some types; `same_phase` to lines that meet in one phase; `above_pH`
    and `below_pH` to a pH that the formula aims for or was measured.
    """

    __pydantic_config__ = CLOSED

    rule: EntryId
    severity: Annotated[str, one_of(*SEVERITIES)] = "warning"
    one: Selector
    other: Selector
    emulsions: tuple[Emulsion, ...] = ()
    same_phase: YesNo | None = None
    above_pH: SignedNumber | None = None
    below_pH: SignedNumber | None = None
    what: Text
    why: Text
    mend: Text
    source: Text


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRule:
    """A rule of `check`: how much it matters, for which types, from which figures on, and why.

    The program's own rules know their figures by name (`figures`, units in the key: `gap in °C`).
    A rule with `of` is a plain bound, which a notebook can add: what the selector picks must lie
    between `from` and `to` percent of `where`.
    """

    __pydantic_config__ = CLOSED

    rule: EntryId
    severity: Annotated[str, one_of(*SEVERITIES)] | None = None
    title: Text | None = None
    emulsions: tuple[Emulsion, ...] = ()
    figures: dict[str, SignedNumber] | None = None
    of: Selector | None = None
    where: Annotated[str, one_of(*WHERE)] | None = None
    from_: SignedNumber | None = None
    to: SignedNumber | None = None
    what: Text | None = None
    why: Text | None = None
    mend: Text | None = None
    source: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseRule:
    """What the trade holds to be a cause of failure, and how sure it is.

    `factor` is the kind of difference, `of` the ingredients that it is about, `step` the act of the
    method; `with_` names ingredients that the formula must hold for the rule to speak at all.
    `direction` says what more of it does to the groups of failure in `groups`. `matters_from` is
    the difference from which it counts, `full` the one at which it counts fully, both in `unit`:
    `points` (percent of the formula), `share` (of the line's own amount), `°C`, `times` (a ratio
    of times, speeds, sizes), `min`, `classes` (of shear).
    """

    __pydantic_config__ = CLOSED

    name: EntryId
    factor: Annotated[str, one_of(*FACTORS)]
    of: Selector | None = None
    step: Act | None = None
    emulsions: tuple[Emulsion, ...] = ()
    with_: Selector | None = None
    groups: tuple[Annotated[str, one_of(*GROUPS)], ...] = ()
    direction: Annotated[str, one_of(*DIRECTIONS)]
    strength: Annotated[str, one_of(*STRENGTHS)]
    matters_from: Number | None = None
    full: Number | None = None
    unit: Text | None = None
    mechanism: Text
    says: Text
    source: Text
    severity: Annotated[str, one_of("off")] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """One file of rules."""

    __pydantic_config__ = CLOSED

    limits: tuple[LegalLimit, ...] = ()
    pairs: tuple[BadPair, ...] = ()
    checks: tuple[CheckRule, ...] = ()
    causes: tuple[CauseRule, ...] = ()
    notes: Text | None = None
