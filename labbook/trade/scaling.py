"""From percent to grams: targets that a balance can show and that add up to the batch size.

Every target is rounded to the balance's readability; what rounding leaves over or short goes to the
q.s. line, else to the largest line that may take it. A line with a limit, a preservative, an
active or an adjuster is never moved to make a sum come out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from labbook.model.errors import Unclear, UnknownName
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets, fold
from labbook.trade import balance as scales
from labbook.trade.composition import WHOLE, Composition, ResolvedLine
from labbook.trade.exact import decimal_text, of_steps, steps, steps_up, to_decimal

FIXED = frozenset({"preservative", "active", "restricted"})
"""Roles and functions of lines that never take a rounding rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """What to weigh of a line.

    `exact` is the mass by percent in g, `mass` what the balance can show, `rest` what of it is the
    rounding rest of the whole batch. All None where the line has no percent.

    `error` is half a division as a share of the line (0.05 is 5 %), `wanted` the error that its
    function wants, `least` the mass in g from which the balance does, `enough_from` the batch size
    in g from which the line is large enough: None where nothing is wanted. `unjudged` says that
    neither a sheet nor a role tells what the line is for.
    """

    line: ResolvedLine
    exact: Fraction | None
    mass: Decimal | None = None
    rest: Decimal | None = None
    error: Fraction | None
    wanted: Fraction | None
    least: Fraction
    enough_from: Decimal | None
    unjudged: bool

    @property
    def too_small(self) -> bool:
        """Whether the balance can't weigh the line as well as it wants."""
        return self.exact is not None and 0 < self.exact < self.least

    @property
    def lost(self) -> bool:
        """Whether the line is in the formula but rounds to nothing on this balance."""
        return self.mass == 0 and bool(self.exact)


@dataclass(frozen=True, slots=True)
class LargestBatch:
    """The largest batch that what is there allows, in g, and the ingredient that sets it."""

    size: Decimal
    limiting: ResolvedLine
    have: Fraction


@dataclass(frozen=True, slots=True)
class Share:
    """A mass to be rounded: `exact` in g, None where unknown; `name` settles ties."""

    exact: Fraction | None
    name: tuple[str, ...]
    fills_up: bool = False
    fixed: bool = False


def targets(
    composition: Composition,
    size: Quantity,
    readability: Decimal,
    *,
    repeatability: Decimal | None = None,
    strict: bool = False,
) -> tuple[Target, ...]:
    """The targets of a batch, in the order of the formula.

    They add up to the size, itself rounded to the readability, when the composition is complete and
    a line may take the rest (`adds_up` tells). A composition that doesn't add up to 100 is scaled
    as it stands: its finding says so, and no rest is moved to hide it.

    Args:
        composition: what to make.
        size: the mass of the whole batch.
        readability: the smallest step that the balance shows, in g.
        repeatability: the measured standard deviation in g, used with `strict`.
        strict: judge small lines by USP <41> instead of the bench rule.

    Raises:
        Unclear: a readability of nothing, or a batch that the balance can't show.
    """
    whole = batch_steps(size, readability)
    mass = whole * Fraction(readability)
    spread = None if repeatability is None else Fraction(repeatability)
    device = scales.Balance(readability=Fraction(readability), repeatability=spread)
    exact = [None if x.percent is None else x.percent * mass / WHOLE for x in composition.lines]
    shares = [_share(x, m) for x, m in zip(composition.lines, exact, strict=True)]
    rounded, rests = split(shares, readability, whole if composition.complete else None)
    return tuple(
        replace(
            _judged(line, share.exact, device, strict=strict),
            mass=None if count is None else of_steps(count, readability),
            rest=None if count is None else of_steps(rest, readability),
        )
        for line, share, count, rest in zip(composition.lines, shares, rounded, rests, strict=True)
    )


def adds_up(found: Sequence[Target], size: Quantity, readability: Decimal) -> bool:
    """Whether the targets add up to the batch size on this balance."""
    masses = [target.mass for target in found if target.mass is not None]
    total = sum((Fraction(mass) for mass in masses), Fraction())
    whole = batch_steps(size, readability) * Fraction(readability)
    return len(masses) == len(found) and total == whole


def batch_steps(size: Quantity, readability: Decimal) -> int:
    """A batch size as the nearest number of steps of the balance.

    Raises:
        Unclear: no readability, or a size that the balance shows as nothing.
    """
    _has_steps(readability)
    whole = steps(size.exact("g"), readability)
    if whole <= 0:
        raise Unclear(
            f"{size} is too little for a balance that reads {readability:f} g",
            mend="make a larger batch, or name a finer balance",
        )
    return whole


def _has_steps(readability: Decimal) -> None:
    if readability <= 0:
        raise Unclear(
            f"a balance with a readability of {readability:f} g shows nothing",
            mend="write the smallest step that its display makes, like 0.1 g",
        )


def _share(line: ResolvedLine, exact: Fraction | None) -> Share:
    kinds = {*line.functions, line.role}
    fixed = line.limited or line.adjust is not None or bool(FIXED & kinds)
    return Share(exact, (line.sheet, line.phase, line.ingredient), line.qs, fixed)


