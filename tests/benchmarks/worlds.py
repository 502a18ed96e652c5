"""Invented notebooks whose causes are known, drawn from worlds other than the reckoning assumes.

A notebook is a row of batches. Each has eight recorded attributes of two values, which change from
batch to batch now and then; a few attributes are causes in one of their values. One failed and one
good batch are chosen as `why` chooses them, and the attributes in which they differ are the
suspects. A suspect is truly a cause when the failed batch's value of it makes batches fail more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from labbook.evidence.causes import Row, Suspect, capped

ATTRIBUTES = 8
RULES = (0.5, 0.25, 0.25, 0.1)
"""Chances that rules of the trade lend to the first attributes where the failed batch has the value
that the rule calls worse. Every other difference has 0.05."""
WITHOUT_RULE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """How batches fail, and what is written down, in one kind of notebook."""

    name: str
    rate: float = 0.85
    """Share failing with a cause present."""
    base: float = 0.05
    """Share failing without."""
    rules: str = "right"
    """right: attributes are causes as often as the rules say; wrong: one cause, none of a rule's;
    none: no recorded attribute is a cause."""
    missing_good: float = 0.0
    missing_failed: float = 0.0
    """Share of values that weren't written down, for good and for failed batches."""
    together: float = 0.0
    """How often a change of one attribute brings its two neighbours along."""
    second_mode: bool = False
    """Another failure, with a cause of its own, ends the watching of a batch before this one."""
    hidden: float = 0.0
    """In what share of the notebooks a cause isn't recorded."""
    follows: float = 0.0
    """How often a change of the first attribute without a rule brings the hidden cause along."""
    hopeless: bool = False
    """No recorded attribute is ever a cause, so that every word for one is wrong by construction;
    what counts is how often one is said."""


