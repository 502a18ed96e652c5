"""Limits of law: how much of an ingredient a text allows in the finished product.

The rows of `limits-*.yaml` say region, kind of product, what the amount is reckoned as, and the
text with the day it was read. Of a batch the amount is what was weighed, at the upper end of its
weighing uncertainty. Nothing here says that a product may be sold.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import floor

from labbook.model.moments import day_of
from labbook.model.problems import Severity
from labbook.model.rules import LegalLimit
from labbook.model.sheets import fold
from labbook.trade.advice import Advice
from labbook.trade.balance import root_sum
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.counted import Holding, factor, holdings
from labbook.trade.checks.regions import regions_of
from labbook.trade.exact import to_places

OLD_AFTER = 24
"""Months after which a text that was read "may have changed"."""

COVERAGE = 2
"""Expanded uncertainty: two standard uncertainties, about 95 in 100 (JCGM 100:2008, 6.3.3)."""

UNCOVERED = "legal-limits"
BOUND = frozenset({"preservative", "active", "fragrance", "pigment"})
"""Functions that the law often binds; without a row they are named as not compared."""


@dataclass(frozen=True, slots=True)
class Part:
    """What one line brings of what a limit counts.

    `rate` is counted percent per percent of the line; None where a share or a molar mass isn't
    known. `lacks` then says which, and `most` is what it can be at most, where that is known.
    """

    held: Holding
    percent: Fraction | None
    rate: Fraction | None
    lacks: str = ""
    most: Fraction | None = None

    @property
    def counted(self) -> Fraction | None:
        """The percent by weight of the formula, as counted."""
        return None if self.percent is None or self.rate is None else self.percent * self.rate


@dataclass(frozen=True, slots=True)
class Sum:
    """What a formula holds of what a row counts: the known sum, and its expanded uncertainty."""

    row: LegalLimit
    parts: tuple[Part, ...]
    least: Fraction
    doubt: Fraction


def rows_for(case: Case) -> tuple[LegalLimit, ...]:
    """The rows that speak of the case's region and kind of product, and are switched on.

    A formula that names no use counts as leave-on, which is the stricter. A notebook's own rows
    hold whatever region they name.
    """
    use = case.formula.use or "leave-on"
    every = case.rules.limits.values()
    regions = regions_of(case.region, {row.region for row in every}).names
    return tuple(
        row
        for row in every
        if row.severity != "off"
        and row.use in (None, use)
        and (row.region in regions or row.name in case.rules.own)
    )


def sums(case: Case) -> tuple[Sum, ...]:
    """What the case holds of what each row counts; rows of which it holds nothing are left out."""
    rows = rows_for(case)
    wanted = {row.name: frozenset(fold(name) for name in row.ingredients) for row in rows}
    held = holdings(case.composition, frozenset().union(*wanted.values()), case.sheets)
    found: list[Sum] = []
    for row in rows if held else ():
        own = [_part(h, row, case) for h in held if not wanted[row.name].isdisjoint(h.names)]
        if own:
            least = sum((part.counted or Fraction() for part in own), Fraction())
            found.append(Sum(row, tuple(own), least, _doubt(own, case)))
    return tuple(found)


def _part(held: Holding, row: LegalLimit, case: Case) -> Part:
    names = {fold(name): name for name in row.ingredients}
    rate = next(
        (f for n in (held.called, *(names[n] for n in held.names if n in names))
         if (f := factor(n, row.counted_as, case.sheets)) is not None),
        None,
    )  # fmt: skip
    percent, share = held.line.percent, held.share
    if percent is None:
        return Part(held, None, None, "its percent")
    if share is None:
        return Part(held, percent, None, f"how much {held.called} is in it")
    if rate is None:  # a salt never holds more acid than it weighs
        return Part(held, percent, None, "a molar mass", percent * share)
    return Part(held, percent, rate * share)


def _doubt(parts: list[Part], case: Case) -> Fraction:
    own = [
        Decimal(case.uncertainty[p.held.line.index]) * _decimal(p.rate)
        for p in parts
        if p.rate is not None and p.held.line.index in case.uncertainty
    ]
    return Fraction(COVERAGE * root_sum(own))


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


# Findings ----------------------------------------------------------------------------------------


def limits(case: Case) -> Iterator[Advice | Unseen]:
    """What is above a limit of law, or could be; and what no row of the tables covers."""
    covered: set[str] = set()
    for one in sums(case):
        covered |= {part.held.line.ingredient for part in one.parts}
        if one.row.changed:
            yield _changed(one)
            continue
        yield from _compared(one, case)
    for line in case.composition.lines:
        if BOUND & set(line.functions) and line.ingredient not in covered:
            yield Unseen(UNCOVERED, "a limit of law in the tables", line.ingredient)


def _compared(one: Sum, case: Case) -> Iterator[Advice | Unseen]:
    row, limit = one.row, Fraction(one.row.highest)
    unsure = [part for part in one.parts if part.counted is None]
    most = [part.most for part in unsure]
    known_most = None if None in most else one.least + sum(m for m in most if m is not None)
    if one.least > limit or one.least + one.doubt > limit:
        yield _over(one, case)
        return
    if known_most is None or known_most > limit:
        for part in unsure:
            yield Unseen(row.name, f"{part.lacks}, for {row.text}", part.held.line.ingredient)
    if row.condition:
        names = " and ".join(dict.fromkeys(part.held.called for part in one.parts))
        words = row.condition[:1].lower() + row.condition[1:].rstrip(".")
        yield Unseen(row.name, f"what the law says of {names} beside the figure: {words}")


def _over(one: Sum, case: Case) -> Advice:
    row, limit = one.row, Fraction(one.row.highest)
    surely = one.least > limit
    level = Severity(row.severity)
    every = {other.region for other in case.rules.limits.values()}
    soft = regions_of(case.region, every).assumed and row.name not in case.rules.own
    if level is Severity.ERROR and (soft or not surely):
        level = Severity.WARNING
    return Advice(
        rule=row.name,
        severity=level,
        what=_what(one, surely=surely),
        why=_why(row, case.today, used=case.formula.use is not None),
        mend=_mend(one, surely=surely),
        source=row.source,
        line=one.parts[0].held.line.index,
    )


def _what(one: Sum, *, surely: bool) -> str:
    row, limit = one.row, Fraction(one.row.highest)
    is_ = _figure(one.least, limit)
    parts = [part for part in one.parts if part.percent is not None]
    amounts = " and ".join(_amount(part) for part in parts)
    spread = f", give or take {_figure(one.doubt, limit)} by the weighing" if one.doubt else ""
    as_ = f" {row.counted_as}" if row.counted_as else ""
    several = len(parts) > 1
    plain = not several and parts[0].rate == 1
    said = f"{amounts}{spread}" if plain else (
        f"{amounts} {'count together' if several else 'counts'} as {is_} %{as_}{spread}"
    )  # fmt: skip
    whose, where = _called(row.region), f" in {row.use} products" if row.use else ""
    if not limit:
        return f"{said}; {whose} doesn't allow it{where}."
    if surely:
        return f"{said}; {whose} allows {row.highest:f} %{where} at most."
    return f"{said}: it may be over the {row.highest:f} % that {whose} allows{where}."


def _called(region: str) -> str:
    return f"the {region}" if region in ("EU", "UK", "US") else region


def _amount(part: Part) -> str:
    percent = part.percent or Fraction()
    inside = f" (in {part.held.within})" if part.held.within else ""
    share = part.held.share
    if part.held.within and share is not None:
        percent *= share
    return f"{_digits(percent, part)} % {part.held.called}{inside}"


def _digits(percent: Fraction, part: Part) -> str:
    typed = part.held.line.typed
    if typed is not None and Fraction(typed) == percent:
        return f"{typed:f}"
    return f"{to_places(percent, 3).normalize():f}"


def _figure(value: Fraction, limit: Fraction) -> str:
    """The value with digits enough that it doesn't read as the limit where it is none."""
    places = 3
    while places < 9 and value != limit and Fraction(to_places(value, places)) == limit:
        places += 1
    text = f"{to_places(value, places):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _why(row: LegalLimit, today: date | None, *, used: bool) -> str:
    read = day_of(row.read)
    said = f"{row.text}, read as of {read.isoformat()}"
    if today is not None and months_between(read, today) > OLD_AFTER:
        said += "; it may have changed since"
    said += "."
    if row.use == "leave-on" and not used:
        said += " The formula names no use, so it counts as leave-on."
    return f"{said} {row.condition}" if row.condition else said


