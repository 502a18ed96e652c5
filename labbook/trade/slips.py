"""Too much of something in the vessel: the three ways on, and what each of them does.

Leave it: every percent shifts a little and the batch grows. Weigh the rest up to it: the formula
stays and the batch grows; what is already combined can't follow. Take it out again: everything
stays as planned.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from labbook.model.errors import Unclear
from labbook.trade.composition import WHOLE
from labbook.trade.exact import decimal_text, of_steps, steps, to_decimal
from labbook.trade.scaling import Share, split


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchLine:
    """A line as it stands at the bench; masses in g.

    `target` is None where there is none, `weighed` where nothing was weighed yet. `combined` says
    that it can't be reached any more: it was mixed with other lines. `fixed` lines take no rounding
    rest, the one that `fills_up` takes it first.
    """

    id: str
    ingredient: str
    target: Fraction | None
    weighed: Fraction | None = None
    combined: bool = False
    fixed: bool = False
    fills_up: bool = False

    @property
    def expected(self) -> Fraction | None:
        """What it will be if nothing else happens: what was weighed, else the target.

        None for a line that went in unweighed: nobody knows, and nobody can find out.
        """
        if self.weighed is not None:
            return self.weighed
        return None if self.combined else self.target


@dataclass(frozen=True, slots=True)
class LeaveIt:
    """The batch with the slip left in: its size in g, and each line's percent by weight.

    Both None where it can't be known what a line comes to; `missing` names those.
    """

    size: Fraction | None
    percents: Mapping[str, Fraction] | None
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WeighUp:
    """The batch weighed up to the slip: new targets in g by line, their sum, and what to add.

    `still_to_add` is what each line that can follow lacks now, in g. `cant_follow` names lines that
    are combined already and `over` those that hold more than their new target would be: they keep
    their mass. `missing` names lines whose mass can't be known; `size` is then None.
    """

    factor: Fraction
    targets: Mapping[str, Decimal]
    still_to_add: Mapping[str, Decimal]
    size: Decimal | None
    cant_follow: tuple[str, ...]
    over: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def exact(self) -> bool:
        """Whether every line follows, so that the percents stay, but for rounding."""
        return not (self.cant_follow or self.over or self.missing)


@dataclass(frozen=True, slots=True)
class TakeOut:
    """Taking the slip out again: how much, in g, and whether it can still be reached."""

    mass: Fraction
    possible: bool


@dataclass(frozen=True, slots=True)
class Slip:
    """A line with more than its target, and the three ways on."""

    line: BenchLine
    too_much: Fraction
    leave_it: LeaveIt
    weigh_up: WeighUp
    take_out: TakeOut


FAR_OFF = (Fraction(1, 8), Fraction(3))
"""Below or above these shares of what is wanted a weight is taken for a slip of the point or of the
unit: ten times too little with what rounding adds, or over three times as much.
"""

CLEARLY_OVER = Fraction(21, 20)
"""From this share of its target on, a line holds so much that one has to decide what to do."""


def far_off(mass: Fraction, wanted: Fraction | None) -> bool:
    """Whether a weight is ten times off, or over three times what is wanted."""
    if wanted is None or wanted <= 0:
        return False
    return mass <= FAR_OFF[0] * wanted or mass > FAR_OFF[1] * wanted


def clearly_over(mass: Fraction, target: Fraction | None) -> bool:
    """Whether a line holds more than its target by so much that it has to be decided about."""
    return target is not None and target > 0 and mass > CLEARLY_OVER * target


def slip(lines: Sequence[BenchLine], of: str, mass: Fraction, readability: Decimal) -> Slip:
    """What to do about a line that holds more than its target.

    Args:
        lines: all lines of the batch as they stand.
        of: the id of the line that holds too much.
        mass: what it holds now, in g.
        readability: the smallest step that the balance shows, in g.

    Raises:
        Unclear: no such line, it has no target, or it doesn't hold too much.
    """
    slipped = next((line for line in lines if line.id == of), None)
    if slipped is None:
        raise Unclear(f"the batch has no line {of}", mend="name one of its ingredients")
    if not slipped.target:
        raise Unclear(
            f"{slipped.ingredient} has no target, so nothing is too much of it",
            mend="give the line a percent in the formula",
        )
    if mass <= slipped.target:
        raise Unclear(
            f"{decimal_text(mass)} g of {slipped.ingredient} is not over the target of "
            f"{decimal_text(slipped.target)} g",
            mend="add what is missing",
        )
    return Slip(
        slipped,
        mass - slipped.target,
        leave_it(lines, of, mass),
        scaled_from(lines, of, mass, readability),
        TakeOut(mass - slipped.target, possible=not slipped.combined),
    )


def leave_it(lines: Sequence[BenchLine], of: str, mass: Fraction) -> LeaveIt:
    """The percents and the size when a line keeps `mass` g and all others come as expected."""
    expected = {line.id: mass if line.id == of else line.expected for line in lines}
    known = {id_: grams for id_, grams in expected.items() if grams is not None}
    size = sum(known.values(), Fraction())
    if len(known) < len(lines) or not size:
        names = tuple(line.ingredient for line in lines if line.id not in known)
        return LeaveIt(None, None, names)
    return LeaveIt(size, {id_: grams * WHOLE / size for id_, grams in known.items()}, ())


def scaled_from(
    lines: Sequence[BenchLine], of: str, mass: Fraction, readability: Decimal
) -> WeighUp:
    """New targets of all lines so that `mass` g of one line is right again.

    Every target grows by the same factor and is rounded to the balance; what rounding leaves goes
    where `labbook.trade.scaling.split` puts it, never to the line that slipped. Combined lines keep
    what they hold; if one that still can follow holds more than its new target, it keeps that too.

    Raises:
        Unclear: the line isn't there or has no target.
    """
    start = next((line.target for line in lines if line.id == of), None)
    if not start:
        raise Unclear(f"line {of} has no target to reckon from", mend="name a line with a target")
    factor = mass / start
    kept = {of: mass} | {x.id: x.weighed for x in lines if x.id != of and _keeps(x, factor)}
    follow = [x for x in lines if x.id not in kept and x.target is not None]
    found = _rounded([(x, (x.target or Fraction()) * factor) for x in follow], readability)
    # Rounding may leave a target a step below what already lies in the vessel.
    found |= {x.id: max(found[x.id], to_decimal(x.weighed)) for x in follow if x.weighed}
    found |= {id_: to_decimal(grams) for id_, grams in kept.items() if grams is not None}
    others = [x for x in lines if x.id != of]
    missing = tuple(x.ingredient for x in lines if x.id not in found)
    return WeighUp(
        factor=factor,
        targets={x.id: found[x.id] for x in lines if x.id in found},
        still_to_add={x.id: to_decimal(Fraction(found[x.id]) - (x.weighed or 0)) for x in follow},
        size=None if missing else to_decimal(sum(map(Fraction, found.values()), Fraction())),
        cant_follow=tuple(x.ingredient for x in others if x.combined),
        over=tuple(x.ingredient for x in others if x.id in kept and not x.combined),
        missing=missing,
    )


def _keeps(line: BenchLine, factor: Fraction) -> bool:
    """Whether a line stays at what it holds: combined, or already over its new target."""
    if line.combined or line.weighed is None or line.target is None:
        return line.combined or line.weighed is not None
    return line.weighed > line.target * factor


def _rounded(lines: list[tuple[BenchLine, Fraction]], readability: Decimal) -> dict[str, Decimal]:
    """The new targets of the lines that follow, as the balance shows them."""
    shares = [Share(exact, (line.id,), line.fills_up, line.fixed) for line, exact in lines]
    whole = steps(sum((exact for _, exact in lines), Fraction()), readability)
    counts, _ = split(shares, readability, whole)
    return {
        line.id: of_steps(count, readability)
        for (line, _), count in zip(lines, counts, strict=True)
        if count is not None
    }
