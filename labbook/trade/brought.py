"""What went into a batch, and from where: weighings, premixes, and the batches it was made from.

A weighing from a premix brings what that was made of. Where the line it was weighed for is of an
ingredient in the premix (citric acid, from a solution of it), the line gets its part and the other
parts join their own lines; where the line is the premix itself (gum stock), it keeps the whole.
A part of another batch, or one made over, brings what that batch was really made of.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from labbook.model.batch import Batch, BatchLine
from labbook.model.materials import Equipment
from labbook.model.quantities import QuantityError
from labbook.model.sheets import Sheets
from labbook.trade.balance import Balance, balance_of
from labbook.trade.composition import Finding
from labbook.trade.pots import BULK, tared_variance
from labbook.trade.reckoned import Ledger, Reckoned
from labbook.trade.weighing import Entry, entries

HANDED_ON = ("split", "rework")
"""The parentage by which material passes from one batch into another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One material in a batch: the line it belongs to at the bench, and how much of it there is.

    `key` is a line's id, or stands for an addition. `amount` is in g, or a share of the batch.
    """

    key: str
    phase: str
    ingredient: str
    sheet: str
    amount: Reckoned
    pot: str = BULK


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What another batch was made of, in shares of 1; `missing` names what nobody knows of it."""

    short: str
    parts: tuple[Part, ...]
    planned: frozenset[str]
    missing: tuple[str, ...]


WholeOf = Callable[[str], Held | None]
"""What a batch was made of, by its id; None where the notebook can't follow it."""


@dataclass(slots=True)
class Brought:
    """All that went in, what nobody knows the mass of, and what doesn't fit.

    `additions` are the weighings that no line foresaw, by their ids: phase, name, and sheet's id.
    """

    parts: list[Part] = field(default_factory=list)
    additions: dict[str, tuple[str, str, str]] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)
    problems: list[Finding] = field(default_factory=list)


class Bringing:
    """Gathers what went into one batch."""

    def __init__(
        self,
        batch: Batch,
        sheets: Sheets,
        equipment: Mapping[str, Equipment],
        balance: Balance | None,
        ledger: Ledger,
        whole_of: WholeOf,
    ) -> None:
        self._batch = batch
        self._sheets = sheets
        self._equipment = equipment
        self._balance = balance
        self._ledger = ledger
        self._whole_of = whole_of
        self._phases = frozenset(line.phase for line in batch.lines)
        self._found = Brought()

    def all(self) -> Brought:
        """Everything that went in, in the order of the lines, additions last."""
        counting = [entry for entry in entries(self._batch)[0] if entry.counts]
        lines = {line.id: line for line in self._batch.lines}
        weighed = {entry.now.line for entry in counting}
        for line in self._batch.lines:
            for entry in counting:
                if entry.now.line == line.id:
                    self._weighing(entry, line)
        for entry in counting:
            if entry.now.line not in lines:
                self._weighing(entry, None)
        if self._parents():
            have = {part.key for part in self._found.parts}
            lacking = [x.ingredient for x in lines.values() if x.id not in have | weighed]
            self._found.missing[:0] = lacking
        return self._found

    def _weighing(self, entry: Entry, line: BatchLine | None) -> None:
        now = entry.now
        name = line.ingredient if line else now.ingredient or now.id
        if entry.mass is None:
            self._found.missing.append(name)
            return
        key = line.id if line else now.id
        phase = line.phase if line else now.phase or ""
        balance = self._balance_of(now.balance)
        variance = tared_variance(now.mass, balance)
        mass = self._ledger.reading(entry.mass, variance, self._batch.id, now.id)
        whole = Part(
            key=key,
            phase=phase,
            ingredient=name,
            sheet=line.sheet if line else self._sheets.id_of(name),
            amount=mass,
            pot=phase if phase in self._phases else BULK,
        )
        if line is None:
            self._found.additions[key] = (phase, name, whole.sheet)
        self._found.parts += [whole] if now.batch is None else self._of_premix(whole, now.batch)

    def _of_premix(self, whole: Part, batch: str) -> Sequence[Part]:
        """A weighing from another batch, taken apart by what that was made of."""
        premix = self._whole_of(batch)
        if premix is None:
            what = f"{whole.ingredient} came from {batch}, which the notebook can't follow"
            self._found.problems.append(Finding("premix-unknown", what))
            return [whole]
        own = {part.sheet for part in premix.parts} | premix.planned
        if premix.missing:
            if whole.sheet not in own:
                return [whole]
            self._found.missing.append(f"{whole.ingredient} (what {premix.short} holds of it)")
            return []
        if whole.sheet not in own:
            stands = replace(whole, ingredient="", sheet="")
            return [self._inside(stands, part, whole.amount) for part in premix.parts]
        return [self._own_line(whole, part) for part in premix.parts]

    def _inside(self, stands: Part, part: Part, mass: Reckoned) -> Part:
        amount = mass * part.amount
        return replace(stands, ingredient=part.ingredient, sheet=part.sheet, amount=amount)

    def _own_line(self, whole: Part, part: Part) -> Part:
        """A part of a premix on the line of its own ingredient, or as an addition."""
        amount = whole.amount * part.amount
        if part.sheet == whole.sheet:
            return replace(whole, amount=amount)
        line = self._line_of(part.sheet, whole.phase)
        key = line.id if line else f"{whole.key}:{part.sheet}"
        return replace(part, key=key, phase=whole.phase, pot=whole.pot, amount=amount)

    def _line_of(self, sheet: str, phase: str) -> BatchLine | None:
        """The line of an ingredient: in that phase, else the only one that there is."""
        every = [line for line in self._batch.lines if line.sheet == sheet]
        here = [line for line in every if line.phase == phase]
        return here[0] if here else every[0] if len(every) == 1 else None

    def _parents(self) -> bool:
        """What came with a part of another batch, or with one that is made over.

        False where it can't be told: then nobody knows either which lines came with it.
        """
        known = True
        for number, parent in enumerate(self._batch.from_):
            if parent.how not in HANDED_ON:
                continue
            short = parent.batch.rsplit("-", 1)[-1]
            mass = parent.mass or (self._batch.size if parent.how == "split" else None)
            whole = self._whole_of(parent.batch)
            if mass is None or whole is None or whole.missing:
                what = "how much of" if mass is None else "what is in"
                self._found.missing.append(f"{what} {short}")
                known = False
                continue
            variance = tared_variance(mass, self._balance_of(None))
            grams = self._ledger.reading(mass.exact("g"), variance, self._batch.id, f"from{number}")
            self._found.parts += [self._handed_on(short, part, grams) for part in whole.parts]
        return known

    def _handed_on(self, short: str, part: Part, grams: Reckoned) -> Part:
        line = self._line_of(part.sheet, part.phase)
        key = line.id if line else f"{short}:{part.phase}:{part.sheet}"
        return replace(part, key=key, pot=BULK, amount=grams * part.amount)

    def _balance_of(self, name: str | None) -> Balance | None:
        tools = self._batch.tools
        tool = self._equipment.get(name or (tools.balance if tools else None) or "")
        try:
            found = balance_of(tool) if tool is not None else None
        except QuantityError:
            found = None
        return found or self._balance
