"""`trace NAME`: everything that hangs on a lot, batch, jar, ingredient or piece of equipment."""

from __future__ import annotations

import re
from difflib import get_close_matches

from labbook.evidence.recall import recall as recall_of
from labbook.evidence.sightings import plain_jar
from labbook.evidence.trace import BATCH, EQUIPMENT, INGREDIENT, JAR, LOT, Held, Key, jar_id, web_of
from labbook.evidence.traced import Story, without_people
from labbook.evidence.traced import trace as trace_of
from labbook.model.errors import Unclear, UnknownName
from labbook.model.ids import matching_batches
from labbook.model.results.tracing import Recall, Trace
from labbook.model.sheets import fold
from labbook.work.bench import Bench

_JAR = re.compile(r"(.+)\.(\w+)")


def trace(bench: Bench, typed: str, *, people: bool = False) -> Trace:
    """What a thing comes from, what it went into, and the jars that hold it.

    Args:
        bench: the notebook.
        typed: the name of a lot, a batch, a jar, an ingredient or a piece of equipment.
        people: with the names of those who have jars, and of suppliers.

    Raises:
        UnknownName: nothing in the notebook has that name.
    """
    found = trace_of(story_of(bench), key_of(bench, typed))
    return found if people else without_people(found)


def recall(bench: Bench, typed: str, reason: str = "") -> Recall:
    """Who has jars that hold any of it, which are here, and words to send; people are named."""
    return recall_of(trace(bench, typed, people=True), reason)


def story_of(bench: Bench) -> Story:
    """The notebook's records as the walk takes them."""
    snapshot = bench.snapshot
    return Story(
        held=held_by(bench),
        stability=snapshot.stability,
        formulas=snapshot.formulas,
        reactions=snapshot.reactions,
    )


def held_by(bench: Bench) -> Held:
    """What hangs together in the notebook."""
    snapshot = bench.snapshot
    return Held(
        batches=snapshot.batches,
        jars=snapshot.jars,
        lots=snapshot.lots,
        sheets=snapshot.sheets,
        equipment=snapshot.equipment,
    )


def key_of(bench: Bench, typed: str) -> Key:
    """What a name means; an ingredient comes before a lot of the same name, for it leads there.

    Raises:
        UnknownName: nothing has it; near names are offered.
        Unclear: two batches share the ending, or it is a formula.
    """
    snapshot = bench.snapshot
    if matching_batches(typed, snapshot.batches):
        return Key(BATCH, bench.batch_id(typed))
    named = _JAR.fullmatch(typed)
    if named and matching_batches(named[1], snapshot.batches):
        return _jar(bench, named[1], named[2])
    if typed in snapshot.lots and typed not in snapshot.ingredients:
        return Key(LOT, typed)
    sheet = snapshot.sheets.find(typed)
    if sheet is not None:
        return Key(INGREDIENT, sheet.id)
    if typed in snapshot.equipment:
        return Key(EQUIPMENT, typed)
    known = web_of(held_by(bench)).keys
    for kind in (LOT, INGREDIENT, EQUIPMENT):
        for key in sorted(known):
            if key.kind == kind and fold(key.name) == fold(typed):
                return key
    if typed.upper() in snapshot.formulas:
        raise Unclear(
            f"{typed.upper()} is a formula; a trace begins at something that was held in the hand.",
            mend=f"Its batches: labbook log {typed.upper()}",
        )
    names = sorted({key.name for key in known if key.kind != JAR})
    near = get_close_matches(typed, names, n=3, cutoff=0.5)
    raise UnknownName(
        f"Nothing in the notebook is called {typed}.",
        mend=f"Near it: {', '.join(near)}" if near else "See: labbook ingredient lot list",
    )


def _jar(bench: Bench, named: str, jar: str) -> Key:
    """A jar of a batch.

    Raises:
        UnknownName: the batch has none of that name; those that it has are named.
    """
    batch = bench.batch(named)
    held = bench.snapshot.jars.get(batch.id)
    every = [one.jar for one in held.jars] + [one.jar for one in held.stays] if held else []
    names = list(dict.fromkeys(plain_jar(batch, one) for one in every))
    found = next((name for name in names if name.upper() == jar.upper()), None)
    if found is None:
        some = ", ".join(f"{batch.short}.{name}" for name in names)
        raise UnknownName(
            f"{batch.short} has no jar {jar}.",
            mend=f"It has: {some}" if some else f"It has none yet: labbook trace {batch.short}",
        )
    return Key(JAR, jar_id(batch, found))
