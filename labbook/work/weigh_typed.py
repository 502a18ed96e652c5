"""What is typed behind `weigh`: `beeswax=1.52`, `+=` a second portion, `:=` instead of the one."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from labbook.model.batch import Batch, BatchLine
from labbook.model.errors import NotAllowed, Unclear
from labbook.model.quantities import Quantity, parse_quantity
from labbook.model.sheets import fold
from labbook.trade.exact import decimal_text, of_steps, steps, to_decimal, to_places
from labbook.trade.slips import far_off
from labbook.work.at_bench import mass_in
from labbook.work.bench import Bench
from labbook.work.correctable import mass_of
from labbook.work.make import readability_of
from labbook.work.weigh_one import line_named

Ask = Callable[[str, Quantity, Quantity], Quantity | None]
"""Asks about a weight that is far off what is wanted; the weight that is meant, None for none."""

Holds = Callable[[BatchLine], Fraction | None]
"""How many percent of the premix that is weighed are a line's ingredient; None without one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """One entry: the name, its line, the mass; `again` is `+` or `:` where it was weighed before.

    `has` is what the line holds already, in g; None where nothing counts. `holds` is how many
    percent of it are the line's ingredient where it is of a premix; None where it is none.
    """

    name: str
    line: BatchLine | None
    mass: Quantity
    as_target: bool = False
    again: str = ""
    has: Fraction | None = None
    holds: Fraction | None = None

    @property
    def wanted(self) -> Quantity | None:
        """What was to be weighed: the target, less what is there where this comes on top."""
        target = self.line.target if self.line else None
        if target is None or self.again != "+" or self.has is None:
            return target
        return Quantity(to_decimal(max(target.exact("g") - self.has, Fraction())), "g")

    @property
    def far_off(self) -> bool:
        """Whether it reads like a slip of the point or of the unit.

        Of a premix neither the weight nor what it holds is near what is wanted.
        """
        wanted, mass = self.wanted, self.mass.exact("g")
        if self.as_target or wanted is None or not far_off(mass, wanted.exact("g")):
            return False
        return self.holds is None or far_off(mass * self.holds / 100, wanted.exact("g"))

    @property
    def total(self) -> Fraction:
        """What the line holds afterwards, in g."""
        before = self.has if self.again == "+" and self.has is not None else Fraction()
        return before + self.mass.exact("g")


def read_typed(
    bench: Bench,
    batch: Batch,
    entries: Sequence[str],
    *,
    added: bool = False,
    sure: bool = False,
    ask: Ask | None = None,
    holds: Holds = lambda line: None,
) -> tuple[Typed, ...]:
    """All entries of one go, each that is far off asked about, or refused where nobody is there.

    `*` takes the target and is kept so. A line that has a weight already is refused: `+=` adds a
    second portion, `:=` strikes the first.

    Args:
        bench: the notebook.
        batch: the batch that they are for.
        entries: as typed. One that is far off counts when it is typed twice over.
        added: a name that no line has is meant.
        sure: weights that are far off are meant.
        ask: asks the person about a weight.
        holds: how many percent of the premix are a line's ingredient; None without a premix.

    Raises:
        Unclear: an entry that can't be read, or one line named twice.
        NotAllowed: a line that was weighed before, or a weight that is far off.
    """
    said, found = list(entries), []
    while said:
        entry = said.pop(0)
        one = _read(bench, batch, entry, added=added)
        one = _from_premix(bench, batch, one, holds(one.line) if one.line else None)
        if one.far_off and not sure:
            if said[:1] == [entry]:
                said.pop(0)
            else:
                one = _asked(one, ask)
        found.append(one)
    _guard_twice(found)
    return tuple(found)


def _from_premix(bench: Bench, batch: Batch, one: Typed, holds: Fraction | None) -> Typed:
    """The entry as one of a premix; the target is then what holds it, as the balance shows it."""
    if holds is None:
        return one
    mass = one.mass
    if one.as_target:
        step = readability_of(bench, batch.tools.balance if batch.tools else None)
        mass = Quantity(of_steps(steps(mass.exact("g") * 100 / holds, step), step), "g")
    return replace(one, holds=holds, mass=mass)


def _asked(one: Typed, ask: Ask | None) -> Typed:
    """The entry with the weight that is meant, after asking."""
    wanted = one.wanted
    while one.far_off and wanted is not None:
        meant = ask(one.name, one.mass, wanted) if ask else None
        if meant is None:
            again = f"{one.name}{one.again}={one.mass.value:f}"
            raise NotAllowed(
                f"{one.mass} of {one.name} where {wanted} is wanted? Nothing was written.",
                mend=f"Where it is so: labbook weigh {again} --yes",
            )
        if meant.exact("g") == one.mass.exact("g"):
            return one
        one = replace(one, mass=meant)
    return one


def _guard_twice(typed: Sequence[Typed]) -> None:
    """Refuses one line named twice in one go, unless the later one says how it is meant."""
    seen: set[str] = set()
    for one in typed:
        key = one.line.id if one.line else fold(one.name)
        if key in seen and not one.again:
            raise Unclear(
                f"{one.name} stands there twice.", mend=f"A second portion: {one.name}+=1.20"
            )
        seen.add(key)


def _guard_name(bench: Bench, batch: Batch, name: str) -> None:
    """Refuses a name that no line and no sheet has and that is near a line's: a slip of the hand.

    Raises:
        Unclear: with the line's name, and how to say that it was meant.
    """
    from difflib import get_close_matches

    ingredient = name.partition("/")[0]
    if bench.snapshot.sheets.find(ingredient) is not None:
        return
    near = get_close_matches(ingredient, [line.ingredient for line in batch.lines], n=1, cutoff=0.7)
    if near:
        raise Unclear(
            f"{batch.short} has no {ingredient}, but it has {near[0]}.",
            mend=f"Type {near[0]}=...; or, where it is something else that went in, add --added",
        )


def _read(bench: Bench, batch: Batch, entry: str, *, added: bool = False) -> Typed:
    name, equals, value = entry.partition("=")
    again = name[-1:] if name[-1:] in ("+", ":") else ""
    name = name.removesuffix(again).strip()
    if not equals or not name or not value.strip():
        raise Unclear(
            f"{entry!r} is no weighing.", mend=f"labbook weigh {batch.short} beeswax=1.52"
        )
    line = line_named(bench, batch, name)
    if line is None and not added:
        _guard_name(bench, batch, name)
    taken = line and any(w.line == line.id and not w.struck for w in batch.weighings)
    if taken and line and not again:
        have = decimal_text(mass_in(batch, line) or Fraction())
        raise NotAllowed(
            f"{line.ingredient} was weighed already in {batch.short}: {have} g.",
            mend=f"A second portion: {name}+={value}. Instead of it: {name}:={value}",
        )
    if value.strip() == "*":
        if line is None or line.target is None:
            raise NotAllowed(f"{name} has no target in {batch.short}.", mend="Type the weight.")
        mass, as_target = line.target, True
    else:
        mass, as_target = mass_or_volume(bench, name, value), False
    has = mass_in(batch, line) if line else None
    return Typed(name=name, line=line, mass=mass, as_target=as_target, again=again, has=has)


def mass_or_volume(bench: Bench, name: str, value: str) -> Quantity:
    """A mass as typed; a volume only of what has a density in its sheet, reckoned into grams.

    Raises:
        Unclear: no mass; or a volume of something whose density isn't known.
    """
    typed = value.strip().replace(",", ".", 1)
    if not re.fullmatch(r"[0-9.]+\s*(ml|mL|l|L)", typed):
        return mass_of(value)
    volume = parse_quantity(typed, "volume")
    sheet = bench.snapshot.sheets.find(name.partition("/")[0])
    density = sheet.density if sheet else None
    if density is None or density.value is None or density.unit != "g/ml":
        raise Unclear(
            f"{volume} of {name}: its sheet has no single density to reckon grams with.",
            mend="Weigh it and type the grams.",
        )
    return Quantity(to_places(volume.exact("ml") * Fraction(density.value), 2), "g")
