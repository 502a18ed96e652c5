"""What a look calls for besides being written: a slip of the same day, a jar that failed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from labbook.evidence.due import Watch, due_looks, is_done
from labbook.evidence.sightings import plain_jar, sightings, stay_at, stays_of
from labbook.model.jars import Look, Stability
from labbook.model.moments import Moment, day_of
from labbook.show.outcomes import how_words

if TYPE_CHECKING:
    from labbook.work.look import Named

LONG = 3650
"""Days ahead within which a protocol's next look is found: ten years."""


def goes_on(watch: Watch, named: Named, entry: dict[str, Any]) -> list[str]:
    """That a jar which failed stays on the list, and how to take it off; nothing for others."""
    new = Look(**{key.replace(" ", "_"): value for key, value in entry.items()})
    before = watch.stability.looks if watch.stability else ()
    held = watch.stability or Stability(batch=named.batch.id)
    after = replace(watch, stability=replace(held, looks=(*before, new)))
    seen = sightings(after.batch, after.jars, after.stability, after.formula)
    failed = any(one.look.id == new.id and one.verdict.failed for one in seen)
    stay = stay_at(stays_of(after.batch, after.jars, named.jar), new.time)
    if not failed or stay is None or is_done(after, named.jar, stay, seen):
        return []
    later = due_looks(after, day_of(new.time), ahead=LONG)
    if not any(one.jar == named.jar for one in later):
        return []
    return [f"It stays due until grade 4. Seen enough? labbook look {named.name.lower()} --done"]


def again(looks: Sequence[Look], named: Named, when: Moment, instead_of: str) -> list[str]:
    """That the jar was looked at on that day already, and how to strike a slip."""
    same = [
        one
        for one in looks
        if plain_jar(named.batch, one.jar) == named.jar
        and day_of(one.time) == day_of(when)
        and one.struck is None
        and one.spun is None
        and one.id != instead_of
    ]
    if not same:
        return []
    told = how_words(same[-1].modes, same[-1].grade)
    return [
        f"{named.name} was looked at on that day already ({same[-1].id}: {told}); both are kept. "
        f"A slip? labbook look {named.name.lower()} --correct {same[-1].id} "
        'struck="typed twice" -m "..."'
    ]
