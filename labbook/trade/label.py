"""The draft of an ingredient list: names, order, what may stand in any order, allergens.

Order by weight at the time of addition, blends by their components, a hydrate whole: its crystal
water is no water that was added. Sources of the figures stand beside them. What a sheet doesn't say
is listed as unknown, never left out; the draft defers to the law where the product is sold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from labbook.model.materials import Ingredient
from labbook.model.results.label import Allergen, LabelDraft, LabelEntry
from labbook.model.sheets import Sheets
from labbook.trade.composition import Composition
from labbook.trade.expand import Piece, expand
from labbook.trade.hydrates import hydrate_of


@dataclass(frozen=True, slots=True)
class Order:
    """From which percent on the order is by weight; `strict`: exactly that percent is ordered."""

    threshold: Fraction
    strict: bool
    source: str

    def free(self, percent: Fraction) -> bool:
        """Whether an ingredient of that percent may stand in any order after the others."""
        return percent < self.threshold if self.strict else percent <= self.threshold


_ART_19 = "Regulation (EC) 1223/2009, Art 19(1)(g)"
ORDERS = {
    "EU": Order(Fraction(1), True, f"{_ART_19}: below 1 % in any order"),
    "UK": Order(Fraction(1), True, f"{_ART_19}, as kept in UK law: below 1 % in any order"),
    "US": Order(
        Fraction(1),
        False,
        "21 CFR 701.3(a), by weight; 701.3(f), from memory: 1 % or less in any order",
    ),
}
REGIONS = tuple(ORDERS)

ALLERGEN_REGIONS = frozenset({"EU", "UK"})
"""Where single allergens stand in the list; the UK's own list of them is shorter (from memory)."""

LEAVE_ON = Fraction("0.001")
RINSE_OFF = Fraction("0.01")
ALLERGEN_SOURCE = "Regulation (EU) 2023/1545"
"""Named above 0.001 % in what stays on the skin, above 0.01 % in what is rinsed off.

The thresholds hold in the EU. Which substances are meant is the sheets' matter.
"""

_NAMES_OF = {"EU": ("EU",), "UK": ("UK", "EU"), "US": ("US",)}
_FIRST = frozenset({"fragrance", "extract"})
_COLOURANT = "pigment"


@dataclass(slots=True)
class _Gathered:
    """What comes together under one name."""

    name: str
    named: bool
    percent: Fraction | None = Fraction()
    ingredients: list[str] = field(default_factory=list)
    colourant: bool = False
    allergen: bool = False

    def add(self, percent: Fraction | None, ingredient: str) -> None:
        known = self.percent is not None and percent is not None
        self.percent = (self.percent or Fraction()) + (percent or 0) if known else None
        if ingredient not in self.ingredients:
            self.ingredients.append(ingredient)


Starter = Callable[[str], Ingredient | None]
"""The program's own sheet for a written name; None where it has none."""


def gathered(
    names: Iterable[str],
    sheets: Sheets,
    starter: Starter,
    view: Callable[[Ingredient], Ingredient] = lambda sheet: sheet,
) -> tuple[dict[str, Ingredient], dict[str, Ingredient]]:
    """The sheets that a draft needs: of ingredients, their components and their allergens.

    Args:
        names: of the ingredients, as they are written.
        sheets: the notebook's.
        starter: asked where the notebook has no sheet.
        view: what is to be seen of a sheet; parts that are not seen aren't followed.

    Returns:
        Sheets of the notebook by the names of their files, and starter sheets by theirs.
    """
    own: dict[str, Ingredient] = {}
    borrowed: dict[str, Ingredient] = {}
    waiting, seen = list(names), set[str]()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        sheet = sheets.find(name)
        if sheet is not None:
            sheet = own[sheets.name_of(sheet.id)] = view(sheet)
        elif (sheet := starter(name)) is not None:
            borrowed[sheet.id] = sheet
        else:
            continue
        waiting += [part.ingredient for part in (*sheet.contains, *sheet.allergens)]
    return own, borrowed


def label_name(sheet: Ingredient | None, region: str) -> str:
    """The name for the list in a region; empty where no sheet gives one."""
    if sheet is None:
        return ""
    own = sheet.label_names or {}
    return next((own[one] for one in _NAMES_OF[region] if one in own), sheet.inci or "")


def draft_label(
    composition: Composition,
    sheets: Sheets,
    *,
    region: str,
    use: str = "",
    name: str = "",
    title: str = "",
    made: str = "",
) -> LabelDraft:
    """The draft for a composition, as meant or as weighed.

    Args:
        composition: percents by weight.
        sheets: what gives names, components and allergens.
        region: one of `REGIONS`.
        use: `leave-on` or `rinse-off`; empty takes leave-on, which names more.
        name: what is shown in the head.
        title: the formula's.
        made: the batch that was weighed; empty for a formula as meant.
    """
    order = ORDERS[region]
    whole = expand(composition, sheets, stop=lambda sheet: hydrate_of(sheet, sheets) is not None)
    pieces = [piece for piece in whole.pieces if piece.percent is None or piece.percent > 0]
    threshold = RINSE_OFF if use == "rinse-off" else LEAVE_ON
    listed = _with_own_list(composition, sheets)
    allergens = _allergens(listed, sheets, region, threshold)
    gathered = _gathered(pieces, whole.rests, allergens, sheets, region)
    entries = _ordered(gathered.values(), order)
    first, other = _unknown(listed, sheets)
    return LabelDraft(
        name=name,
        title=title,
        region=region,
        use=use or "leave-on",
        use_assumed=not use,
        made=made,
        entries=entries,
        threshold=order.threshold,
        strict=order.strict,
        order_source=order.source,
        ties=_ties(entries),
        allergen_threshold=threshold,
        allergen_source=ALLERGEN_SOURCE,
        allergens=allergens,
        unknown_first=first,
        unknown_other=other,
        gaps=tuple(gap.what for gap in whole.gaps),
        findings=tuple(problem.what for problem in composition.problems),
    )


