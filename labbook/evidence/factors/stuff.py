"""What a batch was made of, for comparing it with any other: amounts by ingredient and phase.

A part split off another batch brings what that one was made of; what was weighed into the part
afterwards is added to it. An ingredient's amount counts what blends bring of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from labbook.evidence.book import Book
from labbook.evidence.factors.as_weighed import as_weighed, total_of
from labbook.evidence.factors.blends import Inside, inside_of
from labbook.evidence.factors.traits import Trait
from labbook.evidence.lines import Slot, places_of
from labbook.evidence.made import Amount, made_of
from labbook.model.batch import Batch, Parent
from labbook.trade.pots import is_of_pots
from labbook.trade.weighing import weighed

NONE = "none"


@dataclass(frozen=True, slots=True)
class Stuff:
    """The lines of a batch for matching, and its amounts by ingredient id and phase.

    `lost` is what of it didn't come out, in percent of what went in; None where nobody knows.
    `inside` is what the blends among the lines bring.
    """

    slots: tuple[Slot, ...]
    amounts: Mapping[str, Mapping[str, Amount]]
    weighed: bool
    lost: Fraction | None = None
    inside: Inside = field(default_factory=Inside)
    _traits: dict[tuple[str, str, bool, bool], Trait | None] = field(
        default_factory=dict, repr=False, compare=False
    )

    def phases(self, sheet: str) -> tuple[str, ...]:
        """The phases that an ingredient stands in, in order."""
        return tuple(sorted(self.amounts.get(sheet, {})))

    def amount(self, sheet: str, phase: str = "") -> Amount | None:
        """The amount of a line in a phase, or altogether; None where there is no such line."""
        held = self.amounts.get(sheet, {})
        if phase:
            return held.get(phase)
        return _together(held.values())

    def whole(self, sheet: str, phase: str = "") -> Amount | None:
        """The same with what blends bring of that ingredient."""
        own, brought = self.amount(sheet, phase), self.inside.amount(sheet, phase)
        return _together(one for one in (own, brought) if one is not None)

    def water_phase(self) -> str:
        """The phase that holds most of the water lines; empty without water or with a tie."""
        water: dict[str, Fraction] = {}
        for slot in self.slots:
            if slot.is_water:
                value = self.amounts[slot.sheet][slot.phase].value or Fraction()
                water[slot.phase] = water.get(slot.phase, Fraction()) + value
        most = [phase for phase, value in water.items() if value == max(water.values())]
        return most[0] if len(most) == 1 else ""

    def roles(self, sheet: str) -> frozenset[str]:
        """Roles and functions of an ingredient's lines."""
        return frozenset(use for s in self.slots if s.sheet == sheet for use in s.uses)


def stuff_of(book: Book, batch: Batch) -> Stuff:
    """What a batch was made of; worked out once."""

    def work_out() -> Stuff:
        found = _work_out(book, batch, frozenset())
        return replace(found, inside=inside_of(book, found.amounts))

    return book.keep(("stuff", batch.id), work_out)


def split_parent(book: Book, batch: Batch) -> tuple[Batch, Parent] | None:
    """The batch that this one is a part of, where the notebook holds it."""
    for parent in batch.from_:
        held = book.batches.get(parent.batch)
        if parent.how == "split" and held is not None and held.id != batch.id:
            return held, parent
    return None


def _work_out(book: Book, batch: Batch, seen: frozenset[str]) -> Stuff:
    own = _balanced(book, batch) if _needs_balance(batch) else _plain(book, batch)
    found = split_parent(book, batch)
    if found is None or found[0].id in seen:
        return own
    parent, how = found
    whole = _work_out(book, parent, seen | {batch.id})
    return _part(batch, own, whole, how)


def _needs_balance(batch: Batch) -> bool:
    """Whether vessels were weighed, or other batches went in: then weighings alone don't tell."""
    return (
        any(not r.struck and is_of_pots(r) for r in batch.readings)
        or any(w.batch and not w.struck for w in batch.weighings)
        or any(parent.how != "split" for parent in batch.from_)
    )


def _plain(book: Book, batch: Batch) -> Stuff:
    """What was weighed, each line by itself."""
    scale = as_weighed(batch, book.sheets, book.equipment)
    lost = None
    if batch.yield_ is not None and scale.total:
        lost = (1 - batch.yield_.exact("g") / scale.total) * 100
    return Stuff(scale.slots, scale.amounts, _was_weighed(batch), lost)


