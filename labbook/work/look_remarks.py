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
    from labbook.work.seeing import Seen

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


def again(
    looks: Sequence[Look], named: Named, seen: Seen, when: Moment, instead_of: str
) -> list[str]:
    """That the same was told of the jar on that day already, and how to strike a slip.

    Two grades are the same kind of thing, and two readings of one name; a spread after a grade, or
    a weight after a spread, is no slip.
    """
    same = [
        one
        for one in looks
        if plain_jar(named.batch, one.jar) == named.jar
        and day_of(one.time) == day_of(when)
        and one.struck is None
        and one.spun is None
        and one.id != instead_of
        and _alike(one, seen)
    ]
    if not same:
        return []
    last = same[-1]
    told = how_words(last.modes, last.grade) or f"{last.reading} {last.value}"
    return [
        f"{named.name} was looked at on that day already ({last.id}: {told}); both are kept. "
        f"A slip? labbook look {named.name.lower()} --correct {last.id} "
        'struck="typed twice" -m "..."'
    ]


def _alike(one: Look, seen: Seen) -> bool:
    graded = one.grade is not None and seen.grade is not None
    return graded or bool(
        one.reading and one.value is not None and one.reading.casefold() == seen.reading.casefold()
    )
