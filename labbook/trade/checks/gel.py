"""Gels: whether something gels at all, has its base, its pH and its time to swell."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.trade.advice import Advice
from labbook.trade.checks.acidity import acidity, outside, windows
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import (
    Part,
    all_known,
    ends,
    names_of,
    number,
    of_kind,
    parts,
    selected,
    span,
)
from labbook.trade.checks.method import acts
from labbook.trade.checks.phrases import pH_text

_TIME_TO_SWELL = frozenset({"hydrate", "rest", "hold"})


def without_its_base(case: Case) -> Iterator[Advice | Unseen]:
    """An acid polymer that thickens only when a base neutralises it, and no base."""
    rule = "carbomer-not-neutralised"
    acids = selected(case, case.rule(rule).of, parts(case))
    if acids and all_known(case) and not of_kind(parts(case), "base", "buffer"):
        what = f"{names_of(acids)} swells only when neutralised, and there is no base here."
        yield case.advice(rule, what, line=acids[0].line)


def outside_its_pH(case: Case) -> Iterator[Advice | Unseen]:
    """A gellant at a pH that its sheet doesn't name."""
    pH = acidity(case)
    for window in windows(case):
        if pH is None or "gellant" not in window.part.kinds or not outside(case, window):
            continue
        what = (
            f"{pH_text(pH)}, {window.part.ingredient} thickens at pH "
            f"{span(window.low, window.high)} by its sheet{_note(window.note)}."
        )
        source = f"its sheet: {window.source}" if window.source else None
        yield case.advice(
            "gellant-outside-its-ph",
            what,
            line=window.part.line,
            source=source,
        )


def _note(note: str) -> str:
    return f" ({note})" if note else ""


def enough_gellant(case: Case) -> Iterator[Advice | Unseen]:
    """Nothing that gels, or less than the sheets' usual use, all gellants together."""
    found = parts(case)
    own = of_kind(found, "gellant")
    if not own:
        if not _thickened(found) and all_known(case) and case.composition.water().least:
            yield case.advice("no-gellant", "Nothing in this gel gels.", key="emulsion")
        return
    reached = Fraction()
    for part in own:
        least = _usual(part)
        if least is None or not least or part.percent is None:
            return
        reached += part.percent / least
    if reached < 1:
        told = " and ".join(
            f"{number(p.percent or 0)} % {p.ingredient}, usual from {number(_usual(p) or 0)} % on"
            for p in own
        )
        yield case.advice("little-gellant", f"There is {told}.", line=own[0].line)


def _thickened(found: tuple[Part, ...]) -> bool:
    """Whether something else thickens the water, as hyaluronate does."""
    return any(part.dissolves_in == "water" for part in of_kind(found, "thickener"))


def _usual(part: Part) -> Fraction | None:
    return ends(part.sheet.usual_use if part.sheet else None, None, "%")[0]


def time_to_swell(case: Case) -> Iterator[Advice | Unseen]:
    """A powder that has to swell, and a method that gives it no time."""
    own = [
        part
        for part in of_kind(parts(case), "gellant")
        if part.sheet is not None and part.sheet.physical == "powder"
    ]
    steps = acts(case)
    if case.batch is not None or not own or not steps:
        return
    if any(act.plan.do in _TIME_TO_SWELL or act.plan.hold is not None for act in steps):
        return
    what = f"The method has no step in which {names_of(own)} can swell."
    yield case.advice("no-hydration-step", what, key="method")


CHECKS: tuple[Check, ...] = (without_its_base, outside_its_pH, enough_gellant, time_to_swell)
