"""What blends and premixes bring into a batch, and what their sheets leave open.

A batch with 8 % of a paste that is half castor oil has 4 % castor oil. Hydrates stay whole, and
water isn't followed into blends: it fills up, and its phase is counted by its lines.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from labbook.evidence.book import Book
from labbook.evidence.factors.as_weighed import total_of
from labbook.evidence.made import Amount
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets, fold
from labbook.trade.expand import Contents, contents_of
from labbook.trade.hydrates import hydrate_of

_ALL = Fraction(100)

ByPhase = dict[str, Amount]


@dataclass(frozen=True, slots=True)
class Inside:
    """What the blends of a batch bring, by ids.

    `brought` goes by component, blend and phase. `unsaid` names for a component the blends that
    hold it without saying how much. `rest` is per blend the percent of the batch of which its sheet
    doesn't say what it is, or how it is divided; None where the blend's own amount is unknown.
    """

    brought: Mapping[str, Mapping[str, ByPhase]] = field(default_factory=dict)
    unsaid: Mapping[str, frozenset[str]] = field(default_factory=dict)
    rest: Mapping[str, Fraction | None] = field(default_factory=dict)

    def amount(self, sheet: str, phase: str = "", blend: str = "") -> Amount | None:
        """How much of an ingredient they bring: in a phase, by one blend, or altogether."""
        found: Amount | None = None
        for source, by_phase in self.brought.get(sheet, {}).items():
            for where, amount in by_phase.items():
                if phase in ("", where) and blend in ("", source):
                    found = amount if found is None else total_of(found, amount)
        return found


def inside_of(book: Book, amounts: Mapping[str, Mapping[str, Amount]]) -> Inside:
    """What the blends among some lines bring.

    Args:
        book: the notebook, for the sheets.
        amounts: the lines by ingredient id and phase.
    """
    brought: dict[str, dict[str, ByPhase]] = {}
    unsaid: dict[str, set[str]] = {}
    rest: dict[str, Fraction | None] = {}
    for blend, by_phase in amounts.items():
        sheet = book.sheets.find(blend)
        if sheet is None or not sheet.contains:
            continue
        known = contents(book, sheet)
        for part in known.components:
            if part.sheet == blend or _is_water(part.sheet, book.sheets):
                continue
            scaled = {phase: _share(a, part.percent) for phase, a in by_phase.items()}
            brought.setdefault(part.sheet, {})[blend] = scaled
        for name in unsaid_in(book, sheet):
            unsaid.setdefault(name, set()).add(blend)
        left = sum((part.percent for part in known.rests), Fraction())
        if left:
            values = [amount.value for amount in by_phase.values()]
            whole = [value for value in values if value is not None]
            rest[blend] = (
                sum(whole, Fraction()) * left / _ALL if len(whole) == len(values) else None
            )
    return Inside(brought, {name: frozenset(own) for name, own in unsaid.items()}, rest)


def contents(book: Book, sheet: Ingredient) -> Contents:
    """What a sheet's material is made of, hydrates whole; worked out once."""
    return book.keep(
        ("contents", sheet.id),
        lambda: contents_of(
            sheet.id, book.sheets, lambda one: hydrate_of(one, book.sheets) is not None
        ),
    )


def _is_water(name: str, sheets: Sheets) -> bool:
    sheet = sheets.find(name)
    return fold(name) == "water" or (sheet is not None and "water" in sheet.functions)


def _share(amount: Amount, percent: Fraction) -> Amount:
    share = percent / _ALL
    return replace(
        amount,
        percent=None if amount.percent is None else amount.percent * share,
        planned=None if amount.planned is None else amount.planned * share,
        typed=None,
        own=None if amount.own is None else amount.own * share,
        variance=amount.variance * share * share,
        lots=frozenset(),
    )


def unsaid_in(book: Book, sheet: Ingredient) -> frozenset[str]:
    """What a sheet's material holds without its sheet saying how much, however deep."""
    return book.keep(
        ("unsaid", sheet.id),
        lambda: frozenset(_open_parts(sheet, book.sheets, frozenset({sheet.id}), known=True)),
    )


def _open_parts(
    sheet: Ingredient, sheets: Sheets, above: frozenset[str], *, known: bool
) -> Iterator[str]:
    if hydrate_of(sheet, sheets) is not None:
        return
    for part in sheet.contains:
        name = sheets.id_of(part.ingredient)
        said = known and part.percent is not None
        if name in above or _is_water(name, sheets):
            continue
        if not said:
            yield name
        inner = sheets.find(name)
        if inner is not None:
            yield from _open_parts(inner, sheets, above | {name}, known=said)