def _balanced(book: Book, batch: Batch) -> Stuff:
    """What came out by the mass balance, with what other batches brought."""
    found = made_of(batch, book.sheets, book.equipment, book.batches)
    amounts: dict[str, dict[str, Amount]] = {}
    for (phase, sheet), amount in found.amounts.items():
        amounts.setdefault(sheet, {})[phase] = amount
    return Stuff(found.slots, amounts, _was_weighed(batch), found.lost)


def _was_weighed(batch: Batch) -> bool:
    return any(w.struck is None for w in batch.weighings)


def _part(batch: Batch, own: Stuff, whole: Stuff, how: Parent) -> Stuff:
    """A part of a batch: the whole's amounts, thinned by what was weighed into the part."""
    scale = weighed(batch)
    sheets = {line.id: (line.sheet, line.phase) for line in batch.lines}
    added: dict[tuple[str, str], Fraction] = {
        sheets[line]: mass for line, mass in scale.lines.items() if mass
    }
    for slot in own.slots:
        amount = own.amounts[slot.sheet][slot.phase]
        if amount.planned is None and amount.own:
            added[slot.sheet, slot.phase] = amount.own * batch.size.exact("g") / 100
    taken = (how.mass or batch.size).exact("g")
    total = taken + sum(added.values(), Fraction())
    held: dict[str, dict[str, Amount]] = {s: dict(one) for s, one in whole.amounts.items()}
    if added and total:
        held = {s: {p: _thinned(a, taken / total) for p, a in ps.items()} for s, ps in held.items()}
        for (sheet, phase), mass in added.items():
            before = held.get(sheet, {}).get(phase)
            more = Amount(mass / total * 100, None, None, Fraction())
            held.setdefault(sheet, {})[phase] = more if before is None else total_of(before, more)
    return Stuff((*whole.slots, *_new(own, whole, held, added)), held, own.weighed or whole.weighed)


def _new(
    own: Stuff,
    whole: Stuff,
    held: dict[str, dict[str, Amount]],
    added: Mapping[tuple[str, str], Fraction],
) -> list[Slot]:
    """Lines that only the part has: weighed into it, or of an ingredient that the whole lacks."""
    known = {slot.key for slot in whole.slots}
    found = []
    for slot in own.slots:
        inside = (slot.sheet, slot.phase) in added
        if slot.key in known or not (inside or slot.sheet not in whole.amounts):
            continue
        held.setdefault(slot.sheet, {}).setdefault(slot.phase, own.amounts[slot.sheet][slot.phase])
        found.append(slot)
    return found


def _thinned(amount: Amount, share: Fraction) -> Amount:
    value = amount.value
    return replace(
        amount,
        percent=None if value is None else value * share,
        typed=None,
        own=None,
        variance=amount.variance * share * share,
    )


def _together(amounts: Iterable[Amount]) -> Amount | None:
    found: Amount | None = None
    for amount in amounts:
        found = amount if found is None else total_of(found, amount)
    return found


def amount_trait(
    stuff: Stuff,
    sheet: str,
    name: str,
    phase: str = "",
    *,
    as_meant: bool = False,
    alone: bool = False,
) -> Trait | None:
    """An ingredient's percent as a trait; None where it is in the batch and nobody knows how much.

    Args:
        stuff: what the batch was made of.
        sheet: the ingredient's id.
        name: what it is called.
        phase: count only this phase.
        as_meant: the plan, also where it was weighed.
        alone: the line by itself, without what blends bring.
    """
    key = (sheet, phase, as_meant, alone)
    if key not in stuff._traits:
        amount = stuff.amount(sheet, phase) if alone else stuff.whole(sheet, phase)
        stuff._traits[key] = _amount_trait(amount, sheet, name, as_meant)
    return stuff._traits[key]


def _amount_trait(amount: Amount | None, sheet: str, name: str, as_meant: bool) -> Trait | None:
    if amount is None:
        amount = Amount(None, Fraction(), None, Fraction())
        return _percent(sheet, name, NONE, amount)
    if as_meant:
        amount = replace(amount, percent=None, variance=Fraction())
    if amount.value is None:
        return None
    places = max(2, places_of(amount.typed) if amount.typed is not None else 0)
    return _percent(sheet, name, amount.text(places) or "", amount)


def _percent(sheet: str, name: str, text: str, amount: Amount) -> Trait:
    return Trait(
        kind="amount",
        what=name,
        text=text,
        unit="" if text == NONE else "%",
        value=amount.value,
        base="%",
        variance=amount.variance,
        name=text,
        sheets=(sheet,),
        meant=amount.planned,
    )
