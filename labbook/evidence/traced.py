"""A trace told: what was reached from a thing, both ways, and the jars with where each stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from labbook.evidence.sightings import jars_by_name, plain_jar, sightings, stays_of
from labbook.evidence.trace import (
    BATCH,
    EQUIPMENT,
    INGREDIENT,
    JAR,
    LOT,
    Held,
    Key,
    Link,
    Web,
    jar_id,
    web_of,
)
from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.jars import Stability
from labbook.model.moments import day_of, in_order, write_moment
from labbook.model.quantities import in_digits
from labbook.model.reactions import Reaction, Reactions
from labbook.model.results.looking import RUN, jar_name
from labbook.model.results.tracing import Hop, Trace, TracedJar, TracedReaction

_ORDER = (INGREDIENT, LOT, BATCH, EQUIPMENT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """What is needed beside the links to tell of what was reached.

    `formulas` are today's, by code: their titles and limits.
    """

    held: Held
    stability: Mapping[str, Stability]
    formulas: Mapping[str, Formula]
    reactions: Mapping[str, Reactions] = field(default_factory=dict)

    def product(self, batch: Batch) -> str:
        """The title of a batch's formula."""
        formula = self.formulas.get(batch.formula.code)
        return formula.title if formula else batch.formula.code


def trace(story: Story, key: Key) -> Trace:
    """Everything that a thing comes from and went into.

    Names of people and suppliers are in it; `without_people` takes them out.
    """
    web = web_of(story.held)
    back, forward = web.reach(key, back=True), web.reach(key)
    jars = [one for one in forward if one.kind == JAR]
    jars += [key] if key.kind == JAR else []
    lot = story.held.lots.get(key.name) if key.kind == LOT else None
    found = [jar for one in jars if (jar := _jar(story, one)) is not None]
    return Trace(
        kind=key.kind,
        id=key.name,
        name=name_of(story, key),
        told=told_of(story, key),
        supplier=(lot.supplier or "") if lot else "",
        back=_hops(story, web, key, back, back=True),
        forward=_hops(story, web, key, forward, back=False),
        jars=tuple(sorted(found, key=lambda jar: _jar_order(story, jar))),
        potted=_potted(story, key, forward),
        people=True,
        reactions=_reactions(story, (*back, key, *forward)),
    )


def without_people(found: Trace) -> Trace:
    """The trace without people and suppliers, and without what people said.

    That somebody has a jar, or had a reaction, is still told.
    """
    jars = tuple(replace(jar, given_to="") for jar in found.jars)
    said = tuple(replace(one, text="", who="") for one in found.reactions)
    return replace(found, jars=jars, supplier="", people=False, reactions=said)


# Names --------------------------------------------------------------------------------------------


def name_of(story: Story, key: Key) -> str:
    """What a thing is called on screens."""
    held = story.held
    if key.kind == INGREDIENT:
        return held.sheets.name_of(key.name)
    if key.kind == BATCH and key.name in held.batches:
        short = held.batches[key.name].short
        alike = [one for one in held.batches.values() if one.short == short]
        return short if len(alike) == 1 else key.name
    if key.kind == JAR:
        batch, _, jar = key.name.rpartition(".")
        return jar_name(name_of(story, Key(BATCH, batch)), jar)
    return key.name


def told_of(story: Story, key: Key) -> str:
    """What a thing is, in a few words."""
    held = story.held
    if key.kind == LOT:
        lot = held.lots.get(key.name)
        if lot is None:
            return "a lot that the notebook doesn't have"
        number = f', "{lot.lot}"' if lot.lot else ""
        return f"lot of {held.sheets.name_of(held.sheets.id_of(lot.ingredient))}{number}"
    if key.kind == BATCH:
        batch = held.batches.get(key.name)
        return batch.formula.name if batch else "a batch that the notebook doesn't have"
    if key.kind == JAR:
        batch = held.batches.get(key.name.rpartition(".")[0])
        return f"{batch.formula.name}, {story.product(batch)}" if batch else "jar"
    if key.kind == EQUIPMENT:
        tool = held.equipment.get(key.name)
        return tool.kind if tool else "equipment that the notebook doesn't have"
    return "ingredient"


# What was reached ---------------------------------------------------------------------------------


def _hops(
    story: Story, web: Web, start: Key, reached: Mapping[Key, int], *, back: bool
) -> tuple[Hop, ...]:
    among = {**reached, start: 0}
    found = [
        _hop(story, key, among, web.into(key, among, back=back), start, back=back)
        for key in reached
        if key.kind != JAR
    ]
    return tuple(
        sorted(found, key=lambda hop: (hop.depth, _ORDER.index(hop.kind), hop.made, hop.id))
    )