def months_between(earlier: date, later: date) -> int:
    """Whole months from one day to another."""
    months = (later.year - earlier.year) * 12 + later.month - earlier.month
    return months - (later.day < earlier.day)


def _mend(one: Sum, *, surely: bool) -> str:
    row = one.row
    ask = "Today's law and a qualified assessor have the last word."
    if not row.highest:
        return f"Take it out. {ask}"
    if not surely:
        return f"Weigh on a finer balance, or aim a little lower. {ask}"
    known = [part for part in one.parts if part.rate]
    if len(known) > 1 or not known:
        over = _figure(one.least - Fraction(row.highest), Fraction())
        return f"Take {over} % out of the sum. {ask}"
    part = known[0]
    most = Fraction(row.highest) / (part.rate or Fraction(1))
    places = 2 if most >= Fraction(1, 10) else 5
    text = f"{to_places(Fraction(floor(most * 10**places), 10**places), places):f}"
    return f"At most {text} % {part.held.line.ingredient}. {ask}"


def _changed(one: Sum) -> Advice:
    row = one.row
    names = " and ".join(dict.fromkeys(part.held.called for part in one.parts))
    return Advice(
        rule=row.name,
        severity=Severity.NOTE,
        what=f"The limit for {names} in {_called(row.region)} changed {row.changed}.",
        why="Nothing was compared with it here.",
        mend="Look it up before you make it; your own figure can stand on its sheet.",
        source=row.text,
        line=one.parts[0].held.line.index,
    )


CHECKS: tuple[Check, ...] = (limits,)
