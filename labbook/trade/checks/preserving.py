"""Preservation: is there any, where it works, at the pH where it works, and how much of it is left.

Free acid is `labbook.trade.preservation`'s. There is no threshold of the program's own: the sheet's
least free acid counts, else the pH window that the sheet names. No finding is no proof that a
product keeps; only a microbiological test tells that.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.trade.acids import acid_doses
from labbook.trade.advice import Advice
from labbook.trade.checks.acidity import acidity, apart, measured, outside, windows
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import (
    Part,
    all_known,
    all_parts,
    ends,
    named,
    names_of,
    number,
    of_kind,
    parts,
    selected,
    span,
    total,
    water_phase,
)
from labbook.trade.checks.phrases import one_pH, pH_text
from labbook.trade.preservation import FreeAcid, free_acids, free_share


def preservatives(case: Case) -> tuple[Part, ...]:
    """What preserves, by sheet or role, without what does so only in a high share (ethanol)."""
    found = parts(case)
    solvents = selected(case, case.rule("low-risk-product").of, found)
    return tuple(
        part
        for part in of_kind(found, "preservative")
        if part not in solvents or part.role == "preservative"
    )


# Any at all --------------------------------------------------------------------------------------


def none_with_water(case: Case) -> Iterator[Advice | Unseen]:
    """Water, and nothing that preserves it; milder where a standard sees little risk."""
    rule, low_risk = "no-preservative", "low-risk-product"
    water = case.composition.water()
    if water.least is None or preservatives(case):
        return
    if water.least < Fraction(case.figure(rule, "water from in %")):
        return
    told = f"{number(water.least)} % of the formula is water"
    why = _little_risk(case)
    if why:
        yield case.advice(low_risk, f"{told}, and no preservative is in it; {why}.", key="phases")
    elif all_known(case):
        yield case.advice(rule, f"{told}, and nothing here preserves it.", key="phases")
    else:
        missing = [part.ingredient for part in parts(case) if part.sheet is None]
        yield Unseen(rule, f"whether {named(missing)} preserves the water")


def _little_risk(case: Case) -> str:
    """Why ISO 29621 sees little microbiological risk, as far as the notebook can tell."""
    rule = "low-risk-product"
    spirit = selected(case, case.rule(rule).of, parts(case))
    share = total(spirit)
    if share is not None and share > Fraction(case.figure(rule, "alcohol over in %")):
        return f"{number(share)} % is alcohol"
    pH = acidity(case)
    if pH is None:
        return ""
    if pH.high is not None and pH.high < Fraction(case.figure(rule, "pH below")):
        return f"its pH stays at {number(pH.high)} or below"
    if pH.low is not None and pH.low > Fraction(case.figure(rule, "pH above")):
        return f"its pH stays at {number(pH.low)} or above"
    return ""


def too_little_of_it(case: Case) -> Iterator[Advice | Unseen]:
    """Less than the usual use of the sheets, all preservatives of the formula together."""
    own = [part for part in preservatives(case) if part.role in ("", "preservative")]
    reached = Fraction()
    for part in own:
        least = _least_usual(part)
        if not least or part.percent is None:
            return
        reached += part.percent / least
    if own and reached < 1 and case.composition.water().least:
        told = " and ".join(
            f"{number(p.percent or 0)} % {p.ingredient}, usual from "
            f"{number(_least_usual(p) or 0)} % on"
            for p in own
        )
        what = f"To preserve it there is {told}."
        yield case.advice("little-preservative", what, line=own[0].line)


def _least_usual(part: Part) -> Fraction | None:
    return ends(part.sheet.usual_use if part.sheet else None, None, "%")[0]


def in_the_oil(case: Case) -> Iterator[Advice | Unseen]:
    """A preservative that dissolves in water only, and stands in a phase of fats."""
    water = water_phase(case)
    if water is None:
        return
    oily = {part.phase for part in parts(case) if part.dissolves_in == "oil"}
    for part in preservatives(case):
        if part.dissolves_in == "water" and part.phase != water[0] and part.phase in oily:
            what = (
                f"{part.ingredient} dissolves in water and acts there; it stands in phase "
                f"{part.phase}, with the oils. The water is phase {water[0]}."
            )
            yield case.advice("preservative-in-the-oil", what, line=part.line)


# Acids and their pH ------------------------------------------------------------------------------


def free_acid(case: Case) -> Iterator[Advice | Unseen]:
    """Preserving acids: too little left at the pH, or more than water dissolves."""
    if not acid_doses(case.composition, case.sheets):
        return
    read = measured(case)
    if case.batch is not None and read is None:
        return
    found = free_acids(
        case.formula,
        case.composition,
        case.sheets,
        measured=None if read is None else read[0],
        uncertainty=Fraction() if read is None else read[1],
    )
    for one in found:
        yield from _too_little_left(case, one)
        yield from _above_solubility(case, one)


def no_pH_for_the_acid(case: Case) -> Iterator[Advice | Unseen]:
    """An acid preserves by its pH, and the formula aims for none."""
    doses = acid_doses(case.composition, case.sheets)
    if not doses or case.batch is not None or not case.composition.water().least:
        return
    by_hand = any("ph" in (line.adjust or "").casefold() for line in case.composition.lines)
    pH = acidity(case)
    if not by_hand and (pH is None or pH.high is None):
        names = named([one.ingredient for one in doses])
        what = f"{names} preserves only at a low enough pH, and the formula aims for none."
        yield case.advice("acid-without-a-ph", what, line=doses[0].line)


def _too_little_left(case: Case, one: FreeAcid) -> Iterator[Advice]:
    rule = "too-little-acid-left"
    window = next((w for w in windows(case) if w.part.line == one.line), None)
    beyond = window is not None and window.high is not None and one.pH > window.high
    if one.too_little is False or (one.too_little is None and not beyond):
        return
    share = number(100 * one.share)
    what = (
        f"{one_pH(one.pH, measured=one.from_measured)}, {share} % of the {one.acid} is left to "
        f"preserve{_in_water(one)}; the rest has turned to its salt, which hardly does."
    )
    if one.least is not None:
        what += f" Its sheet asks for {number(one.least)} % free acid in the water phase."
    elif window is not None and window.high is not None:
        what += f" By its sheet it works up to pH {number(window.high)}."
    better = Fraction(case.figure(rule, "pH to compare with"))
    if one.pH > better:
        there = number(100 * free_share(one.pKa, better))
        what += f" At pH {better.numerator / better.denominator:.1f} it is {there} %."
    source = f"pKa {number(one.pKa)}, Henderson-Hasselbalch"
    yield case.advice(rule, what, source=source, line=one.line, target=one.target)


def _in_water(one: FreeAcid) -> str:
    if one.in_water_most is None:
        return ""
    most = number(one.in_water_most)
    if one.in_water_least is None:
        return f", at most {most} % of the water phase"
    return f", {number(one.in_water_least)} to {most} % of the water phase"


def _above_solubility(case: Case, one: FreeAcid) -> Iterator[Advice]:
    if one.over_solubility and one.in_water_low_pH is not None and one.soluble is not None:
        what = (
            f"{number(one.in_water_low_pH)} % free {one.acid} would be in the water phase at the "
            f"lowest pH; water dissolves {number(one.soluble)} %."
        )
        yield case.advice(
            "free-acid-above-solubility", what, source=one.soluble_source, line=one.line
        )


def outside_its_pH(case: Case) -> Iterator[Advice | Unseen]:
    """A preservative that is no acid, or another material, at a pH that its sheet doesn't name."""
    pH = acidity(case)
    acids = {dose.line for dose in acid_doses(case.composition, case.sheets)}
    for window in windows(case):
        part = window.part
        if pH is None or "gellant" in part.kinds or not outside(case, window):
            continue
        if part.line in acids:
            continue
        rule = "outside-its-ph"
        if "preservative" in part.kinds:
            rule = "preservative-outside-its-ph"
        note = f" ({window.note})" if window.note else ""
        what = (
            f"{pH_text(pH)}, {part.ingredient} is outside the pH of "
            f"{span(window.low, window.high)} that its sheet names{note}."
        )
        source = f"its sheet: {window.source}" if window.source else None
        yield case.advice(rule, what, line=part.line, source=source)


