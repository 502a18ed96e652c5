"""All traits of a batch together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from labbook.evidence.book import Book
from labbook.evidence.factors.doing import canonical, order_of, plan_of, step_traits
from labbook.evidence.factors.setting import deviation_traits, lot_traits, setting_traits
from labbook.evidence.factors.stuff import Stuff, split_parent, stuff_of
from labbook.evidence.factors.traits import Trait, Traits
from labbook.evidence.factors.types import Key
from labbook.model.batch import Batch
from labbook.model.formula import Step
from labbook.trade.standing import MIXING, first_lacking


@dataclass(frozen=True, slots=True)
class Profile:
    """A batch as it is compared: what it was made of, and its traits.

    `steps` are the steps that it has, by the names that they have in all batches, in order, those
    left out not counted. `water` is the letter of the water phase, empty where there is none.
    `ids` has the batch's own id of each step.
    """

    batch: Batch
    stuff: Stuff
    traits: Traits
    deviations: Traits
    steps: tuple[str, ...]
    water: str
    ids: Mapping[str, str] = field(default_factory=dict)

    def said(self, key: Key, trait: Trait) -> str:
        """What to type if a thing about this batch is known after all; the step where it's needed.

        `key` and `trait` are those of the thing, in whichever batch has it written down.
        """
        step = self.ids.get(trait.step, "") if key[0] == "steps" else ""
        short = f"labbook note {self.batch.short.lower()} {trait.line}"
        if not step or (
            key[2] in ("speed", "mixed") and first_lacking(self.batch, MIXING, key[2]) == step
        ):
            return short
        return f"{short} --step {step}"


def profile_of(book: Book, batch: Batch, like: Batch) -> Profile:
    """A batch with its traits, its steps named as in another one; worked out once."""
    return book.keep(
        ("profile", batch.id, like.id),
        lambda: _work_out(book, batch, _plans(like), frozenset()),
    )


def _plans(batch: Batch) -> tuple[Step, ...]:
    """The plans of a batch's steps."""
    return tuple(plan_of(step) for step in batch.steps)


def _work_out(book: Book, batch: Batch, reference: Sequence[Step], seen: frozenset[str]) -> Profile:
    stuff = stuff_of(book, batch)
    water = stuff.water_phase()
    names = canonical(batch, reference)
    letters = {slot.phase for slot in stuff.slots}
    phases = {letter: f"phase {letter}" for letter in letters}
    if water:
        phases[water] = "water phase"
    traits = step_traits(batch, names, phases, book.equipment)
    deviations = deviation_traits(batch)
    traits |= setting_traits(book, batch, stuff.lost) | lot_traits(book, stuff)
    found = split_parent(book, batch)
    if found is not None and found[0].id not in seen:
        whole = _work_out(book, found[0], reference, seen | {batch.id})
        traits = _inherited(whole.traits, traits)
        deviations = whole.deviations | deviations
    return Profile(
        batch=batch,
        stuff=stuff,
        traits=traits,
        deviations=deviations,
        steps=order_of(batch, names, names.values()),
        water=water,
        ids={name: id_ for id_, name in names.items()},
    )


def _inherited(whole: Traits, own: Traits) -> Traits:
    """A part's traits: its own where it has recorded them, else those of the batch it came from.

    How big the whole was and when it was made is shared by its parts; their own sizes are not of
    the making.
    """
    found = dict(whole)
    for key, trait in own.items():
        before = whole.get(key)
        if before is not None and (before.recorded and not trait.recorded):
            continue
        if key in (("size",), ("session",), ("evaporation",)) and before is not None:
            continue
        found[key] = trait
    return found
