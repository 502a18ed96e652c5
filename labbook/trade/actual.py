"""What a batch was really made of: what went in, less what went off and what stayed in the vessels.

The mass balance goes vessel by vessel: weighed in, evaporated while heated, water put back, residue
in the emptied vessel, then the whole and what came out. What stays unexplained is shown as such:
it may be cream on the tools or water that went off unseen, so it makes every percent less sure,
and changes none.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.materials import Equipment
from labbook.model.quantities import QuantityError
from labbook.model.sheets import Sheets
from labbook.trade.balance import Balance, balance_of
from labbook.trade.brought import Bringing, Brought, Held, Part
from labbook.trade.composition import WHOLE, Finding
from labbook.trade.exact import square_root
from labbook.trade.leaving import evaporate
from labbook.trade.mass_balance import Followed, Vessel, follow
from labbook.trade.pots import read_pots
from labbook.trade.reckoned import Ledger, Reckoned, total
from labbook.trade.standing import standing

UNSEEN = "unexplained"
"""The first word of the source that stands for a batch's unexplained mass."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ActualLine:
    """A line, or a material, as it is in what came out.

    `key` is the line's id, the weighing's id of an addition, or names what another batch brought.
    `target` is the percent meant, None where none was; `mass` is in g of what came out.
    `uncertainty` is the standard uncertainty of the percent; `weighing` the part of it that the
    readings make. `shift` is by how many points the percent would be another if all that is
    unexplained had gone off as vapour.
    """

    key: str
    phase: str
    ingredient: str
    sheet: str
    target: Fraction | None
    percent: Fraction
    mass: Fraction
    uncertainty: Decimal
    weighing: Decimal
    shift: Fraction
    qs: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ActualComposition:
    """What a batch was really made of; masses in g.

    `lines` goes by the lines of the batch, `materials` by what premixes and parents are made of;
    both are empty where `missing` names what nobody knows the mass of. What went in is what came
    out, with `evaporated`, `residue` and `unexplained`; `put_in` counts the water put back.
    `final` is the yield where it was weighed, else what is left to come out. `unexplained` is None
    where nothing tells: then what was lost is unknown.
    """

    lines: tuple[ActualLine, ...]
    materials: tuple[ActualLine, ...]
    missing: tuple[str, ...]
    put_in: Fraction
    returned: Fraction
    evaporated: Fraction
    residue: Fraction
    final: Fraction
    weighed_out: bool
    unexplained: Fraction | None
    vessels: tuple[Vessel, ...]
    problems: tuple[Finding, ...]

    @property
    def known(self) -> bool:
        """Whether the percents are known."""
        return bool(self.lines)

    @property
    def balanced(self) -> bool:
        """Whether anything is known of what was lost: a vessel weighed, or what came out."""
        return bool(self.vessels) or self.weighed_out


def actual_composition(
    batch: Batch,
    sheets: Sheets,
    *,
    batches: Mapping[str, Batch] | None = None,
    equipment: Mapping[str, Equipment] | None = None,
    balance: Balance | None = None,
) -> ActualComposition:
    """What a batch was really made of, corrections applied.

    Args:
        batch: the batch.
        sheets: what is volatile, and what is water.
        batches: by id, for premixes and parents.
        equipment: by name, for the balances.
        balance: the balance where the batch names none; without one the digits count.
    """
    one = _Reckoning(sheets, batches or {}, equipment or {}, balance)
    return one.of(standing(batch)).result


@dataclass(slots=True)
class _Done:
    """A batch worked out: the result, and its materials as shares that know their sources."""

    result: ActualComposition
    parts: tuple[Part, ...]


class _Reckoning:
    """Works out a batch and whatever it was made from, each once, with one ledger."""

    def __init__(
        self,
        sheets: Sheets,
        batches: Mapping[str, Batch],
        equipment: Mapping[str, Equipment],
        balance: Balance | None,
    ) -> None:
        self.sheets = sheets
        self.equipment = equipment
        self.balance = balance
        self.ledger = Ledger()
        self._batches = batches
        self._done: dict[str, _Done] = {}
        self._under_way: list[str] = []

    def of(self, batch: Batch) -> _Done:
        if batch.id not in self._done:
            self._under_way.append(batch.id)
            self._done[batch.id] = self._worked_out(batch)
            self._under_way.pop()
        return self._done[batch.id]

    def held(self, id_: str) -> Held | None:
        """What another batch is made of; None where it is unknown, or leads back to this one."""
        batch = self._batches.get(id_)
        if batch is None or id_ in self._under_way:
            return None
        done = self.of(standing(batch))
        planned = frozenset(line.sheet for line in batch.lines)
        return Held(
            short=batch.short, parts=done.parts, planned=planned, missing=done.result.missing
        )

    def _worked_out(self, batch: Batch) -> _Done:
        bringing = Bringing(
            batch, self.sheets, self.equipment, self.balance, self.ledger, self.held
        )
        brought = bringing.all()
        phases = tuple(dict.fromkeys(line.phase for line in batch.lines))
        pots, problems = read_pots(batch, phases, self.balance_of(batch), self.ledger)
        followed = follow(batch, brought.parts, pots, self.sheets, self.ledger)
        found = _Percents(batch, brought, followed, self.sheets, self.ledger)
        return found.done((*brought.problems, *problems))

    def balance_of(self, batch: Batch) -> Balance | None:
        """The balance of a batch: its own, else the one that was named for all."""
        tool = self.equipment.get(batch.tools.balance or "") if batch.tools else None
        try:
            return (balance_of(tool) if tool is not None else None) or self.balance
        except QuantityError:
            return self.balance