def _gathered(
    pieces: Sequence[Piece],
    rests: Sequence[Piece],
    allergens: Sequence[Allergen],
    sheets: Sheets,
    region: str,
) -> dict[str, _Gathered]:
    """Everything by its name in the list; the same name from several lines is one."""
    found: dict[str, _Gathered] = {}
    for piece in pieces:
        sheet = sheets.find(piece.ingredient)
        name = label_name(sheet, region)
        key = (name or f"[{piece.sheet}").casefold()
        one = found.setdefault(key, _Gathered(name or piece.ingredient, bool(name)))
        one.add(piece.percent, piece.ingredient)
        one.colourant |= sheet is not None and _COLOURANT in sheet.functions
    for piece in rests:
        name = f"rest of {piece.ingredient}"
        found.setdefault(name, _Gathered(name, False)).add(piece.percent, piece.ingredient)
    for allergen in allergens if region in ALLERGEN_REGIONS else ():
        if not allergen.over:
            continue
        one = found.setdefault(allergen.name.casefold(), _Gathered(allergen.name, True))
        one.allergen = True
        if not one.ingredients:
            one.percent = allergen.percent
            one.ingredients += allergen.ingredients
    return found


def _ordered(found: Iterable[_Gathered], order: Order) -> tuple[LabelEntry, ...]:
    """By weight, those without a percent last; equal weights by name, so that it stays the same."""
    ranked = sorted(found, key=lambda one: (one.percent is None, -(one.percent or 0), one.name))
    return tuple(
        LabelEntry(
            name=one.name,
            percent=one.percent,
            ingredients=tuple(one.ingredients),
            any_order=one.percent is not None and order.free(one.percent),
            colourant=one.colourant,
            named=one.named,
            allergen=one.allergen,
        )
        for one in ranked
    )


def _ties(entries: Sequence[LabelEntry]) -> tuple[tuple[str, ...], ...]:
    """Names of equal weight among those that are ordered."""
    by_percent: dict[Fraction, list[str]] = {}
    for entry in entries:
        if entry.percent is not None and not entry.any_order:
            by_percent.setdefault(entry.percent, []).append(entry.name)
    return tuple(tuple(names) for names in by_percent.values() if len(names) > 1)


# Allergens ----------------------------------------------------------------------------------------


def _with_own_list(composition: Composition, sheets: Sheets) -> list[Piece]:
    """Components, and whole those blends whose own sheets say which allergens are in them."""

    def stop(sheet: Ingredient) -> bool:
        own = bool(sheet.allergens or sheet.allergens_complete)
        return own or hydrate_of(sheet, sheets) is not None

    pieces = expand(composition, sheets, stop=stop).pieces
    return [piece for piece in pieces if piece.percent is None or piece.percent > 0]


@dataclass(slots=True)
class _Sum:
    known: Fraction = Fraction()
    open: bool = False
    ingredients: list[str] = field(default_factory=list)


def _allergens(
    pieces: Sequence[Piece], sheets: Sheets, region: str, threshold: Fraction
) -> tuple[Allergen, ...]:
    """The parts that sheets name, each against the threshold; over means more than it."""
    sums: dict[str, _Sum] = {}
    for piece in pieces:
        sheet = sheets.find(piece.ingredient)
        for part in sheet.allergens if sheet else ():
            name = label_name(sheets.find(part.ingredient), region) or _as_name(part.ingredient)
            one = sums.setdefault(name, _Sum())
            if part.percent is None or piece.percent is None:
                one.open = True
            else:
                one.known += piece.percent * Fraction(part.percent) / 100
            if piece.ingredient not in one.ingredients:
                one.ingredients.append(piece.ingredient)
    for piece in pieces:  # an ingredient that is itself such a substance
        name = label_name(sheets.find(piece.ingredient), region)
        if name in sums and piece.ingredient not in sums[name].ingredients:
            sums[name].known += piece.percent or 0
            sums[name].open |= piece.percent is None
            sums[name].ingredients.append(piece.ingredient)
    found = [
        Allergen(
            name=name,
            percent=None if one.open else one.known,
            over=True if one.known > threshold else None if one.open else False,
            ingredients=tuple(one.ingredients),
        )
        for name, one in sums.items()
    ]
    return tuple(sorted(found, key=lambda one: (one.over is not True, one.over is None, one.name)))


def _as_name(ingredient: str) -> str:
    """`linalyl-acetate` as a list writes it, where no sheet gives the name."""
    return " ".join(word.capitalize() for word in ingredient.split("-"))


def _unknown(pieces: Sequence[Piece], sheets: Sheets) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Ingredients whose sheet has no complete list of allergens, the likely ones first."""
    first: dict[str, None] = {}
    other: dict[str, None] = {}
    for piece in pieces:
        sheet = sheets.find(piece.ingredient)
        if sheet is not None and sheet.allergens_complete:
            continue
        likely = sheet is None or bool(_FIRST & set(sheet.functions)) or bool(sheet.allergens)
        (first if likely else other).setdefault(piece.ingredient)
    return tuple(first), tuple(other)
