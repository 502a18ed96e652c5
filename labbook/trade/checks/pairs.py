"""Ingredients that don't go together, by the rows of `pairs.yaml` and of the notebook.

A pair is found in lines and in the parts of blends. Where a row asks for a pH that nobody aims for
or has measured, it can't be told, and that is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from labbook.model.problems import Severity
from labbook.model.rules import BadPair
from labbook.trade.advice import Advice
from labbook.trade.checks.acidity import acidity
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import Part, all_parts, names_of, number, parts, selected


def pairs(case: Case) -> Iterator[Advice | Unseen]:
    """One finding for each row of which both sides are in the formula."""
    every = once((*parts(case), *all_parts(case)))
    for row in case.rules.pairs.values():
        if row.severity == "off" or (row.emulsions and case.emulsion() not in row.emulsions):
            continue
        met = _meeting(case, row, every)
        if met is None:
            continue
        bound, said = _by_pH(case, row)
        if bound is None:
            yield Unseen(row.rule, said, names_of(met[0] + met[1]))
        elif bound:
            yield _finding(row, *met, said)


def once(found: Iterable[Part]) -> tuple[Part, ...]:
    """Materials without those that stand there twice: whole, and as a part of themselves."""
    by_place = {(one.line, one.ingredient, one.percent): one for one in found}
    return tuple(by_place.values())


def _meeting(
    case: Case, row: BadPair, every: tuple[Part, ...]
) -> tuple[tuple[Part, ...], tuple[Part, ...]] | None:
    """Both sides of a pair, as far as a different material meets them; None where none does."""
    ones = selected(case, row.one, every)
    others = selected(case, row.other, every)

    def meets(part: Part, side: tuple[Part, ...]) -> bool:
        return any(
            _id(case, part) != _id(case, other)
            and (not row.same_phase or part.phase == other.phase)
            and not _within(case, part, other)
            for other in side
        )

    met = tuple(p for p in ones if meets(p, others)), tuple(p for p in others if meets(p, ones))
    return met if met[0] and met[1] else None


def _id(case: Case, part: Part) -> str:
    return case.sheets.id_of(part.ingredient)


def _within(case: Case, one: Part, other: Part) -> bool:
    """Whether two are a blend and a part of it, or two parts of one: its maker saw to that."""
    return one.line == other.line


def _by_pH(case: Case, row: BadPair) -> tuple[bool | None, str]:
    """Whether the pH is where the row speaks, None where nobody knows it, and what it is."""
    if row.above_pH is None and row.below_pH is None:
        return True, ""
    pH = acidity(case)
    if pH is None:
        return None, "a pH, aimed for or measured"
    said = "the pH measured was" if pH.measured else "the pH aimed for goes to"
    high = pH.high if pH.high is not None else pH.low
    low = pH.low if pH.low is not None else pH.high
    if row.above_pH is not None and high is not None and high > Fraction(row.above_pH):
        return True, f"{said} {number(high)}"
    if row.below_pH is not None and low is not None and low < Fraction(row.below_pH):
        return True, f"{said} {number(low)}"
    return False, ""


def _finding(row: BadPair, ones: tuple[Part, ...], others: tuple[Part, ...], at_pH: str) -> Advice:
    names = {"one": _with_amount(ones), "other": _with_amount(others)}
    what = row.what
    for key, text in names.items():
        what = what.replace("{" + key + "}", text)
    if what == row.what:
        what = f"{names['one']} with {names['other']}: {what}"
    if at_pH:
        what = f"{what.rstrip('.')}; {at_pH}."
    return Advice(
        rule=row.rule,
        severity=Severity(row.severity),
        what=what if what.endswith(".") else f"{what}.",
        why=row.why,
        mend=row.mend,
        source=row.source,
        line=others[0].line,
    )


def _with_amount(found: tuple[Part, ...]) -> str:
    """The names, with the percent where there is one material alone."""
    names = names_of(found)
    amounts = {part.percent for part in found}
    percent = next(iter(amounts))
    if len({part.ingredient for part in found}) > 1 or len(amounts) > 1 or percent is None:
        return names
    return f"{names} ({float(percent):.4g} %)"


CHECKS: tuple[Check, ...] = (pairs,)
