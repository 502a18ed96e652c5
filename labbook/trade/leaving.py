"""What leaves a vessel: volatile matter that goes off, and a residue of all that is in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from labbook.model.sheets import Sheets
from labbook.trade.brought import Part
from labbook.trade.reckoned import NOTHING, Ledger, Reckoned, total
from labbook.trade.volatile import volatile_share


@dataclass(frozen=True, slots=True)
class Left:
    """What a vessel holds after something left it.

    `gone` is what did leave, and `unexplained` what was said to have left and could not: nothing in
    the vessel is volatile enough, or it would be less than nothing.
    """

    parts: tuple[Part, ...]
    gone: Reckoned
    unexplained: Fraction


def evaporate(
    parts: Sequence[Part], loss: Reckoned, sheets: Sheets, ledger: Ledger, *source: str
) -> Left:
    """A vessel after so much went off, in g.

    What is volatile as a whole goes first, each in proportion to how much of it there is; then the
    water of solutions, so that a line keeps what it holds besides. Which of several volatile
    materials went is not known: any division that the amounts allow counts as equally likely.

    Args:
        parts: what lies in the vessel.
        loss: the mass that went off.
        sheets: what is volatile.
        ledger: keeps the doubt about which of several went off.
        source: a name for that doubt.
    """
    if loss.value <= 0:
        return Left(tuple(parts), NOTHING, loss.value)
    shares = [volatile_share(part.sheet or part.ingredient, sheets) for part in parts]
    losses, rest = [NOTHING] * len(parts), loss
    for stage in (True, False):
        own = [i for i, x in enumerate(shares) if x > 0 and (x == 1) is stage]
        volatile = [parts[i].amount.times(shares[i]) for i in own]
        there = total(volatile)
        if rest.value <= 0 or there.value <= 0:
            continue
        goes = rest if rest.value < there.value else there
        for i, part in zip(own, volatile, strict=True):
            losses[i] = goes * part / there
        _doubt(losses, own, [x.value for x in volatile], goes.value, parts, ledger, source)
        rest = rest - goes
    kept = tuple(
        replace(part, amount=part.amount - gone) for part, gone in zip(parts, losses, strict=True)
    )
    return Left(kept, total(losses), loss.value - total(losses).value)


def _doubt(
    losses: list[Reckoned],
    own: Sequence[int],
    volatile: Sequence[Fraction],
    goes: Fraction,
    parts: Sequence[Part],
    ledger: Ledger,
    source: tuple[str, ...],
) -> None:
    """Adds to the losses that the largest may have gone in place of another, or the reverse.

    Between the least and the most that can have gone of a material every amount is as likely: a
    rectangle with the variance width² / 12 (JCGM 100:2008, 4.3.7).
    """
    largest = max(range(len(own)), key=lambda n: volatile[n])
    there = sum(volatile, Fraction())
    for n, i in enumerate(own):
        if parts[i].sheet == parts[own[largest]].sheet:
            continue
        width = min(volatile[n], goes) - max(Fraction(), goes - (there - volatile[n]))
        if width <= 0:
            continue
        name = (*source, f"which went off, {n}")
        ledger.variances[name] = width * width / 12
        losses[i] = losses[i].leaning_on(name, Fraction(1))
        losses[own[largest]] = losses[own[largest]].leaning_on(name, Fraction(-1))


def leave_behind(parts: Sequence[Part], residue: Reckoned) -> Left:
    """A vessel's contents without what stayed in it: a residue has the composition of all of it."""
    there = total(part.amount for part in parts)
    if residue.value <= 0 or there.value <= 0:
        return Left(tuple(parts), NOTHING, residue.value)
    stays = residue if residue.value < there.value else there
    kept = tuple(replace(part, amount=part.amount - part.amount * stays / there) for part in parts)
    return Left(kept, stays, residue.value - stays.value)
