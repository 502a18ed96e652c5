"""`formula hlb`: what the oil phase asks for, what the emulsifiers give, and a pair to reach it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.formula import Formula
from labbook.model.materials import Ingredient
from labbook.model.quantities import Quantity
from labbook.model.results.calculating import HLBPart, HLBRange, HLBShare, HLBShown, HLBSolved
from labbook.trade.composition import Composition, resolve
from labbook.trade.exact import decimal_text, to_places
from labbook.trade.hlb import Span, hlb_text, share_for, span_of
from labbook.trade.hlb_of_formula import Weighted, given, ionic_charge, required, why_not
from labbook.work.bench import Bench
from labbook.work.states import content_of

HIGHEST = Decimal(50)
"""Beyond this no list goes (sodium lauryl sulfate has 40): what is typed above it is a slip."""


def hlb(
    bench: Bench,
    typed: str,
    *,
    need: str = "",
    first: str = "",
    second: str = "",
    emulsifier: str = "",
) -> HLBShown:
    """The balance of a formula's emulsifiers against what its oil phase asks for.

    Args:
        bench: the notebook.
        typed: a code or version.
        need: a target HLB; empty takes the range of the oil phase.
        first: an emulsifier to solve for, a sheet's name, or `NAME=HLB`; with `second`. Without
            both, the formula's own, where it has just two.
        second: the other emulsifier.
        emulsifier: how many percent of the formula the two are together; empty takes what the
            formula's emulsifiers are.

    Raises:
        Unclear, UnknownName: what was typed can't be read or found.
        NotAllowed: the named pair can't reach the target, or is no nonionic emulsifier.
    """
    content = content_of(bench, typed)
    formula, sheets = content.formula, bench.snapshot.sheets
    composition = resolve(formula, sheets)
    blank = HLBShown(name=content.name, title=formula.title, emulsion=formula.emulsion)
    reason = why_not(formula, composition, sheets)
    if reason:
        return replace(blank, why_not=reason)
    target = _number(need, "--need", "10.5") if need else None
    wanted, had = required(composition, sheets), given(composition, sheets)
    whole = _number(emulsifier, "--emulsifier", "5") if emulsifier else None
    percent = had.whole if whole is None else Fraction(whole)
    pair = _pair(bench, formula, first, second) or _own_pair(had)
    solved, unreached = _solved(pair, wanted, target, percent, formula.batch_size, bool(first))
    return replace(
        blank,
        required=_range(wanted),
        given=_range(had),
        need=target,
        emulsifier=decimal_text(percent, whole) if percent else "",
        size=formula.batch_size,
        solved=tuple(solved),
        out_of_reach=unreached,
        notes=tuple(_notes(formula, composition, bench)),
    )


def _number(typed: str, option: str, example: str) -> Decimal:
    """A figure above zero that was typed after an option; a decimal comma is taken."""
    text = typed.strip().removesuffix("%").strip().replace(",", ".")
    if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", text, re.ASCII) or Decimal(text) == 0:
        raise Unclear(f"{typed} is no figure for {option}.", mend=f"Like this: {option} {example}")
    value = Decimal(text)
    if option != "--emulsifier" and value > HIGHEST:
        raise Unclear(f"An HLB of {typed} is on no list.", mend="They go from 1 to about 40.")
    if option == "--emulsifier" and value >= 100:
        raise Unclear(f"{typed} % of emulsifier leaves nothing to emulsify.", mend="--emulsifier 5")
    return value


# The pair -----------------------------------------------------------------------------------------

Pair = tuple[tuple[str, Span], tuple[str, Span]]


def _pair(bench: Bench, formula: Formula, first: str, second: str) -> Pair | None:
    """The two emulsifiers that were named."""
    if bool(first) != bool(second):
        raise Unclear(
            "A pair has two emulsifiers.",
            mend=f"labbook formula hlb {formula.code} --with polysorbate-80 --and sorbitan-oleate",
        )
    return (_named(bench, first), _named(bench, second)) if first else None


def _named(bench: Bench, typed: str) -> tuple[str, Span]:
    """An emulsifier by its sheet in the notebook, else among the starters, or with a typed HLB."""
    name, equals, figure = (part.strip() for part in typed.partition("="))
    sheet = bench.snapshot.sheets.find(name) or _starter(name)
    if sheet is not None and ionic_charge(sheet, "emulsifier"):
        raise NotAllowed(
            f"{name} is {sheet.charge}; HLB is a scale of nonionic emulsifiers.",
            mend="Name a nonionic one.",
        )
    if equals:
        typed_hlb = Fraction(_number(figure, "HLB", f"{name}=15"))
        return name, Span(typed_hlb, typed_hlb)
    if sheet is None:
        raise UnknownName(
            f"There is no sheet for {name}.", mend=f"Give its HLB from its supplier: {name}=15"
        )
    span = span_of(sheet.HLB)
    if span is None:
        raise UnknownName(
            f"The sheet of {name} gives no HLB.",
            mend=f"Write it there with its source, or type it: {name}=15",
        )
    return name, span


def _starter(name: str) -> Ingredient | None:
    """A starter sheet that the notebook hasn't copied yet."""
    from labbook.notebook.snapshot import read_bytes
    from labbook.rules.starters import starter_named, starter_text

    starter = starter_named(name)
    text = starter_text(starter) if starter else None
    if starter is None or text is None:
        return None
    record = read_bytes(f"ingredients/{starter}.yaml", text.encode("utf-8")).record
    return record if isinstance(record, Ingredient) else None


