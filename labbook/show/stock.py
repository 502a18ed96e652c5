"""The screen of `ingredient stock`."""

from __future__ import annotations

from fractions import Fraction

from labbook.model.moments import Moment, write_moment
from labbook.model.results.common import Next
from labbook.model.results.stock import BulkStock, IngredientStock, LotStock, Stock
from labbook.show.layout import Column, Screen
from labbook.show.parts import plural, then
from labbook.trade.exact import decimal_text

COLUMNS = (
    Column("lot"), Column("left", "point"), Column("of", "point"), Column("", "unit"),
    Column("expires"),
)  # fmt: skip
WANTED = (
    Column("in g"), Column("left", "point"), Column("open", "point"), Column("usual", "point"),
    Column("", "unit"),
)  # fmt: skip


def stock_screen(result: Stock, screen: Screen) -> str:
    """What is short first, then what is old, then every lot."""
    title = f"Stock of {result.asked}" if result.asked else "Stock"
    screen.title(title, result.today)
    screen.blank()
    _wanted(result, screen)
    _old(result, screen)
    screen.blank()
    rows = [
        (word, cells)
        for one in result.ingredients
        for word, cells in _rows(one, all_=bool(result.asked))
    ]
    screen.table(COLUMNS, rows)
    if not rows:
        screen.row("", "No lot is written down.")
    _bulks(result.bulks, screen)
    screen.blank()
    _open_ends(result, screen)
    screen.row("", "Left is reckoned from the size of the pack and what was weighed of it.")
    then(screen, _next(result))
    return screen.text()


def _next(result: Stock) -> list[Next]:
    low = next((one.name for one in result.ingredients if one.low), "")
    lots = [lot for one in result.ingredients for lot in one.lots]
    empty = next((lot.name for lot in lots if not lot.used_up and lot.left == 0), "")
    lot = next((lot.name for lot in lots if lot.batches), "")
    found = [Next(f"labbook ingredient lot add {low} --size 500g", "a new pack")] if low else []
    found += [Next(f"labbook ingredient lot use-up {empty}", "if it is empty")] if empty else []
    return found + ([Next(f"labbook trace {lot}", "where it went")] if lot else [])


def grams(mass: Fraction | None) -> str:
    """A mass in g with the digits it needs, or `unknown`."""
    return "unknown" if mass is None else decimal_text(mass)


def left_words(one: IngredientStock) -> str:
    """How much of an ingredient there is."""
    if not (one.lots or one.premixes):
        return "no lot"
    return "unknown" if one.more and not one.left else grams(one.left)


def _wanted(result: Stock, screen: Screen) -> None:
    """What runs low, what can't be told, and what open batches need that is there."""
    ranks = {True: "low", None: "can't tell", False: "enough"}
    rows = []
    for low, word in ranks.items():
        found = [
            one
            for one in result.ingredients
            if one.low is low and (one.needs or (one.usual and low is not False))
        ]
        rows += [(word if not n else "", _wanted_cells(one)) for n, one in enumerate(found)]
    if result.ingredients and not any(one.low for one in result.ingredients):
        screen.row("low", "nothing, by what is written down")
    screen.table(WANTED, rows)
    named = dict.fromkeys(need.batch for one in result.ingredients for need in one.needs)
    if named:
        told = f"what {', '.join(named)} still need{'s' if len(named) == 1 else ''}"
        screen.row("open", f"{told}; usual: one batch of the formula that takes most")


def _wanted_cells(one: IngredientStock) -> list[str]:
    unknown = any(need.mass is None for need in one.needs)
    needed = f"{grams(one.need)}{' and more' if unknown else ''}" if one.needs else ""
    left = left_words(one)
    return [
        one.name,
        f"{left} and more" if one.more and one.left else left,
        needed,
        grams(one.usual) if one.usual else "",
        one.usual_of,
    ]


def _old(result: Stock, screen: Screen) -> None:
    lots = [lot for one in result.ingredients for lot in one.lots if lot.used_up is None]
    groups = (
        ("expired", [_expired(lot) for lot in lots if lot.expired]),
        ("expiring", [_expiring(lot) for lot in lots if lot.expiring]),
        ("open long", [_opened(lot) for lot in lots if lot.opened_long]),
    )
    for word, told in groups:
        for number, text in enumerate(told):
            screen.row(word if not number else "", text)


def _expired(lot: LotStock) -> str:
    return f"{lot.name}: since {_day(lot.expires)}, {plural(-(lot.days or 0), 'day')}"


def _expiring(lot: LotStock) -> str:
    if not lot.days:
        return f"{lot.name}: today"
    return f"{lot.name}: on {_day(lot.expires)}, in {plural(lot.days, 'day')}"


def _opened(lot: LotStock) -> str:
    told = "the supplier's papers say how long it keeps once open"
    return f"{lot.name}: since {_day(lot.opened)}; {told}"


def _day(moment: Moment | None) -> str:
    return write_moment(moment)[:10] if moment else "not written"


def _rows(one: IngredientStock, *, all_: bool) -> list[tuple[str, list[str]]]:
    found: list[tuple[str, list[str]]] = []
    for lot in one.lots:
        if lot.used_up is not None and not all_:
            continue
        word = _word(lot)
        left = grams(Fraction() if lot.used_up is not None else lot.left)
        unit = "g" if lot.size is not None else ""
        whole = grams(lot.size) if unit else ""
        found.append((word, [lot.name, left, whole, unit, _day(lot.expires)]))
    for bulk in one.premixes:
        told = f"{bulk.short}, premix of {bulk.of}"
        unit = "g" if bulk.made is not None else ""
        found.append(("", [told, grams(bulk.left), grams(bulk.made) if unit else "", unit, ""]))
    return found


def _word(lot: LotStock) -> str:
    if lot.used_up is not None:
        return "used up"
    if lot.expired:
        return "expired"
    if lot.left is not None and lot.left < 0:
        return "over-drawn"
    if lot.left == 0:
        return "empty"
    return "expiring" if lot.expiring else ""


def _bulks(bulks: tuple[BulkStock, ...], screen: Screen) -> None:
    """What wasn't used for other batches; jars may hold it, or the pot."""
    for number, one in enumerate(bulks):
        told = f"{one.short} {one.of}, for {', '.join(one.into)}: {grams(one.used)} g of it used"
        if one.made is None:
            told += ", its own mass is unknown"
        elif one.left is not None and one.left < 0:
            told += f", but only {grams(one.made)} g made: one of the masses is wrong"
        else:
            told += f", {grams(one.left)} g of {grams(one.made)} g not"
        screen.row("premade" if not number else "", told)


def _open_ends(result: Stock, screen: Screen) -> None:
    """What the figures can't know."""
    over = [lot for one in result.ingredients for lot in one.lots if (lot.left or 0) < 0]
    for number, lot in enumerate(over):
        told = (
            f"{lot.name}: {grams(lot.used)} g were weighed out of a pack of {grams(lot.size)} g; "
            "its size, or a lot named beside a weighing, is wrong"
        )
        screen.row("over-drawn" if not number else "", told)
    unknown = [
        f"{one.name}: {grams(one.nameless)} g were weighed without a lot, so less may be left"
        for one in result.ingredients
        if one.nameless and one.lots
    ]
    unknown += [
        f"{row.name}: the mass of {plural(row.unread, 'weighing')} can't be read"
        for one in result.ingredients
        for row in one.lots
        if row.unread
    ]
    for number, text in enumerate(unknown):
        screen.row("unknown" if not number else "", text)
    if result.unwritten:
        screen.row("no lot", f"written down for {', '.join(result.unwritten)}")
