"""What a formula is made of: every line as a percent by weight, q.s. and active percent worked out.

A formula in percent by weight adds up to 100; the q.s. line (quantum satis, as much as suffices)
takes what the others leave. An ingredient given by its active content is `active ÷ content × 100`.
What can't be worked out stays unknown (None) and is said in a finding; it is never zero.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from labbook.model.fields import Qs
from labbook.model.formula import Formula, Line
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.active import active_content as active_content
from labbook.trade.active import as_supplied
from labbook.trade.exact import decimal_text, rounded_like
from labbook.trade.water import PhaseTotal, WaterShare, phase_totals, water_content, water_share

WHOLE = Fraction(100)
percent_text = decimal_text


@dataclass(frozen=True, slots=True)
class Finding:
    """Something to know about a composition: a stable rule name, a sentence, and how to mend it.

    `line` is the index of the line in the order of the file, None for the formula as a whole;
    `amount` is the figure behind the sentence, in percent by weight, where there is one.
    """

    rule: str
    what: str
    line: int | None = None
    amount: Fraction | None = None
    mend: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResolvedLine:
    """A line with its percent by weight of the formula.

    `percent` is None where it can't be worked out; `typed` holds the digits of the file.
    `water_least` and `water_most` bound the water that the line brings, in percent of the formula:
    equal where the sheet says it, 0 and all of the line where nobody has. `functions` and `limited`
    (a highest use is given) are the sheet's; `known` says whether there is a sheet.
    """

    index: int
    phase: str
    ingredient: str
    sheet: str
    percent: Fraction | None
    typed: Decimal | None = None
    active_percent: Decimal | None = None
    qs: bool = False
    adjust: str | None = None
    role: str | None = None
    functions: tuple[str, ...] = ()
    limited: bool = False
    known: bool = False
    water_least: Fraction | None = None
    water_most: Fraction | None = None


@dataclass(frozen=True)
class Composition:
    """A formula as percents by weight; the sums over its lines are worked out once.

    `total` is the sum of the known percents without the q.s. line. `qs_percent` is what they leave
    to 100: below zero where they leave nothing (the line itself then has no percent), None without
    a q.s. line or where it can't be told. `unknown` names the ingredients without a sheet.
    """

    lines: tuple[ResolvedLine, ...]
    total: Fraction
    qs_percent: Fraction | None
    unknown: tuple[str, ...]
    problems: tuple[Finding, ...]

    @property
    def complete(self) -> bool:
        """Whether every line has a percent and they add up to 100."""
        known = [line.percent for line in self.lines if line.percent is not None]
        return len(known) == len(self.lines) and sum(known, Fraction()) == WHOLE

    @property
    def qs_line(self) -> ResolvedLine | None:
        """The line that fills up; None without one or with several."""
        filling = [line for line in self.lines if line.qs]
        return filling[0] if len(filling) == 1 else None

    def phase_totals(self) -> tuple[PhaseTotal, ...]:
        """The phases in the order in which they first appear."""
        return self._phase_totals

    def water(self) -> WaterShare:
        """How much water there is, and which phase is the water phase."""
        return self._water

    @cached_property
    def _phase_totals(self) -> tuple[PhaseTotal, ...]:
        return phase_totals(self.lines)

    @cached_property
    def _water(self) -> WaterShare:
        return water_share(self.lines)


def resolve(formula: Formula, sheets: Sheets) -> Composition:
    """The composition of a formula, with all that doesn't fit as findings."""
    problems: list[Finding] = []
    lines: list[ResolvedLine] = []
    for index, (phase, line) in enumerate(formula.lines):
        resolved, found = _resolve_line(index, phase.phase, line, sheets)
        lines.append(resolved)
        problems += found
    total = sum((line.percent or Fraction() for line in lines), Fraction())
    gaps = any(line.percent is None and not line.qs for line in lines)
    qs_percent, found = _fill_up(lines, total, gaps=gaps)
    if qs_percent is not None and qs_percent >= 0 and not gaps:
        lines = [replace(line, percent=qs_percent) if line.qs else line for line in lines]
    return Composition(
        lines=tuple(_with_water(line, sheets) for line in lines),
        total=total,
        qs_percent=qs_percent,
        unknown=tuple(dict.fromkeys(line.ingredient for line in lines if not line.known)),
        problems=(*problems, *found),
    )