class _Percents:
    """What came out of the last vessel, in percent."""

    def __init__(
        self, batch: Batch, brought: Brought, followed: Followed, sheets: Sheets, ledger: Ledger
    ) -> None:
        self._batch = batch
        self._brought = brought
        self._followed = followed
        self._sheets = sheets
        self._ledger = ledger
        self._known = {line.id: line for line in batch.lines}

    def done(self, problems: tuple[Finding, ...]) -> _Done:
        """The result, with the mass balance of the whole."""
        way, yield_ = self._followed, self._batch.yield_
        evaporated, residue = way.sum_of("evaporated"), way.sum_of("residue")
        left = way.put_in - evaporated - residue
        unexplained = left - yield_.exact("g") if yield_ else way.sum_of("unexplained") or None
        final = left - (unexplained or 0)
        missing = tuple(dict.fromkeys(self._brought.missing))
        nothing = final <= 0 or total(part.amount for part in way.parts).value <= 0
        if nothing and not missing:
            missing = tuple(dict.fromkeys(line.ingredient for line in self._batch.lines))
        shares = () if missing or nothing else self._shares(unexplained or Fraction())
        lines = self._lines(shares, final)
        result = ActualComposition(
            lines=lines,
            materials=self._materials(shares, final, lines),
            missing=missing,
            put_in=way.put_in,
            returned=way.sum_of("returned"),
            evaporated=evaporated,
            residue=residue,
            final=final,
            weighed_out=yield_ is not None,
            unexplained=unexplained,
            vessels=way.vessels,
            problems=problems,
        )
        return _Done(result, shares)

    def _shares(self, unexplained: Fraction) -> tuple[Part, ...]:
        """The parts as shares of 1, leaning on what is unexplained.

        Anything from none of it to all of it may have gone off as vapour. About the share that is
        given, for none, the mean square of a rectangle from 0 to s is s² / 3 (JCGM 100:2008, 4.3.7
        and F.2.4.4).
        """
        parts = self._followed.parts
        whole = total(part.amount for part in parts)
        unseen = (UNSEEN, self._batch.id)
        self._ledger.variances[unseen] = Fraction(1, 3)
        plain = [replace(part, amount=Reckoned(part.amount.value)) for part in parts]
        off = evaporate(plain, Reckoned(abs(unexplained)), self._sheets, Ledger(), UNSEEN)
        sign = 1 if unexplained > 0 else -1
        rest = whole.value - sign * off.gone.value
        found = []
        for part, kept in zip(parts, off.parts, strict=True):
            share = part.amount / whole
            if off.gone.value and rest > 0:
                lost = sign * (part.amount.value - kept.amount.value)
                share = share.leaning_on(unseen, (part.amount.value - lost) / rest - share.value)
            found.append(replace(part, amount=share))
        return tuple(found)

    def _lines(self, shares: tuple[Part, ...], final: Fraction) -> tuple[ActualLine, ...]:
        """By the lines of the batch, in their order; then additions and what others brought."""
        if not shares:
            return ()
        found = []
        for key in dict.fromkeys((*self._known, *(part.key for part in shares))):
            own = [part for part in shares if part.key == key]
            line = self._known.get(key)
            if line is not None:
                name = (line.phase, line.ingredient, line.sheet)
            else:
                first = own[0]
                name = self._brought.additions.get(
                    key, (first.phase, first.ingredient, first.sheet)
                )
            found.append(self._line(key, name, own, final))
        return tuple(found)

    def _materials(
        self, shares: tuple[Part, ...], final: Fraction, lines: tuple[ActualLine, ...]
    ) -> tuple[ActualLine, ...]:
        groups: dict[tuple[str, str], list[Part]] = {}
        for part in shares:
            groups.setdefault((part.phase, part.sheet), []).append(part)
        if [(one.phase, one.sheet) for one in lines] == list(groups):
            return lines  # no premix, no ingredient twice in a phase: the same again
        return tuple(
            self._line(own[0].key, (phase, own[0].ingredient, sheet), own, final)
            for (phase, sheet), own in groups.items()
        )

    def _line(
        self, key: str, name: tuple[str, str, str], own: Iterable[Part], final: Fraction
    ) -> ActualLine:
        share = total(part.amount for part in own).times(WHOLE)
        unseen = {s: x for s, x in share.slopes.items() if s[0] == UNSEEN}
        read = {s: x for s, x in share.slopes.items() if s[0] != UNSEEN}
        weighing = self._ledger.variance(Reckoned(share.value, read))
        doubt = self._ledger.variance(Reckoned(share.value, unseen))
        line = self._known.get(key)
        meant = line.percent if line is not None and line.sheet == name[2] else None
        return ActualLine(
            key=key,
            phase=name[0],
            ingredient=name[1],
            sheet=name[2],
            target=None if meant is None else Fraction(meant),
            percent=share.value,
            mass=share.value / WHOLE * final,
            uncertainty=square_root(weighing + doubt),
            weighing=square_root(weighing),
            shift=sum(unseen.values(), Fraction()),
            qs=bool(line is not None and line.qs),
        )
