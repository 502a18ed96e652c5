"""The screen of `formula scale`: grams, how sure each percent is, and premixes."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

from labbook.model.results.calculating import PremixShown, Scaled, ScaledLine
from labbook.show.layout import Column, Screen

MUCH = Decimal(100)
"""Grams of a premix from which a finer balance is named beside it."""


def scaled_screen(result: Scaled, screen: Screen) -> str:
    """`formula scale HC`."""
    screen.title(f"{result.name}  {result.title}", str(result.size))
    screen.blank()
    _table(screen, result)
    screen.row("together", f"{result.total} g")
    screen.row("balance", f"{result.balance or 'none in the notebook'}; {_steps(result)}")
    if any(line.uncertainty is not None for line in result.lines):
        screen.row("±", "points of percent, twice the standard uncertainty of weighing each line")
    if result.limiting:
        screen.row("limited by", result.limiting)
    if result.strict:
        screen.row("strict", f"USP <41>: nothing below {result.minimum} g on this balance")
    for number, warning in enumerate(result.warnings):
        screen.row("too little" if not number else "", warning)
    if result.fine_from is not None:
        rule = "by USP <41>" if result.strict else "within 5 %"
        screen.row("fine from", f"{result.fine_from}: then every line can be weighed {rule}")
    for number, premix in enumerate(result.premixes):
        screen.row("instead" if not number else "", premix_words(premix))
    if len(result.premixes) > 1:
        screen.row("", "Each of these takes the ones above it as made.")
    for number, finding in enumerate(result.findings):
        screen.row("note" if not number else "", finding)
    return screen.text()


def _steps(result: Scaled) -> str:
    told = f"{result.readability} g steps"
    return told if result.balance else f"reckoned in {told}"


def _table(screen: Screen, result: Scaled) -> None:
    rows = []
    phase = ""
    for line in result.lines:
        margin = "" if line.phase == phase else f"phase {line.phase}"
        phase = line.phase
        cells = [_words(line), _percent(line), "%" if line.percent else ""]
        cells += [doubt_text(line.uncertainty), line.mass, "g" if line.mass else ""]
        rows.append((margin, cells))
    known = any(line.uncertainty is not None for line in result.lines)
    columns = [Column(), Column("", "point"), Column("", "unit")]
    columns += [Column("±" if known else "", "point"), Column("", "point"), Column("", "unit")]
    screen.table(columns, rows)


def _words(line: ScaledLine) -> str:
    name = line.ingredient
    if line.qs:
        return f"{name}, q.s."
    if line.adjust:
        return f"{name}, {line.adjust}"
    return f"{name}, {line.role}" if line.role and line.role not in ("water", "oil") else name


def _percent(line: ScaledLine) -> str:
    if line.percent:
        return line.percent
    return "q.s." if line.qs else "unknown"


def doubt_text(uncertainty: Decimal | None) -> str:
    """Twice a standard uncertainty, rounded up to one digit; empty where there is none."""
    if not uncertainty:
        return ""
    doubled = 2 * uncertainty
    digit = Decimal(1).scaleb(doubled.adjusted())
    return f"{(doubled / digit).to_integral_value(ROUND_CEILING) * digit:f}"


def premix_words(premix: PremixShown) -> str:
    """A premix with its arithmetic, in a few sentences."""
    carrier = premix.carrier
    phase = f" (phase {premix.carrier_phase})" if premix.carrier_phase else ""
    mixed = "dispersed in" if premix.dispersed else "in"
    whole = premix.ingredient_mass + premix.carrier_mass
    strength = f"{premix.strength.normalize():f} %"
    told = (
        f"As a premix: {premix.ingredient_mass} g {premix.ingredient} {mixed}"
        f" {premix.carrier_mass} g {carrier}{phase}, which makes {whole} g at {strength};"
        f" mixed until even, weigh {premix.weigh} g of it, which holds {_short(premix.holds)} g,"
        f" and {premix.carrier_left} g of {carrier} instead of {premix.carrier_before}."
        f" Good to {_error(premix.good_to)} %."
    )
    if whole >= MUCH:
        told += f" A balance that shows {premix.finer} g would weigh it as it is."
    return told


def _error(percent: Decimal) -> str:
    """About how far it may be off, rounded up to whole percents; below one, to tenths."""
    if percent < 1:
        return f"{percent:f}"
    return f"about {percent.to_integral_value(ROUND_CEILING)}"


def _short(mass: Decimal) -> str:
    """A mass without more zeros at its end than it has digits."""
    return f"{mass.normalize():f}"
