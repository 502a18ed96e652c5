"""The good batch that differs least from the failed one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from labbook.evidence.book import Book
from labbook.evidence.factors.event import Fate, jar_unit
from labbook.evidence.factors.pairing import paired
from labbook.evidence.factors.profile import profile_of
from labbook.evidence.factors.setting import jar_traits
from labbook.evidence.factors.trade import Trade
from labbook.evidence.factors.traits import Traits
from labbook.evidence.failure import condition_key
from labbook.evidence.sightings import plain_jar
from labbook.model.batch import Batch
from labbook.model.moments import in_order


@dataclass(frozen=True, slots=True)
class Candidate:
    """A batch, or a jar of one, with what became of it."""

    batch: Batch
    jar: str = ""
    fate: Fate | None = None

    @property
    def unit(self) -> str:
        """The unit that it is."""
        return jar_unit(self.batch, self.jar) if self.jar else self.batch.id


@dataclass(frozen=True, slots=True)
class Choice:
    """The good batch, and the one that came next."""

    good: Candidate
    runner_up: str


def jars_in(book: Book, batch: Batch, condition: str, jar: str = "") -> tuple[str, ...]:
    """The jars of a batch in a condition, or the one that is meant."""
    held = book.jars.get(batch.id)
    if jar:
        return (jar,)
    key = condition_key(condition)
    stays = held.stays if held else ()
    names = (plain_jar(batch, s.jar) for s in stays if condition_key(s.condition) == key)
    return tuple(dict.fromkeys(names))


def traits_of_jars(book: Book, one: Candidate, condition: str, *, failed: bool) -> Traits:
    """What the jars that speak for a unit have in common: of a failed batch those that failed."""
    jars = jars_in(book, one.batch, condition, one.jar)
    if failed and not one.jar and one.fate is not None:
        first = [
            jar.jar
            for outcome in book.outcomes(one.batch)
            if condition_key(outcome.condition) == condition_key(condition)
            for jar in outcome.by_jar
            if jar.first_failed is not None and jar.first_failed == one.fate.first_failed
        ]
        jars = tuple(first) or jars
    return jar_traits(book, one.batch, condition, jars)


def chosen(
    book: Book, failed: Candidate, candidates: Sequence[Candidate], trade: Trade, condition: str
) -> Choice:
    """The candidate with the fewest material differences, half for each unrecorded thing.

    Ties go to the closest in time, then to the id.
    """
    own = profile_of(book, failed.batch, failed.batch)
    own_jars = traits_of_jars(book, failed, condition, failed=True)
    made = in_order(failed.batch.made)
    ranked = []
    for one in candidates:
        profile = profile_of(book, one.batch, failed.batch)
        jars = (own_jars, traits_of_jars(book, one, condition, failed=False))
        far = paired(book, own, profile, trade, jars).distance if len(candidates) > 1 else 0.0
        ranked.append((far, abs(in_order(one.batch.made) - made), one.unit, one))
    ranked.sort(key=lambda row: row[:3])
    return Choice(ranked[0][3], ranked[1][2] if len(ranked) > 1 else "")