def _hop(
    story: Story,
    key: Key,
    among: Mapping[Key, int],
    links: Sequence[Link],
    start: Key,
    *,
    back: bool,
) -> Hop:
    batch = story.held.batches.get(key.name) if key.kind == BATCH else None
    nearer = [link.target if back else link.source for link in links]
    others = dict.fromkeys(name_of(story, one) for one in nearer if one != start)
    # What came round by a blend is another thing than what came straight; masses don't add.
    near = [among[end] for end in nearer]
    masses = [
        link.mass
        for link, at in zip(links, near, strict=True)
        if link.mass is not None and at == min(near)
    ]
    state = ""
    if batch is not None:
        state = "dropped" if batch.dropped else batch.state
    return Hop(
        kind=key.kind,
        id=key.name,
        name=name_of(story, key),
        told=told_of(story, key),
        made=day_of(batch.made).isoformat() if batch else "",
        depth=among[key],
        ways=tuple(dict.fromkeys(link.how for link in links)),
        mass=sum(masses, Fraction()) if masses else None,
        through=tuple(others),
        state=state,
    )


def _potted(story: Story, start: Key, forward: Iterable[Key]) -> tuple[str, ...]:
    """Batches that hold any of it and of which no jar is written down."""
    keys = [
        one for one in (start, *forward) if one.kind == BATCH and one.name in story.held.batches
    ]
    found = []
    for key in keys:
        jars = story.held.jars.get(key.name)
        if jars is None or not (jars.jars or jars.stays):
            found.append(name_of(story, key))
    return tuple(found)


# Reactions ----------------------------------------------------------------------------------------


def _reactions(story: Story, reached: Iterable[Key]) -> tuple[TracedReaction, ...]:
    """Reactions to batches on the way, the oldest first; struck ones are left out."""
    batches = dict.fromkeys(
        key.name if key.kind == BATCH else key.name.rpartition(".")[0]
        for key in reached
        if key.kind in (BATCH, JAR)
    )
    found = [
        (batch, one)
        for batch in batches
        if batch in story.reactions
        for one in story.reactions[batch].reactions
        if not one.struck
    ]
    found.sort(key=lambda pair: in_order(pair[1].time))
    return tuple(_reaction(story, batch, one) for batch, one in found)


def _reaction(story: Story, batch: str, one: Reaction) -> TracedReaction:
    name = name_of(story, Key(BATCH, batch))
    return TracedReaction(
        batch=batch,
        name=jar_name(name, one.jar) if one.jar else name,
        entry=one.id,
        kind=one.kind,
        day=day_of(one.time).isoformat(),
        text=one.text,
        who=one.who or "",
    )


# Jars ---------------------------------------------------------------------------------------------


def _jar_order(story: Story, jar: TracedJar) -> tuple[str, str, tuple[int, str]]:
    batch = story.held.batches[jar.batch]
    own = jar.id.rpartition(".")[2]
    return day_of(batch.made).isoformat(), batch.id, (in_digits(own) or 0, own)


def _jar(story: Story, key: Key) -> TracedJar | None:
    batch = story.held.batches.get(key.name.rpartition(".")[0])
    if batch is None:
        return None
    jars = story.held.jars.get(batch.id)
    own = next((n for n in _names(batch, story) if jar_id(batch, n) == key.name), "")
    jar = jars_by_name(batch, jars).get(own)
    stay = next(reversed(stays_of(batch, jars, own)), None)
    formula = story.formulas.get(batch.formula.code)
    seen = [
        s
        for s in sightings(batch, jars, story.stability.get(batch.id), formula)
        if s.jar == own and s.unit != RUN
    ]
    last = max(seen, key=lambda one: (day_of(one.look.time), one.point), default=None)
    failed = next((one for one in seen if one.verdict.failed), None)
    words = "" if last is None or last.look.grade is None else f"grade {last.look.grade}"
    if failed is not None:
        words = f"failed: {', '.join(failed.look.modes) or 'no words for it'}"
    return TracedJar(
        id=key.name,
        name=name_of(story, key),
        batch=batch.id,
        of=batch.formula.name,
        product=story.product(batch),
        filled=write_moment(jar.filled)[:10] if jar and jar.filled else "",
        container=(jar.container or "") if jar else "",
        mass=str(jar.mass) if jar and jar.mass else "",
        condition=stay.condition if stay else "",
        place=(stay.place or "") if stay else "",
        since=write_moment(stay.since)[:10] if stay else "",
        given=bool(jar and jar.given_to),
        given_to=(jar.given_to or "") if jar else "",
        looks=len(seen),
        last_look=day_of(last.look.time).isoformat() if last else "",
        seen=words,
    )


def _names(batch: Batch, story: Story) -> list[str]:
    jars = story.held.jars.get(batch.id)
    if jars is None:
        return []
    both = [*(jar.jar for jar in jars.jars), *(stay.jar for stay in jars.stays)]
    return [plain_jar(batch, name) for name in both]
