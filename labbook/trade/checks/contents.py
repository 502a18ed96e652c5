"""What the checks ask of a formula's contents: what emulsifies, what is oil, how much of each.

Blends and premixes count by what they contain; a material whose sheet says what it is for counts
as itself. A line of 0 % isn't in the formula. An unknown percent makes a sum unknown, never zero.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from labbook.model.materials import Ingredient, Value
from labbook.model.rules import Selector
from labbook.trade.checks.case import Case
from labbook.trade.exact import to_places
from labbook.trade.expand import Piece, expand
from labbook.trade.selecting import picks

_NO_FUNCTION = frozenset({"premix", "blend", "other"})
"""Words of a sheet that don't say what a material is for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A material in the formula: the index of its line, its phase, and its percent of the formula.

    `percent` is None where it isn't known, `sheet` where there is none. `role` is the line's.
    `alone` says that it stands for itself, not inside a blend.
    """

    line: int
    phase: str
    ingredient: str
    percent: Fraction | None
    sheet: Ingredient | None = field(hash=False)
    role: str
    alone: bool

    @property
    def kinds(self) -> frozenset[str]:
        """What it is for, by its sheet and by the line's role."""
        own = self.sheet.functions if self.sheet else ()
        return frozenset((*own, self.role)) - {""}

    @property
    def dissolves_in(self) -> str:
        """`oil`, `water`, `both`, `neither`; empty where nobody says."""
        return (self.sheet.soluble_in or "") if self.sheet else ""

    @property
    def solid(self) -> bool:
        """Whether it is solid at room temperature, by its sheet."""
        return self.sheet is not None and self.sheet.physical == "solid"


def parts(case: Case) -> tuple[Part, ...]:
    """What is in the formula, blends taken apart unless their sheet says what they are for."""
    return _parts(case, whole=True)


def all_parts(case: Case) -> tuple[Part, ...]:
    """What is in the formula, taken apart as far as the sheets go."""
    return _parts(case, whole=False)


def _parts(case: Case, *, whole: bool) -> tuple[Part, ...]:
    stop = _says_what_for if whole else None
    found = expand(case.composition, case.sheets, stop)
    pieces = [(piece, False) for piece in found.pieces] + [(rest, True) for rest in found.rests]
    return tuple(_part(case, one, rest=rest) for one, rest in pieces if one.percent != 0)


def _says_what_for(sheet: Ingredient) -> bool:
    return bool(set(sheet.functions) - _NO_FUNCTION)


def _part(case: Case, piece: Piece, *, rest: bool) -> Part:
    line = next(line for line in case.composition.lines if line.index == piece.line)
    return Part(
        line=piece.line,
        phase=piece.phase,
        ingredient=piece.ingredient,
        percent=piece.percent,
        sheet=None if rest else case.sheets.find(piece.ingredient),
        role="" if piece.via else (line.role or ""),
        alone=not piece.via,
    )


def all_known(case: Case) -> bool:
    """Whether every material has a sheet: only then can a check say that something is missing."""
    found = parts(case)
    return bool(found) and all(part.sheet is not None for part in found)


def of_kind(found: Iterable[Part], *kinds: str) -> tuple[Part, ...]:
    """Those that are for one of these things."""
    wanted = set(kinds)
    return tuple(part for part in found if wanted & part.kinds)


def selected(case: Case, selector: Selector | None, found: Iterable[Part]) -> tuple[Part, ...]:
    """Those that a rule's selector means; none without one."""
    if selector is None:
        return ()
    return tuple(
        part for part in found if picks(selector, part.ingredient, case.sheets, part.role or None)
    )


def emulsifying(case: Case) -> tuple[Part, ...]:
    """What emulsifies: emulsifiers by sheet or role, and surfactants.

    A role doesn't turn into an emulsifier what the rule `co-emulsifier-alone` names.
    """
    found = parts(case)
    never = set(selected(case, case.rule("co-emulsifier-alone").of, found))
    by_sheet = [
        part
        for part in found
        if part.sheet and {"emulsifier", "surfactant"} & set(part.sheet.functions)
    ]
    by_role = [part for part in found if part.role == "emulsifier" and part not in never]
    return tuple(part for part in found if part in by_sheet or part in by_role)


def total(found: Iterable[Part]) -> Fraction | None:
    """The sum of percents; None as soon as one isn't known."""
    amount = Fraction()
    for part in found:
        if part.percent is None:
            return None
        amount += part.percent
    return amount


def water_phase(case: Case) -> tuple[str, Fraction] | None:
    """The letter of the water phase and its percent of the formula; None where it isn't known."""
    letter = case.composition.water().phase
    for one in case.composition.phase_totals():
        if one.phase == letter and one.percent:
            return one.phase, one.percent
    return None


def oils(case: Case) -> tuple[Part, ...]:
    """What dissolves in oil and doesn't emulsify: the fats, waxes and oils to be emulsified."""
    helping = {"emulsifier", "co-emulsifier", "surfactant", "preservative"}
    return tuple(
        part for part in parts(case) if part.dissolves_in == "oil" and not helping & part.kinds
    )


def ends(given: Value | None, *units: str | None) -> tuple[Fraction | None, Fraction | None]:
    """A sheet's figure as its lower and upper end, each None where it isn't given.

    Args:
        given: the figure; None gives no ends.
        units: the units that are understood; a figure in another has no ends.
    """
    if given is None or (units and given.unit not in units):
        return None, None
    low, high = (given.from_, given.to) if given.value is None else (given.value, given.value)
    return (
        None if low is None else Fraction(low),
        None if high is None else Fraction(high),
    )


# Words -------------------------------------------------------------------------------------------


def number(value: Fraction | float) -> str:
    """A figure with no more digits than advice needs: 76.1, 4.7, 0.36, 0.009."""
    exact = Fraction(value)
    size = abs(exact)
    places = 0 if size >= 100 else 1 if size >= 10 else 2
    while places < 6 and size and size * 10**places < 10 and size < 1:
        places += 1
    text = f"{to_places(exact, places):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def span(low: Fraction | None, high: Fraction | None) -> str:
    """`62 to 64`, `45`, `up to 5.5`, `from 3 on`."""
    if low is not None and high is not None:
        return number(low) if low == high else f"{number(low)} to {number(high)}"
    if high is not None:
        return f"up to {number(high)}"
    return f"from {number(low)} on" if low is not None else ""


def named(names: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`, each name once."""
    found = list(dict.fromkeys(names))
    if len(found) < 2:
        return "".join(found)
    return f"{', '.join(found[:-1])} and {found[-1]}"


def names_of(found: Iterable[Part]) -> str:
    """The names of materials as a phrase."""
    return named([part.ingredient for part in found])
