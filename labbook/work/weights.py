"""What the notebook's balance can weigh: its figures, warnings before weighing, premixes."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction

from labbook.model.errors import UnknownName
from labbook.model.quantities import QuantityError
from labbook.model.results.calculating import PremixShown
from labbook.model.sheets import Sheets
from labbook.trade.balance import SMALL_ERROR, Balance, balance_of
from labbook.trade.exact import decimal_text, to_places
from labbook.trade.premix import Premix, enough_from, needs_help, premixes, step_for
from labbook.trade.scaling import Target
from labbook.work.bench import Bench

FINEST = Decimal("0.01")
"""Readability in grams that is assumed while the notebook has no balance; said on the sheet."""


def readability_of(bench: Bench, balance: str | None) -> Decimal:
    """The balance's readability in grams; 0.01 g where the notebook doesn't say."""
    tool = bench.snapshot.equipment.get(balance or "")
    if tool is None or tool.readability is None or tool.readability.dimension != "mass":
        return FINEST
    exact = tool.readability.exact("g")
    return Decimal(exact.numerator) / Decimal(exact.denominator)


def balance_at(bench: Bench, name: str | None) -> Balance:
    """A balance of the notebook with all that is known of it; else one that reads 0.01 g.

    A figure of its file that is no mass is left out: `check` says so.
    """
    tool = bench.snapshot.equipment.get(name or "")
    try:
        found = balance_of(tool) if tool is not None else None
    except QuantityError:
        found = None
    return found or Balance(readability=Fraction(readability_of(bench, name)))


def named_balance(bench: Bench, typed: str) -> str:
    """The balance that a person named, or the notebook's; empty without one.

    Raises:
        UnknownName: the notebook has no such balance.
    """
    if typed and typed not in bench.snapshot.equipment:
        raise UnknownName(f"The notebook has no balance {typed}.", mend="labbook equipment list")
    return typed or bench.snapshot.settings.defaults.balance or ""


# Lines that are too small -------------------------------------------------------------------------


def weight_warning(
    goal: Target, balance: Balance, *, strict: bool = False, finer: bool = False
) -> str:
    """What to know before weighing a line that the balance can hardly tell; empty where it can.

    With `finer` it names the balance that would weigh it as it is.
    """
    if goal.mass is None or goal.exact is None or not needs_help(goal):
        return ""
    told = f"{goal.line.ingredient}: {decimal_text(goal.exact) if goal.lost else goal.mass} g"
    shows = f"a balance that shows {decimal_text(balance.readability)} g"
    fine = enough_from(goal, balance)
    least = fine.to_integral_value(ROUND_CEILING) if fine else None
    enough = f"; from a batch of {least} g on it is fine" if least else ""
    end = f"{enough}."
    if finer:
        end += f" A balance that shows {_finer(goal, strict=strict)} g would weigh it as it is."
    if goal.lost:
        return f"{told} is nothing on {shows}{end}"
    error = "" if goal.error is None else f" is good to about {_rounded_up(goal.error * 100)} %"
    return f"{told} on {shows}{error}{end}"


def _finer(goal: Target, *, strict: bool) -> str:
    step = step_for(goal.exact or Fraction(), goal.wanted or SMALL_ERROR, strict=strict)
    return f"{step:f}"


def _rounded_up(value: Fraction) -> int:
    return -(-value.numerator // value.denominator)


def small_lines(
    goals: Sequence[Target], balance: Balance, sheets: Sheets, *, strict: bool = False
) -> tuple[tuple[str, PremixShown | None], ...]:
    """Each line that is too small: its warning, and the premix that would help."""
    made = {one.target.line.index: one for one in premixes(goals, sheets, balance, strict=strict)}
    found = []
    for goal in goals:
        own = made.get(goal.line.index)
        plain = own is None and goal.line.adjust is None
        warning = weight_warning(goal, balance, strict=strict, finer=plain)
        if warning:
            found.append((warning, None if own is None else _shown(own, strict=strict)))
    return tuple(found)


def _shown(found: Premix, *, strict: bool) -> PremixShown:
    goal, carrier = found.target, found.of
    assert carrier.mass is not None
    return PremixShown(
        ingredient=goal.line.ingredient,
        carrier=carrier.line.ingredient,
        carrier_phase="" if carrier.line.phase == goal.line.phase else carrier.line.phase,
        strength=to_places(found.strength, 2),
        ingredient_mass=found.part,
        carrier_mass=found.carrier,
        weigh=found.weigh,
        holds=to_places(found.holds, 4),
        carrier_before=carrier.mass,
        carrier_left=found.left,
        good_to=to_places(100 * found.error, 1),
        dispersed=found.dispersed,
        finer=Decimal(_finer(goal, strict=strict)),
    )


def warnings_of(goals: Sequence[Target], balance: Balance, sheets: Sheets) -> tuple[str, ...]:
    """The warnings before weighing, each with the premix that would help."""
    from labbook.show.scale import premix_words

    return tuple(
        warning if made is None else f"{warning} {premix_words(made)}"
        for warning, made in small_lines(goals, balance, sheets)
    )
