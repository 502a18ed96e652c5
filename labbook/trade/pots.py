"""What was read of the vessels: before and after heating, water returned, what stayed in them.

A vessel is named by the phase that is made in it; everything else (pot, bulk, nothing) is the
vessel of the whole batch. Masses are in g; before and after are with the vessel.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from labbook.model.batch import Batch, Reading
from labbook.model.quantities import Quantity, QuantityError
from labbook.model.sheets import fold
from labbook.trade.balance import Balance
from labbook.trade.composition import Finding
from labbook.trade.reckoned import Ledger, Reckoned, total

BEFORE = "mass before heating"
AFTER = "mass after heating"
EVAPORATED = "evaporated"
RETURNED = "water returned"
RESIDUE = "residue"
EMPTY = "empty vessel"
EMPTIED = "emptied vessel"

WITH_VESSEL = frozenset({BEFORE, AFTER, EMPTY, EMPTIED})
"""Readings that hold the vessel too: they say nothing until another is taken from them."""

OF_POTS = WITH_VESSEL | {EVAPORATED, RETURNED, RESIDUE}
"""The readings of the mass balance, by name."""

BULK = ""
"""The vessel of the whole batch."""


@dataclass(slots=True)
class Pot:
    """What was read of one vessel; None and empty where nothing was.

    `heated` are pairs of the mass before and after, either of them missing; `evaporated` is a loss
    that was written down as such.
    """

    heated: list[tuple[Reckoned | None, Reckoned | None]] = field(default_factory=list)
    evaporated: list[Reckoned] = field(default_factory=list)
    returned: list[Reckoned] = field(default_factory=list)
    residues: list[Reckoned] = field(default_factory=list)
    empty: Reckoned | None = None
    emptied: Reckoned | None = None

    @property
    def water(self) -> Reckoned:
        """The water that was put back."""
        return total(self.returned)

    @property
    def residue(self) -> Reckoned | None:
        """What stayed in the vessel after it was emptied."""
        if self.residues:
            return total(self.residues)
        if self.empty is None or self.emptied is None:
            return None
        return self.emptied - self.empty

    def joined(self, other: Pot) -> Pot:
        """Both taken as one vessel."""
        return Pot(
            heated=[*self.heated, *other.heated],
            evaporated=[*self.evaporated, *other.evaporated],
            returned=[*self.returned, *other.returned],
            residues=[*self.residues, *(r for r in (other.residue,) if r is not None)],
            empty=self.empty or other.empty,
            emptied=self.emptied,
        )

    def begun(self) -> Reckoned | None:
        """What lay in it before heating, the vessel taken off."""
        before = self.heated[0][0] if self.heated else None
        return None if before is None or self.empty is None else before - self.empty

    def lost(self, content: Reckoned) -> Reckoned | None:
        """What went off while it was heated; None where that can't be told.

        Where nobody weighed before the first heating, the empty vessel and the `content` weighed
        into it stand for it.
        """
        losses = []
        for number, (before, after) in enumerate(self.heated):
            start = before
            if start is None and number == 0 and self.empty is not None:
                start = self.empty + content
            if start is not None and after is not None:
                losses.append(start - after)
        if losses:
            return total(losses)
        return total(self.evaporated) if self.evaporated else None


def pot_named(said: str | None, phases: Collection[str]) -> str:
    """The vessel that a reading is of: a phase's letter, else the whole batch's."""
    words = [w for w in (said or "").split() if fold(w) not in ("vessel", "phase", "the", "pot")]
    letters = {fold(phase): phase for phase in phases}
    return letters.get(fold(words[0]), BULK) if len(words) == 1 else BULK


def name_of(reading: Reading) -> str:
    """A reading's name as the names above are written."""
    return fold(reading.reading).replace("-", " ")


def is_of_pots(reading: Reading) -> bool:
    """Whether a reading counts in the mass balance."""
    return reading.struck is None and name_of(reading) in OF_POTS


def receivers(batch: Batch) -> frozenset[str]:
    """Phases whose vessel takes others in: what stays in it at the end is of the whole batch."""
    found: set[str] = set()
    for step in batch.steps:
        skipped = step.done is not None and step.done.skipped is not None
        if step.plan and step.plan.do in ("combine", "add") and not skipped:
            found |= set((step.plan.into or "").replace(",", " ").split())
    return frozenset(found)