def split(
    shares: Sequence[Share], readability: Decimal, whole: int | None
) -> tuple[list[int | None], list[int]]:
    """Masses as steps of a balance, and how many of them are rounding rest, per share.

    The rest goes to the share that fills up, else to the largest that isn't fixed; one that it
    would push below zero is passed over. Where none can take it, or `whole` is None, it stays.
    The order of the shares doesn't matter.
    """
    rounded = [None if s.exact is None else steps(s.exact, readability) for s in shares]
    rests = [0] * len(shares)
    if whole is None or None in rounded:
        return rounded, rests
    rest = whole - sum(count for count in rounded if count is not None)
    for index in sorted(range(len(shares)), key=lambda i: _turn(shares[i])):
        count = rounded[index]
        if count is not None and not shares[index].fixed and count + rest >= 0:
            rounded[index], rests[index] = count + rest, rest
            break
    return rounded, rests


def _turn(share: Share) -> tuple[bool, Fraction, tuple[str, ...]]:
    return (not share.fills_up, -(share.exact or Fraction()), share.name)


def _judged(
    line: ResolvedLine, exact: Fraction | None, device: scales.Balance, *, strict: bool
) -> Target:
    """What the balance is worth for a line; without the mass to weigh."""
    kinds = {*line.functions, line.role or ""}
    kinds |= {"restricted"} if line.limited else set()
    kinds |= {"adjuster"} if line.adjust is not None else set()
    wanted = scales.wanted_error(kinds, qs=line.qs)
    least = scales.least_mass(device, wanted, strict=strict)
    enough = None
    if least and line.percent:
        step = to_decimal(device.readability)
        enough = of_steps(steps_up(least * WHOLE / line.percent, step), step)
    return Target(
        line=line,
        exact=exact,
        error=None if exact is None else scales.relative_error(exact, device.half_division),
        wanted=wanted,
        least=least,
        enough_from=enough,
        unjudged=wanted is None and not (line.known or line.role or line.qs),
    )


# From what is there ------------------------------------------------------------------------------


def largest_batch(
    composition: Composition,
    have: Mapping[str, Quantity],
    readability: Decimal,
    sheets: Sheets | None = None,
) -> LargestBatch:
    """The largest batch that the ingredients at hand allow, in whole steps of the balance.

    Args:
        composition: what to make.
        have: masses by ingredient, as named in the formula (or by any name, with `sheets`). What is
            not named is taken to be enough.
        readability: the smallest step that the balance shows, in g.
        sheets: to know ingredients by their other names.

    Raises:
        UnknownName: an ingredient that the formula doesn't have.
        Unclear: nothing named limits the batch, a percent isn't known, or there is too little.
    """
    _has_steps(readability)
    limits = []
    for name, quantity in have.items():
        lines = _lines_of(composition, name, sheets)
        percent = _taken(name, lines)
        mass = quantity.exact("g")
        if percent:  # what can't be told apart on this balance can't be weighed out of the pack
            shown = mass // Fraction(readability) * Fraction(readability)
            limits.append((shown * WHOLE / percent, lines, mass))
    if not limits:
        raise Unclear(
            "nothing that you have limits the batch", mend="name an ingredient: --have NAME=180g"
        )
    most, lines, mass = min(limits, key=lambda limit: (limit[0], limit[1][0].sheet))
    needs = {tuple(x.index for x in own): grams for _, own, grams in limits}
    count = int(most // Fraction(readability))
    while count > 0 and not _covered(composition, count, readability, needs):
        count -= 1
    if count <= 0:
        raise Unclear(
            f"{decimal_text(mass)} g of {lines[0].ingredient} is too little for any batch",
            mend="name a finer balance, or get more of it",
        )
    return LargestBatch(of_steps(count, readability), lines[0], mass)


def _taken(name: str, lines: Sequence[ResolvedLine]) -> Fraction:
    """What the formula takes of an ingredient, in percent by weight."""
    known = [line.percent for line in lines if line.percent is not None]
    if len(known) < len(lines):
        raise Unclear(
            f"how much {name} the formula takes isn't known",
            mend="give every line a percent, then ask again",
        )
    return sum(known, Fraction())


def _lines_of(
    composition: Composition, name: str, sheets: Sheets | None
) -> tuple[ResolvedLine, ...]:
    """The lines of an ingredient, by its written name, its sheet, or any name of its sheet."""
    wanted = {fold(name), fold(sheets.id_of(name)) if sheets else fold(name)}
    found = [x for x in composition.lines if wanted & {fold(x.ingredient), fold(x.sheet)}]
    if not found:
        names = ", ".join(dict.fromkeys(x.ingredient for x in composition.lines)) or "nothing"
        raise UnknownName(f"the formula has no {name}", mend=f"it has: {names}")
    return tuple(found)


def _covered(
    composition: Composition,
    count: int,
    readability: Decimal,
    needs: Mapping[tuple[int, ...], Fraction],
) -> bool:
    """Whether the rounded targets of a batch size stay within what is there."""
    found = targets(composition, Quantity(of_steps(count, readability), "g"), readability)
    mass = {target.line.index: Fraction(target.mass or 0) for target in found}
    return all(sum(mass[i] for i in own) <= grams for own, grams in needs.items())