def _own_pair(had: Weighted) -> Pair | None:
    """The formula's emulsifiers where they are two and both have a figure."""
    known = [(part.ingredient, part.span) for part in had.parts if part.span is not None]
    if len(had.parts) != 2 or len(known) != 2:
        return None
    return known[0], known[1]


def _solved(
    pair: Pair | None,
    wanted: Weighted,
    target: Decimal | None,
    percent: Fraction,
    size: Quantity | None,
    named: bool,
) -> tuple[list[HLBSolved], str]:
    """The pair at the target, or at both ends of the range; and why not where it can't be.

    Of a range, the end that is out of reach gives way to the nearest HLB that the pair has.
    """
    if pair is None:
        return [], ""
    if target is None and not wanted.enough:
        return [], "no target to solve for; name one: --need 10.5" if named else ""
    goals = Span(Fraction(target), Fraction(target)) if target is not None else wanted.span
    assert goals is not None
    (one, first), (other, second) = pair
    a, b = _middle(first), _middle(second)
    low, high = min(a, b), max(a, b)
    try:
        if goals.high < low or goals.low > high:
            share_for(goals.high if goals.high < low else goals.low, a, b)
        ends = dict.fromkeys((max(goals.low, low), min(goals.high, high)))
        return [_at(x, (one, a), (other, b), percent, size) for x in ends], ""
    except NotAllowed as error:
        if named:
            raise
        return [], error.what


def _middle(span: Span) -> Fraction:
    return (span.low + span.high) / 2


def _at(
    target: Fraction,
    one: tuple[str, Fraction],
    other: tuple[str, Fraction],
    percent: Fraction,
    size: Quantity | None,
) -> HLBSolved:
    share = share_for(target, one[1], other[1])
    first, second = (
        HLBShare(
            ingredient=name,
            hlb=to_places(hlb_, 1),
            share=to_places(100 * part, 1),
            percent=f"{to_places(percent * part, 2)}" if percent else "",
            mass=_mass(percent * part, size),
        )
        for (name, hlb_), part in ((one, share), (other, 1 - share))
    )
    return HLBSolved(target=to_places(target, 2), first=first, second=second)


def _mass(percent: Fraction, size: Quantity | None) -> str:
    if not percent or size is None:
        return ""
    return f"{to_places(percent * size.exact('g') / 100, 2)}"


# What is shown ------------------------------------------------------------------------------------


def _range(found: Weighted) -> HLBRange:
    span = found.span
    return HLBRange(
        parts=tuple(
            HLBPart(
                ingredient=part.ingredient,
                percent=decimal_text(part.percent),
                low=to_places(part.span.low, 1) if part.span else None,
                high=to_places(part.span.high, 1) if part.span else None,
                source=part.source,
                note=part.note,
            )
            for part in found.parts
        ),
        low=to_places(span.low, 2) if span else None,
        high=to_places(span.high, 2) if span else None,
        known=to_places(100 * found.covered / found.whole, 0) if found.whole else None,
        enough=found.enough,
    )


def _notes(formula: Formula, composition: Composition, bench: Bench) -> Iterator[str]:
    sheets = bench.snapshot.sheets
    had = given(composition, sheets)
    for part in had.parts:
        sheet = sheets.find(part.ingredient)
        if sheet is not None and sheet.charge is None:
            yield f"whether {part.ingredient} is nonionic, its sheet doesn't say"
    if composition.unknown:
        yield f"no sheet, so not counted: {', '.join(composition.unknown)}"
    span = had.span
    if span and (span.high < 8 or span.low > 16):
        yield (
            f"{hlb_text(span.low)} is outside 8 to 16, the range in which Griffin's table puts"
            " oil-in-water emulsifiers"
        )