def read_pots(
    batch: Batch, phases: Collection[str], balance: Balance | None, ledger: Ledger
) -> tuple[dict[str, Pot], list[Finding]]:
    """The vessels of a batch by phase, and the readings that tell nothing.

    Args:
        batch: as it stands after its corrections.
        phases: the phases that have a vessel of their own.
        balance: what was weighed on; None takes the digits written down.
        ledger: keeps how sure each reading is.
    """
    pots: dict[str, Pot] = {}
    problems: list[Finding] = []
    for reading in batch.readings:
        if not is_of_pots(reading):
            continue
        name = name_of(reading)
        grams = _grams(reading)
        if grams is None:
            what = f"{reading.reading} ({reading.id}) is no mass"
            mend = "write the figure in g: returned 3.2 g water"
            problems.append(Finding("mass-unreadable", what, mend=mend))
            continue
        pot = pots.setdefault(pot_named(reading.of, phases), Pot())
        times = 1 if name in WITH_VESSEL else 2  # a loss or an addition is a difference of two
        variance = times * _variance(reading, balance)
        _put(pot, name, ledger.reading(grams, variance, batch.id, reading.id))
    for phase, pot in pots.items():
        problems += _unpaired(phase, pot)
    return pots, problems


def _put(pot: Pot, name: str, mass: Reckoned) -> None:
    """Keeps one reading; of two before or two after one heating the later one stands."""
    if name == BEFORE:
        if pot.heated and pot.heated[-1][1] is None:
            pot.heated.pop()
        pot.heated.append((mass, None))
    elif name == AFTER:
        before = pot.heated.pop()[0] if pot.heated else None
        pot.heated.append((before, mass))
    elif name == EMPTY:
        pot.empty = mass
    elif name == EMPTIED:
        pot.emptied = mass
    else:
        held = {EVAPORATED: pot.evaporated, RETURNED: pot.returned, RESIDUE: pot.residues}
        held[name].append(mass)


def _unpaired(phase: str, pot: Pot) -> Iterable[Finding]:
    """Readings that lack the other one that they are taken from."""
    of = f"of vessel {phase}" if phase else "of the pot"
    named = f"vessel {phase}" if phase else "pot"
    for number, (before, after) in enumerate(pot.heated):
        known = before is not None or (number == 0 and pot.empty is not None)
        if known and after is not None:
            continue
        there, lacking = (BEFORE, AFTER) if after is None else (AFTER, BEFORE)
        yield Finding(
            "half-a-mass-balance",
            f"the {there} {of} is written down, the {lacking} isn't, so what went off is unknown",
            mend=f'if you know it: labbook note "{named} {lacking.split()[1]} ... g"',
        )
    if pot.emptied is not None and pot.empty is None and not pot.residues:
        yield Finding(
            "half-a-mass-balance",
            f"the {EMPTIED} {of} is written down, the {EMPTY} isn't, so the residue is unknown",
            mend=f'if you know it: labbook note "{named} empty ... g"',
        )


def _grams(reading: Reading) -> Fraction | None:
    if reading.value is None:
        return None
    try:
        return Quantity(reading.value, reading.unit or "g").exact("g")
    except QuantityError:
        return None


def _variance(reading: Reading, balance: Balance | None) -> Fraction:
    """The variance of one reading of a balance in g²: as written down, else by the balance."""
    assert reading.value is not None
    if reading.uncertainty is not None:
        return Quantity(reading.uncertainty, reading.unit or "g").exact("g") ** 2
    if balance is not None:
        return Fraction(balance.reading) ** 2
    return half_digit(Quantity(reading.value, reading.unit or "g")) ** 2 / 3


def half_digit(mass: Quantity) -> Fraction:
    """Half a unit of the last digit written, in g."""
    exponent = mass.value.as_tuple().exponent
    digit = Fraction(10) ** min(0, exponent if isinstance(exponent, int) else 0)
    return digit / 2 * Quantity(mass.value * 0 + 1, mass.unit).exact("g")


def tared_variance(mass: Quantity, balance: Balance | None) -> Fraction:
    """The variance of a tared weighing in g²: two readings, by the balance or by the digits."""
    if balance is not None:
        return 2 * Fraction(balance.reading) ** 2
    return 2 * half_digit(mass) ** 2 / 3
