"""What hangs on a lot, a batch, a jar, an ingredient or a piece of equipment, both ways."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Hop:
    """Something that was reached, and the way in which it hangs on what lies nearer.

    `kind` is lot, batch, ingredient or equipment; `id` its full name, `name` what stands on
    screens. `depth` counts the links from where the trace began. `ways` has one sentence per link,
    `mass` what flowed over the nearest of them in g, None where it isn't known. `through` names
    what lies nearer, where that isn't the beginning.
    """

    kind: str
    id: str
    name: str
    told: str
    made: str
    depth: int
    ways: tuple[str, ...]
    mass: Fraction | None
    through: tuple[str, ...]
    state: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedJar:
    """A jar that was reached, and where it is as far as it was written down.

    `given_to` is who has it, private: empty also where people are left out, and then `given` still
    tells that somebody has it. `looks` counts the looks at it, `seen` tells the last of them.
    """

    id: str
    name: str
    batch: str
    of: str
    product: str
    filled: str
    container: str
    mass: str
    condition: str
    place: str
    since: str
    given: bool
    given_to: str
    looks: int
    last_look: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedReaction:
    """A reaction or complaint about a batch that was reached; who and what was said are private.

    `name` is the jar where it is known, else the batch; `text` and `who` are empty where people
    are left out.
    """

    batch: str
    name: str
    entry: str
    kind: str
    day: str
    text: str
    who: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Everything that one thing comes from and went into.

    `back` and `forward` are nearest first, without jars; `jars` are those that hold any of it, for
    a jar itself. `potted` names batches on the way that have no jars. `people` tells whether names
    of people and suppliers are in it. `reactions` are those to what holds any of it, and to what it
    comes from.
    """

    kind: str
    id: str
    name: str
    told: str
    supplier: str
    back: tuple[Hop, ...]
    forward: tuple[Hop, ...]
    jars: tuple[TracedJar, ...]
    potted: tuple[str, ...]
    people: bool
    reactions: tuple[TracedReaction, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """A person who has jars of it: private."""

    name: str
    jars: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """Who has to be told, which jars are here, and words to send.

    `here` are jars that were given to nobody by the notebook. `notice` is the text for everyone,
    without a name in it.
    """

    trace: Trace
    reason: str
    holders: tuple[Holder, ...]
    here: tuple[TracedJar, ...]
    notice: str
