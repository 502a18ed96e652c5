"""The masses of one batch, vessel by vessel: in, off while heated, put back, left behind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.batch import Batch, BatchLine
from labbook.model.sheets import Sheets
from labbook.trade.brought import Part
from labbook.trade.leaving import evaporate, leave_behind
from labbook.trade.pots import BULK, Pot, receivers
from labbook.trade.reckoned import NOTHING, Ledger, Reckoned, total


@dataclass(frozen=True, slots=True, kw_only=True)
class Vessel:
    """The mass balance of one vessel in g; `phase` is empty for that of the whole batch.

    `put_in` is what was weighed or poured into it, before water was `returned`. `unexplained` is
    what was gone before it was heated, or was said to go off while nothing in it is volatile; below
    zero where there was more than went in.
    """

    phase: str
    put_in: Fraction
    evaporated: Fraction
    returned: Fraction
    residue: Fraction
    unexplained: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """What lies in the last vessel, what was read on the way, and all that ever went in, in g."""

    parts: tuple[Part, ...]
    vessels: tuple[Vessel, ...]
    put_in: Fraction

    def sum_of(self, what: str) -> Fraction:
        """A figure of all vessels together."""
        return sum((getattr(one, what) for one in self.vessels), Fraction())


def follow(
    batch: Batch, parts: Sequence[Part], pots: Mapping[str, Pot], sheets: Sheets, ledger: Ledger
) -> Followed:
    """Follows what went in through the vessels of the phases into that of the whole batch.

    A residue has the composition of its vessel. In the vessel that takes the others in it is found
    at the end and has that of the whole. What was read of a vessel that nothing was weighed into
    counts for the whole.
    """
    return _Way(batch, parts, pots, sheets, ledger).through()


class _Way:
    def __init__(
        self,
        batch: Batch,
        parts: Sequence[Part],
        pots: Mapping[str, Pot],
        sheets: Sheets,
        ledger: Ledger,
    ) -> None:
        self._batch = batch
        self._sheets = sheets
        self._ledger = ledger
        self._in: dict[str, list[Part]] = {}
        for part in parts:
            self._in.setdefault(part.pot, []).append(part)
        self._pots = {phase: pot for phase, pot in pots.items() if phase in self._in}
        self._read = set(pots)
        self._bulk = pots.get(BULK, Pot())
        for phase, pot in pots.items():
            if phase not in self._in and phase != BULK:
                self._bulk = self._bulk.joined(pot)
        self._receivers = receivers(batch)
        self._vessels: list[Vessel] = []
        self._at_the_end: list[Reckoned] = []

    def through(self) -> Followed:
        """All vessels of phases, then that of the whole."""
        put_in = total(p.amount for own in self._in.values() for p in own).value
        parts = [
            part for phase, own in self._in.items() if phase != BULK
            for part in self._of_phase(phase, own)
        ]  # fmt: skip
        parts = self._of_whole([*parts, *self._in.get(BULK, [])])
        put_in += sum((vessel.returned for vessel in self._vessels), Fraction())
        return Followed(parts=tuple(parts), vessels=tuple(self._vessels), put_in=put_in)

    def _of_phase(self, phase: str, parts: list[Part]) -> list[Part]:
        pot = self._pots.get(phase)
        if pot is None:
            return parts
        there, begun = total(part.amount for part in parts).value, pot.begun()
        odd = there - begun.value if begun is not None else Fraction()
        parts, gone, unexplained = self._heated(phase, pot, parts)
        odd += unexplained
        stays, residue = Fraction(), pot.residue
        if residue is not None and phase in self._receivers:
            self._at_the_end.append(residue)
        elif residue is not None:
            left = leave_behind(parts, residue)
            parts, stays = list(left.parts), left.gone.value
            odd += left.unexplained
        self._note(phase, pot, there, gone, stays, odd)
        return parts

    def _of_whole(self, parts: list[Part]) -> list[Part]:
        pot, there = self._bulk, total(part.amount for part in parts).value
        parts, gone, odd = self._heated(BULK, pot, parts)
        last = pot.residue
        stays = total([*self._at_the_end, *([last] if last else [])]).value
        if stays < 0:
            stays, odd = Fraction(), odd + stays
        if self._at_the_end or self._read - set(self._pots) or BULK in self._read:
            self._note(BULK, pot, there, gone, stays, odd)
        return parts

    def _heated(
        self, phase: str, pot: Pot, parts: list[Part]
    ) -> tuple[list[Part], Fraction, Fraction]:
        """What a vessel holds after heating and with the water put back; gone, and unexplained."""
        loss = pot.lost(total(part.amount for part in parts)) or NOTHING
        off = evaporate(parts, loss, self._sheets, self._ledger, self._batch.id, phase)
        return [*off.parts, *self._put_back(phase, pot)], off.gone.value, off.unexplained

    def _put_back(self, phase: str, pot: Pot) -> list[Part]:
        """Water that was put back, on the line of the water that it stands for."""
        if pot.water.value <= 0:
            return []
        lines = [line for line in self._batch.lines if self._is_water(line)]
        here = [line for line in lines if line.phase == phase] or lines
        if not here:
            sheet = self._sheets.id_of("water")
            return [
                Part(key=f"water returned {phase}".strip(), phase=phase, ingredient="water",
                     sheet=sheet, amount=pot.water)
            ]  # fmt: skip
        line = here[0]
        return [
            Part(key=line.id, phase=line.phase, ingredient=line.ingredient, sheet=line.sheet,
                 amount=pot.water)
        ]  # fmt: skip

    def _is_water(self, line: BatchLine) -> bool:
        known = self._sheets.find(line.sheet)
        return line.sheet == "water" or (known is not None and "water" in known.functions)

    def _note(
        self, phase: str, pot: Pot, there: Fraction, gone: Fraction, stays: Fraction, odd: Fraction
    ) -> None:
        returned = max(pot.water.value, Fraction())
        self._vessels.append(
            Vessel(
                phase=phase,
                put_in=there,
                evaporated=gone,
                returned=returned,
                residue=stays,
                unexplained=odd,
            )
        )
