"""Results of asking why a batch failed, and which session would tell."""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.results.common import Next


@dataclass(frozen=True, slots=True)
class Count:
    """So many failed of so many batches."""

    failed: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """One difference that can be the cause.

    `what` names it as `diff` does, `phrase` as a sentence does ("less sodium-chloride"); `failed`
    and `good` are the two batches' values with their unit. `before` is how probable it was by the
    rules alone, `chance` how probable it is with the batches counted, `unruled` the same without
    the rules of the trade; `word` and `about` say for people what may be said of `chance`.
    `told`: it is told apart from all others; `tried` counts the sessions in which a batch with this
    change alone failed while its repeat held. `like_failed` counts the
    batches on the failed side of it, `like_good` those on the other; `unrecorded` and `between`
    name those on neither. `remark` is what speaks most clearly for or against it.
    """

    key: str
    what: str
    phrase: str
    failed: str
    good: str
    before: float
    chance: float
    unruled: float
    word: str
    about: str
    unruled_about: str
    cleared: bool
    told: bool
    tried: int
    like_failed: Count
    like_good: Count
    unrecorded: tuple[str, ...] = ()
    between: tuple[str, ...] = ()
    clean_pairs: tuple[tuple[str, str], ...] = ()
    remark: str = ""
    rule: str = ""
    strength: str = ""
    says: str = ""
    mechanism: str = ""
    source: str = ""
    follows: tuple[str, ...] = ()
    exact: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """What wasn't written down, and the line that would."""

    sentence: str
    command: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Two differences that may only do it together, and how probable that is."""

    one: str
    other: str
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NotApart:
    """Differences that can't be told apart yet; `never`: no batch has one without the others."""

    names: tuple[str, ...]
    never: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """Which recorded differences can be the cause of one failure, and how sure that is.

    `failed` and `good` are the two characters of the batches. `group` is the group of failure,
    `event` says what failed, `until` by when. `any_cause` is how probable it is that a recorded
    difference is a cause at all, `any_cause_before` what it was before any batch was counted;
    `outside` that something acts which the notebook doesn't hold. `not_apart` groups differences
    that no batch tells apart. `turns` says at which other look another difference led. `sets`
    says which sets of causes were reckoned.
    """

    failed: str
    good: str
    failed_id: str
    good_id: str
    runner_up: str = ""
    code: str
    group: str
    event: str
    until: str
    condition: str
    suspects: tuple[Suspect, ...] = ()
    not_apart: tuple[NotApart, ...] = ()
    any_cause: float = 0.0
    any_cause_before: float = 0.0
    outside: float = 0.0
    unknown: tuple[Unknown, ...] = ()
    questions: tuple[Unknown, ...] = ()
    follows: tuple[str, ...] = ()
    counted: int = 0
    failed_counted: int = 0
    codes: tuple[str, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    later: tuple[str, ...] = ()
    turns: tuple[str, ...] = ()
    together: tuple[Together, ...] = ()
    any_together: float = 0.0
    sets: str = ""
    rate: str = "mixed"
    then: tuple[Next, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """What an outcome would make of one suspect, in words and as a round figure."""

    what: str
    before: str
    after: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """One possible outcome of the next batch, how probable it is, and what it would leave."""

    about: str
    chance: float
    shifts: tuple[Shift, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextBatch:
    """The batch that would tell most, beside a fresh repeat of the good one.

    `change` says what is made otherwise than in the good batch, `keep` what must stay as it was,
    `look` which jar and when, `weigh` which lines are small for the balance, `costs` what the
    ingredients of both batches weigh and cost. `instead` are the runner-up and ties, with their
    `bits_instead`; `refused` what was not offered, and why.
    """

    failed: str
    good: str
    group: str
    title: str
    base: str
    size: str
    change: tuple[str, ...]
    keep: tuple[str, ...]
    look: str
    answer_in: str
    weigh: str = ""
    costs: str = ""
    fails: Branch | None = None
    holds: Branch | None = None
    instead: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    bits: float = 0.0
    bits_instead: tuple[float, ...] = ()
    settled: str = ""
    then: tuple[Next, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """What a trial batch told: the chances before it and after, for the question it was made for.

    `outcome` is what became of it, empty while it is too young to say anything. `why` is the whole
    answer with it.
    """

    trial: str
    made_of: str
    changes: str
    failed: str
    good: str
    outcome: str
    shifts: tuple[Shift, ...]
    why: Why
