"""What a question about a failure is made of: the event, the factors, and where each batch stands.

The words follow the mathematics: a *factor* is a difference that can be a cause, its *failed side*
is the side of the batch that failed, a *unit* is a batch, or a jar where jars differ.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from labbook.evidence.items import Item
from labbook.model.rules import CauseRule

WITHOUT_RULE = 0.05
"""The chance of a factor that no rule of the trade speaks of, before any batch is counted."""

Reason = Literal["", "unrecorded", "between", "other", "shared"]
State = Literal["failed", "intact", "undecided"]
Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Side:
    """Where one unit stands on one factor.

    `side` is True on the failed side, False on the other, None where that can't be decided: `why`
    then says whether nothing was written down (`unrecorded`), the value lies between the two, or it
    is another one altogether. `shared` marks a side that plain counts leave out: another
    part of the same bulk speaks for it already, or failed without it (then it is False).
    `text` is the unit's own value.
    """

    side: bool | None
    text: str
    why: Reason = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """A material difference of the pair, or a cut where there is no pair.

    `kind` is one of `model.rules.FACTORS`; `key` tells the factor apart without words. `failed` and
    `good` are the two values as shown, `unit` stands once for both. `prior` is the chance with the
    rule and the size of the difference, `prior_without` the one without rules; `rule` is None where
    none speaks for this difference as a cause. `size` is the share of the difference at which the
    rule counts fully. `sides` goes by unit, the ones in `Question.rows`. `folded` are consequences
    of this difference (a: the failed batch, b: the good one). `sheets` are the ids of the
    ingredients and `step` the step that it is about. `members` names the parts of a joined factor.
    `more` says whether the failed batch has more of it, None where it has no direction.
    """

    key: Key
    kind: str
    what: str
    failed: str
    good: str
    unit: str = ""
    ordered: bool = False
    rule: CauseRule | None = None
    size: float = 0.0
    prior: float = WITHOUT_RULE
    prior_without: float = WITHOUT_RULE
    sides: Mapping[str, Side] = field(default_factory=dict)
    folded: tuple[Item, ...] = ()
    sheets: tuple[str, ...] = ()
    step: str = ""
    members: tuple[str, ...] = ()
    more: bool | None = None

    @property
    def name(self) -> str:
        """The key as one text, unique in a question."""
        return "/".join(self.key)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What failed means in one question: a group of failure in a condition, until a horizon.

    `unit` is `days`, `cycles`, or `run` for a test that is passed or not and knows no time.
    """

    group: str
    condition: str
    unit: str
    horizon: float


@dataclass(frozen=True, slots=True)
class Seen:
    """What became of one unit until the horizon; `text` says it in words."""

    unit: str
    batch: str
    state: State
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unrecorded:
    """What only one of the two batches has written down, with the line that would tell.

    `missing` is the batch that lacks it; `failed` and `good` are the texts, None where there is
    none. `line` is a command as a person types it, `...` standing for the value.
    """

    key: Key
    what: str
    failed: str | None
    good: str | None
    missing: str
    line: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """All that is known about one event, ready to be reckoned with.

    `failed` and `good` are batch ids (of a jar: id, point, jar); both are empty where there is no
    pair. `follows` are consequences (a: the failed batch, b: the good one). `rows` are the eligible
    units, undecided ones too; `left_out` names batches with the reason; `later` those that failed
    after the horizon, which count as neither. `nothing`: no recorded difference, unless a session.
    `until_most` is the furthest horizon that the pair allows. `codes` are the formulas of the rows,
    `modes` how the batch failed.
    """

    event: Event
    failed: str
    good: str
    runner_up: str = ""
    factors: tuple[Factor, ...] = ()
    unrecorded: tuple[Unrecorded, ...] = ()
    follows: tuple[Item, ...] = ()
    rows: tuple[Seen, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    later: tuple[str, ...] = ()
    nothing: bool = False
    until_most: float = 0.0
    codes: tuple[str, ...] = ()
    modes: tuple[str, ...] = ()

    @property
    def table(self) -> tuple[tuple[str, bool, tuple[bool | None, ...]], ...]:
        """The decided units: name, whether it failed, and its side of each factor."""
        return tuple(
            (row.unit, row.state == "failed", tuple(f.sides[row.unit].side for f in self.factors))
            for row in self.rows
            if row.state != "undecided"
        )