WORLDS = (
    World(name="causes act 17 in 20 times"),
    World(name="causes act in half the cases", rate=0.5),
    World(name="3 in 10 fail without a cause", base=0.3),
    World(name="both of these", rate=0.5, base=0.3),
    World(name="half, 2 in 10, and wrong rules", rate=0.5, base=0.2, rules="wrong"),
    World(name="3 in 10 values unrecorded", missing_good=0.3, missing_failed=0.3),
    World(name="unrecorded where it went well", missing_good=0.5, missing_failed=0.1),
    World(name="two modes of failure", second_mode=True),
    World(name="attributes move together", together=0.8),
    World(name="rules of the trade are wrong", rules="wrong"),
    World(name="nothing recorded matters", rules="none", base=0.2, hopeless=True),
    World(name="a hidden cause, half of them", hidden=0.5),
    World(name="half of them, moving with one", hidden=0.5, follows=0.8),
    World(
        name="always one, moving with one", hidden=1.0, follows=0.8, rules="none",
        hopeless=True,
    ),
    World(
        name="much of it at once", rate=0.6, base=0.15, missing_good=0.3, missing_failed=0.3,
        together=0.5, hidden=0.3, follows=0.4,
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Made:
    """One batch: its attributes, whether the hidden cause was there, whether it failed."""

    values: tuple[bool, ...]
    hidden: bool
    failed: bool


@dataclass(frozen=True, slots=True)
class Nature:
    """What makes batches fail in one notebook: the bad value per causing attribute, and more."""

    world: World
    causes: dict[int, bool]
    hidden: bool
    other: tuple[int, bool]
    """The second mode's cause: an attribute and its bad value."""

    def fails(self, values: Sequence[bool], hidden: bool, chance: Random) -> bool:
        """Does a batch like this fail."""
        acts = (self.hidden and hidden) or any(values[i] == bad for i, bad in self.causes.items())
        return chance.random() < (self.world.rate if acts else self.world.base)

    def fails_otherwise(self, values: Sequence[bool], chance: Random) -> bool:
        """Does the second mode end the watching first."""
        i, bad = self.other
        return self.world.second_mode and chance.random() < (0.7 if values[i] == bad else 0.05)


@dataclass(frozen=True, slots=True)
class Question:
    """What the reckoning is given, and what is true."""

    suspects: tuple[Suspect, ...]
    rows: tuple[Row, ...]
    truth: tuple[bool, ...]
    along: bool
    """Something unrecorded that makes batches fail changed between the two batches as well."""
    attributes: tuple[int, ...]
    """Which attribute each suspect is."""
    nature: Nature
    failed: Made
    good: Made


def question(world: World, chance: Random) -> Question:
    """A notebook of this world with a failed batch and a good one that differ in something."""
    while True:
        found = _asked(world, chance)
        if found is not None:
            return found


def prior(attribute: int, value: bool) -> float:
    """The chance beforehand that this value of the attribute makes batches fail."""
    return RULES[attribute] if attribute < len(RULES) and value else WITHOUT_RULE


def nature(world: World, chance: Random) -> Nature:
    """What makes batches fail in a notebook of this world."""
    causes: dict[int, bool] = {}
    if world.rules == "wrong":
        causes[chance.randrange(len(RULES), ATTRIBUTES)] = chance.random() < 0.5
    elif world.rules == "right":
        for i in range(ATTRIBUTES):
            for bad in (True, False):
                if i not in causes and chance.random() < prior(i, bad):
                    causes[i] = bad
    other = (chance.randrange(ATTRIBUTES), chance.random() < 0.5)
    return Nature(world, causes, chance.random() < world.hidden, other)


def _history(of: Nature, chance: Random) -> list[tuple[Made, bool]]:
    """Batches in the order of making, each with: could it be watched for this failure."""
    values = [chance.random() < 0.5 for _ in range(ATTRIBUTES)]
    hidden = chance.random() < 0.3
    follower = len(RULES)
    batches = []
    for _ in range(chance.randint(4, 24)):
        for i in range(ATTRIBUTES):
            if chance.random() >= 0.2:
                continue
            values[i] = not values[i]
            for near in (i // 3 * 3 + x for x in range(3)):
                if near != i and near < ATTRIBUTES and chance.random() < of.world.together:
                    values[near] = values[i]
            if i == follower and chance.random() < of.world.follows:
                hidden = values[i]
        if not of.world.follows and chance.random() < 0.2:
            hidden = not hidden
        other = of.fails_otherwise(values, chance)
        failed = of.fails(values, hidden, chance)
        batches.append((Made(tuple(values), hidden, failed), not other))
    return batches


def _asked(world: World, chance: Random) -> Question | None:
    of = nature(world, chance)
    made = [batch for batch, watched in _history(of, chance) if watched]
    known = [
        [
            None if chance.random() < (world.missing_failed if b.failed else world.missing_good)
            else value
            for value in b.values
        ]
        for b in made
    ]  # fmt: skip
    failures = [n for n, b in enumerate(made) if b.failed]
    goods = [n for n, b in enumerate(made) if not b.failed]
    if not failures or not goods:
        return None
    bad = failures[-1]

    def distance(n: int) -> tuple[float, int]:
        both = list(zip(known[bad], known[n], strict=True))
        differing = sum(x != y for x, y in both if x is not None and y is not None)
        return differing + sum(x is None or y is None for x, y in both) / 2, abs(n - bad)

    good = min(goods, key=distance)
    pairs = enumerate(zip(known[bad], known[good], strict=True))
    asked = tuple(i for i, (x, y) in pairs if None not in (x, y) and x != y)
    if not asked:
        return None
    return Question(
        capped(_suspect(i, made[bad].values[i]) for i in asked),
        tuple(
            Row(f"b{n}", b.failed, tuple(_side(known[n][i], known[bad][i]) for i in asked))
            for n, b in enumerate(made)
        ),
        tuple(of.causes.get(i) == made[bad].values[i] for i in asked),
        of.hidden and made[bad].hidden and not made[good].hidden,
        asked,
        of,
        made[bad],
        made[good],
    )


def _suspect(attribute: int, value: bool) -> Suspect:
    return Suspect(f"a{attribute}", prior(attribute, value), attribute < len(RULES) and value)


def _side(value: bool | None, failed: bool | None) -> bool | None:
    return None if value is None else value == failed