def windows_apart(case: Case) -> Iterator[Advice | Unseen]:
    """Two materials that have no pH in common."""
    for below, above in apart(case):
        what = (
            f"{below.part.ingredient} wants a pH {span(below.low, below.high)}, "
            f"{above.part.ingredient} one {span(above.low, above.high)}: no pH suits both."
        )
        yield case.advice("ph-windows-apart", what, line=max(below.part.line, above.part.line))


# Help for it -------------------------------------------------------------------------------------


def no_chelator(case: Case) -> Iterator[Advice | Unseen]:
    """A watery plant extract, which brings metals and food for germs, and nothing that binds."""
    rule = "no-chelator"
    extracts = [p for p in of_kind(parts(case), "extract") if p.dissolves_in in ("water", "both")]
    share = total(extracts)
    if not extracts or share is None or not all_known(case):
        return
    if of_kind((*parts(case), *all_parts(case)), "chelator"):
        return
    if share >= Fraction(case.figure(rule, "extract from in %")):
        what = f"{number(share)} % is {names_of(extracts)}, and nothing here binds metals."
        yield case.advice(rule, what, line=extracts[0].line)


CHECKS: tuple[Check, ...] = (
    none_with_water,
    too_little_of_it,
    in_the_oil,
    free_acid,
    no_pH_for_the_acid,
    outside_its_pH,
    windows_apart,
    no_chelator,
)
