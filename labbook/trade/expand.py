"""Blends, premixes, solutions and hydrates taken apart by what their sheets say they contain.

Weighing goes by the lines as they stand; the share of oil and water, the label, and what a cream
contains go by the components. A component that is itself a blend is taken apart too. What the
sheets leave open stays open: parts that don't add up to 100 leave a rest that nobody has named.
A sheet whose parts lead back to it, or add up to more than 100, is not taken apart, and that is
said.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.exact import decimal_text

if TYPE_CHECKING:
    from labbook.trade.composition import Composition

ALL = Fraction(100)
DEEPEST = 20
"""Blends within blends beyond this many are taken for a slip: nobody mixes so."""

Stop = Callable[[Ingredient], bool]
"""Whether a material is to be left whole though its sheet says what it contains."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Something about the parts of a sheet that keeps it from being taken apart wholly."""

    rule: str
    ingredient: str
    what: str
    mend: str


@dataclass(frozen=True, slots=True)
class Component:
    """One component, in percent by weight of the whole.

    `via` names the blends it comes in, the outermost first; empty for a material by itself.
    """

    ingredient: str
    sheet: str
    percent: Fraction
    via: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Contents:
    """What 100 parts of a material are made of: components, and rests that no sheet names.

    A rest carries the name of the blend that leaves it open. Components and rests add up to 100.
    """

    components: tuple[Component, ...]
    rests: tuple[Component, ...] = ()
    gaps: tuple[Gap, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """A component in a formula: the line it comes from, and its percent by weight of the formula.

    `percent` is None where the line has none.
    """

    line: int
    phase: str
    ingredient: str
    sheet: str
    percent: Fraction | None
    via: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Expanded:
    """A formula by its components, in the order of its lines."""

    pieces: tuple[Piece, ...]
    rests: tuple[Piece, ...] = ()
    gaps: tuple[Gap, ...] = ()

    def totals(self) -> dict[str, Fraction | None]:
        """Percent of the formula by ingredient id; None where a line that brings it has none."""
        found: dict[str, Fraction | None] = {}
        for piece in self.pieces:
            before = found.get(piece.sheet, Fraction())
            known = before is not None and piece.percent is not None
            found[piece.sheet] = (before or ALL * 0) + (piece.percent or 0) if known else None
        return found


def contents_of(name: str, sheets: Sheets, stop: Stop | None = None) -> Contents:
    """What an ingredient is made of, down to what no sheet takes apart, or where `stop` says so.

    A component that comes in by two ways is one, with the first way as its `via`.
    """
    return _Apart(sheets, stop).contents(name)


def expand(composition: Composition, sheets: Sheets, stop: Stop | None = None) -> Expanded:
    """A composition by its components; every line keeps its place and its percent in sum."""
    apart = _Apart(sheets, stop)
    pieces: list[Piece] = []
    rests: list[Piece] = []
    gaps: dict[tuple[str, str], Gap] = {}
    for line in composition.lines:
        inner = apart.contents(line.ingredient)
        gaps.update({(gap.rule, gap.ingredient): gap for gap in inner.gaps})
        for source, goal in ((inner.components, pieces), (inner.rests, rests)):
            for one in source:
                percent = None if line.percent is None else line.percent * one.percent / ALL
                goal.append(
                    Piece(line.index, line.phase, one.ingredient, one.sheet, percent, one.via)
                )
    return Expanded(tuple(pieces), tuple(rests), tuple(gaps.values()))


def parts_problem(sheet: Ingredient, sheets: Sheets) -> Gap | None:
    """Why a sheet can't be taken apart: its parts lead back to it, or are more than the whole."""
    total = sum((Fraction(part.percent or 0) for part in sheet.contains), Fraction())
    if total > ALL:
        what = f"the parts of {sheet.id} add up to {decimal_text(total)} %"
        return Gap("parts-over-100", sheet.id, what, "correct the percents under contains")
    if _leads_back(sheet, sheets):
        what = f"what {sheet.id} contains leads back to {sheet.id} itself"
        mend = "take the part out that names it, or give that part a sheet of its own"
        return Gap("contains-itself", sheet.id, what, mend)
    return None


def _leads_back(sheet: Ingredient, sheets: Sheets) -> bool:
    """Whether a sheet is among its own components, however deep."""
    seen: set[str] = set()
    waiting = [part.ingredient for part in sheet.contains]
    while waiting:
        inner = sheets.find(waiting.pop())
        if inner is None or inner.id in seen:
            continue
        if inner.id == sheet.id:
            return True
        seen.add(inner.id)
        waiting += [part.ingredient for part in inner.contains]
    return False


class _Apart:
    """Takes materials apart, each sheet once however many blends share it."""

    def __init__(self, sheets: Sheets, stop: Stop | None) -> None:
        self.sheets = sheets
        self.stop = stop
        self.known: dict[str, Contents] = {}

    def contents(self, name: str, depth: int = 0) -> Contents:
        sheet = self.sheets.find(name)
        if sheet is None or not sheet.contains or (self.stop is not None and self.stop(sheet)):
            return self._whole(name)
        if sheet.id not in self.known:
            problem = parts_problem(sheet, self.sheets)
            if problem is None and depth >= DEEPEST:
                what = f"{sheet.id} lies {DEEPEST} blends deep"
                mend = "write its components where it stands"
                problem = Gap("blend-too-deep", sheet.id, what, mend)
            self.known[sheet.id] = (
                self._of_parts(name, sheet, depth)
                if problem is None
                else self._whole(name, problem)
            )
        return self.known[sheet.id]

    def _whole(self, name: str, gap: Gap | None = None) -> Contents:
        own = Component(name, self.sheets.id_of(name), ALL)
        return Contents((own,), gaps=() if gap is None else (gap,))

    def _of_parts(self, name: str, sheet: Ingredient, depth: int) -> Contents:
        components: dict[str, Component] = {}
        rests: dict[str, Component] = {}
        gaps: dict[tuple[str, str], Gap] = {}
        left = ALL
        for part in sheet.contains:
            if part.percent is None:
                continue
            share = Fraction(part.percent)
            left -= share
            inner = self.contents(part.ingredient, depth + 1)
            gaps.update({(gap.rule, gap.ingredient): gap for gap in inner.gaps})
            for source, goal in ((inner.components, components), (inner.rests, rests)):
                for one in source:
                    _add(goal, one, share, name)
        if left:
            gap = _short(sheet, left)
            gaps[gap.rule, gap.ingredient] = gap
            _add(rests, Component(name, sheet.id, ALL), left, name)
        return Contents(tuple(components.values()), tuple(rests.values()), tuple(gaps.values()))


def _add(goal: dict[str, Component], one: Component, share: Fraction, blend: str) -> None:
    """Puts a component of a part, of which the blend holds so many percent, to the others."""
    percent = one.percent * share / ALL
    before = goal.get(one.sheet)
    if before is None:
        goal[one.sheet] = replace(one, percent=percent, via=(blend, *one.via))
    else:
        goal[one.sheet] = replace(before, percent=before.percent + percent)


def _short(sheet: Ingredient, left: Fraction) -> Gap:
    """Parts that leave a rest, with the names of those that have no percent."""
    open_parts = [part.ingredient for part in sheet.contains if part.percent is None]
    what = f"what {decimal_text(left)} % of {sheet.id} is, its sheet doesn't say"
    if open_parts:
        names = " and ".join(open_parts)
        what = f"how much {names} is in {sheet.id}, its sheet doesn't say"
        mend = "write the percent if your supplier gives it"
        return Gap("part-without-percent", sheet.id, what, mend)
    return Gap("parts-short-of-100", sheet.id, what, "write the other parts if you know them")