def _resolve_line(
    index: int, phase: str, line: Line, sheets: Sheets
) -> tuple[ResolvedLine, list[Finding]]:
    sheet = sheets.find(line.ingredient)
    qs = isinstance(line.percent, Qs)
    typed = line.percent if isinstance(line.percent, Decimal) else None
    percent, found = _percent_of(index, line, typed, sheet)
    resolved = ResolvedLine(
        index=index,
        phase=phase,
        ingredient=line.ingredient,
        sheet=sheets.id_of(line.ingredient),
        percent=None if qs else percent,
        typed=typed,
        active_percent=line.active_percent,
        qs=qs,
        adjust=line.adjust,
        role=line.role,
        functions=sheet.functions if sheet else (),
        limited=sheet is not None and sheet.highest_use is not None,
        known=sheet is not None,
    )
    return resolved, [] if qs else found


def _percent_of(
    index: int, line: Line, typed: Decimal | None, sheet: Ingredient | None
) -> tuple[Fraction | None, list[Finding]]:
    """A line's percent: typed, else from its active percent; with what there is to say."""
    if line.active_percent is not None:
        return _from_active(index, line.ingredient, line.active_percent, typed, sheet)
    if typed is not None:
        return Fraction(typed), []
    if line.adjust is not None:
        what = f"{line.ingredient} has no expected amount, so the sum can't be told"
        mend = "write the percent that you expect to need, 0 if none"
        return None, [Finding("expected-amount-missing", what, index, mend=mend)]
    what = f"{line.ingredient} has no percent"
    return None, [Finding("percent-missing", what, index, mend="write one, or qs")]


def _from_active(
    index: int, name: str, active: Decimal, typed: Decimal | None, sheet: Ingredient | None
) -> tuple[Fraction | None, list[Finding]]:
    """A percent from an active percent; a typed percent beside it counts, and is compared."""
    content, why = active_content(sheet)
    if content is None:
        if typed is not None:
            return Fraction(typed), []
        what = f"{name}: {active:f} % active is wanted, but {why}"
        mend = "write its active content into the sheet, or a percent beside the active percent"
        return None, [Finding("active-content-unknown", what, index, mend=mend)]
    worked_out = as_supplied(Fraction(active), content)
    if typed is None:
        return worked_out, []
    if rounded_like(worked_out, typed) == Fraction(typed):
        return Fraction(typed), []
    what = (
        f"{name}: {active:f} % active is {decimal_text(worked_out)} % at the active content of "
        f"{decimal_text(content)} % that its sheet gives now; {typed:f} % stands in the formula"
    )
    mend = "write the new percent, or leave the old one if that is what you mean"
    return Fraction(typed), [Finding("active-content-changed", what, index, worked_out, mend)]


def _fill_up(
    lines: list[ResolvedLine], total: Fraction, *, gaps: bool
) -> tuple[Fraction | None, list[Finding]]:
    """What the q.s. line takes, and whether the sum is right."""
    filling = [line for line in lines if line.qs]
    if len(filling) > 1:
        names = " and ".join(line.ingredient for line in filling)
        what = f"{names} are all q.s.; only one line can fill up to 100 %"
        mend = "give all but one of them a percent"
        return None, [Finding("two-qs-lines", what, filling[1].index, mend=mend)]
    left = WHOLE - total
    if filling and left < 0:
        name, index = filling[0].ingredient, filling[0].index
        what = (
            f"the other lines add up to {decimal_text(total)} %, {decimal_text(-left)} % over 100: "
            f"nothing is left for {name}, q.s."
        )
        return left, [Finding("qs-below-zero", what, index, left, "take something out")]
    if filling:
        return (None if gaps else left), []
    if left == 0 or (gaps and left > 0) or not lines:
        return None, []
    way = "short of" if left > 0 else "over"
    what = f"the lines add up to {decimal_text(total)} %, {decimal_text(abs(left))} % {way} 100"
    mend = "correct a line, or write qs at the line that fills up"
    return None, [Finding("total-not-100", what, None, -left, mend)]


def _with_water(line: ResolvedLine, sheets: Sheets) -> ResolvedLine:
    if line.percent is None:
        return line
    own = water_content(sheets.find(line.ingredient), sheets).times(line.percent / WHOLE)
    return replace(line, water_least=own.least, water_most=own.most)
