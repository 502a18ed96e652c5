"""What a formula's oil phase asks for and its emulsifiers give, in HLB; or why that says nothing.

Blends whose sheet has no figure of its own count by their parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.formula import Formula
from labbook.model.materials import Ingredient, Value
from labbook.model.sheets import Sheets
from labbook.trade.composition import Composition
from labbook.trade.expand import expand
from labbook.trade.hlb import Span, mixed_span, span_of

EMULSIFIERS = frozenset({"emulsifier", "co-emulsifier"})
SOAP_ACIDS = frozenset(
    {"stearic-acid", "palmitic-acid", "myristic-acid", "lauric-acid", "oleic-acid"}
)
"""Fatty acids that a base turns to soap, by the id of their sheet."""

ENOUGH = Fraction(3, 4)
"""The share by mass that must have a figure before the mean speaks for all of it: common practice,
no source.
"""


@dataclass(frozen=True, slots=True)
class Part:
    """What an ingredient adds to what an oil phase asks for, or to what the emulsifiers give.

    `percent` is in percent of the formula. `span` is None where the sheet doesn't say.
    """

    ingredient: str
    percent: Fraction
    span: Span | None
    source: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Weighted:
    """The mean of several lines by mass, as a range, over the lines that have a figure.

    `span` is None where none has. `covered` and `whole` are percents of the formula: with a figure,
    and all together.
    """

    span: Span | None
    parts: tuple[Part, ...]
    covered: Fraction
    whole: Fraction

    @property
    def enough(self) -> bool:
        """Whether so much of it has a figure that the mean speaks for all."""
        return self.span is not None and self.covered >= ENOUGH * self.whole


def weighted(parts: Sequence[Part]) -> Weighted:
    """The weighted range of lines."""
    known = [(part.percent, part.span) for part in parts if part.span is not None]
    covered = sum((percent for percent, _ in known), Fraction())
    return Weighted(
        span=mixed_span(known) if covered else None,
        parts=tuple(parts),
        covered=covered,
        whole=sum((part.percent for part in parts), Fraction()),
    )


def is_emulsifier(role: str | None, sheet: Ingredient | None) -> bool:
    """Whether an ingredient counts among the emulsifiers, by its role in a line, else its sheet.

    What has a required HLB and no HLB of its own, such as a fatty alcohol, belongs to the oil
    phase: it is what has to be emulsified.
    """
    if role in EMULSIFIERS:
        return True
    if sheet is None or not EMULSIFIERS & set(sheet.functions):
        return False
    return sheet.HLB is not None or sheet.required_HLB is None


@dataclass(frozen=True, slots=True)
class _Piece:
    """A line, or a part of a blend in it, with its sheet."""

    ingredient: str
    role: str | None
    percent: Fraction
    sheet: Ingredient | None


def _pieces(composition: Composition, sheets: Sheets) -> tuple[_Piece, ...]:
    """What a formula is made of: blends taken apart where the blend itself has no figure."""
    roles = {line.index: line.role for line in composition.lines}
    found = expand(composition, sheets, lambda sheet: _has_figure(sheet))
    return tuple(
        _Piece(x.ingredient, None if x.via else roles[x.line], x.percent, sheets.find(x.sheet))
        for x in (*found.pieces, *found.rests)
        if x.percent
    )


def _has_figure(sheet: Ingredient) -> bool:
    return sheet.HLB is not None or sheet.required_HLB is not None


def required(composition: Composition, sheets: Sheets) -> Weighted:
    """What the oil phase asks for: the required HLB of its parts, weighted by mass.

    Its parts are those with a required HLB, and all else that dissolves in oil and emulsifies
    nothing.
    """
    found = []
    for piece in _pieces(composition, sheets):
        sheet = piece.sheet
        if sheet is None or is_emulsifier(piece.role, sheet):
            continue
        if sheet.required_HLB is not None or sheet.soluble_in == "oil":
            found.append(_part(piece, sheet.required_HLB))
    return weighted(found)


def given(composition: Composition, sheets: Sheets) -> Weighted:
    """What the emulsifiers give: their HLB, weighted by mass."""
    return weighted(
        [
            _part(piece, piece.sheet.HLB if piece.sheet else None)
            for piece in _pieces(composition, sheets)
            if is_emulsifier(piece.role, piece.sheet)
        ]
    )


def _part(piece: _Piece, value: Value | None) -> Part:
    source, note = (value.source or "", value.note or "") if value else ("", "")
    return Part(piece.ingredient, piece.percent, span_of(value), source, note)


def why_not(formula: Formula, composition: Composition, sheets: Sheets) -> str:
    """Why HLB doesn't apply to a formula, in a sentence; empty where it does."""
    if formula.emulsion != "oil-in-water":
        return _OTHER_TYPES.get(formula.emulsion, f"This is {formula.emulsion}.") + _SCALE
    pieces = _pieces(composition, sheets)
    ionic = [
        f"{piece.ingredient} is {piece.sheet.charge}"
        for piece in pieces
        if piece.sheet is not None and ionic_charge(piece.sheet, piece.role)
    ]
    if ionic:
        return f"{', '.join(dict.fromkeys(ionic))}.{_SCALE}"
    soap = _soap(pieces)
    return f"{soap}{_SCALE}" if soap else ""


def ionic_charge(sheet: Ingredient, role: str | None = None) -> bool:
    """Whether a sheet is of an emulsifier or surfactant that is known to be charged."""
    acts = is_emulsifier(role, sheet) or "surfactant" in sheet.functions
    return acts and sheet.charge not in (None, "nonionic")


_SCALE = " HLB is a scale of nonionic emulsifiers for oil-in-water."
_OTHER_TYPES = {
    "water-in-oil": "This is water-in-oil: there the oil phase's share of emulsifier, salt and"
    " mixing decide.",
    "anhydrous": "This is anhydrous: there is no water to emulsify.",
    "gel": "This is a gel: its polymer holds it, not an emulsifier.",
    "solution": "This is a solution: there are no drops to hold.",
    "surfactant": "This is a surfactant product: charged surfactants decide.",
}


def _soap(pieces: Sequence[_Piece]) -> str:
    """A fatty acid with a base: an anionic soap emulsifies; empty where there is none."""
    acids = [x.ingredient for x in pieces if x.sheet and x.sheet.id in SOAP_ACIDS]
    bases = [x.ingredient for x in pieces if x.sheet and "base" in x.sheet.functions]
    if not acids or not bases:
        return ""
    return f"{acids[0]} with {bases[0]} makes a soap, which is anionic."
