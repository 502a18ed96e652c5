"""The screen of `formula label HC`."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from labbook.model.results.common import Next
from labbook.model.results.label import Allergen, LabelDraft, LabelEntry
from labbook.show.layout import Column, Screen
from labbook.show.parts import then
from labbook.trade.exact import decimals_needed, to_places

_FINEST = 4

NOT_THIS = (
    "A draft from your own sheets, no more. Names, order, allergens and colourants are for the law "
    "where it is sold and for a qualified assessor; whether it is safe is not told here, nor how "
    "long it keeps. Check each INCI name against your supplier's papers."
)


def label_screen(result: LabelDraft, screen: Screen) -> str:
    """The list, then how it came about, then what isn't known."""
    made = f", {result.made} as weighed" if result.made else ""
    screen.title(f"{result.name}  {result.title}{made}", f"draft, {result.region}")
    screen.blank()
    screen.row("ingredients", result.text)
    screen.blank()
    _table(result, screen)
    screen.blank()
    _order(result, screen)
    _allergens(result, screen)
    _unknown(result, screen)
    screen.blank()
    screen.row("not told", NOT_THIS)
    other = "US" if result.region != "US" else "EU"
    code = result.name.partition("@")[0]
    then(
        screen,
        [
            Next(f"labbook formula label {result.name} --region {other}", "the other order"),
            Next(f"labbook check {code}", "limits and warnings"),
        ],
    )
    return screen.text()


def percent_text(percent: Fraction) -> str:
    """A percent with the digits that it needs, four at most."""
    needed = decimals_needed(percent)
    return f"{to_places(percent, min(needed if needed is not None else _FINEST, _FINEST)):f}"


def _table(result: LabelDraft, screen: Screen) -> None:
    rows = []
    free = False
    for entry in result.entries:
        word = "any order" if entry.any_order and not free else ""
        free = free or entry.any_order
        rows.append((word, _cells(entry)))
    columns = (Column("name"), Column("", "point"), Column("", "unit"), Column("from"))
    screen.table(columns, rows)


def _cells(entry: LabelEntry) -> list[str]:
    name = entry.name if entry.named else f"[{entry.name}] no INCI name"
    percent = "unknown" if entry.percent is None else percent_text(entry.percent)
    word = "allergen, in " if entry.allergen else ""
    return [
        name, percent, "" if entry.percent is None else "%", word + ", ".join(entry.ingredients),
    ]  # fmt: skip


def _order(result: LabelDraft, screen: Screen) -> None:
    screen.row("order", f"by weight when added; {result.order_source}")
    for number, names in enumerate(result.ties):
        both = " and ".join(names)
        screen.row("tie" if not number else "", f"{both} weigh the same: either may come first")
    colours = [entry.name for entry in result.entries if entry.colourant]
    if colours:
        some = ", ".join(colours)
        text = f"{some}: where it is there for its colour, it may stand last, in any order"
        screen.row("colour", f"{text} (from memory)")


def _allergens(result: LabelDraft, screen: Screen) -> None:
    limit = f"{percent_text(result.allergen_threshold)} %"
    use = (
        f"{result.use}{', which is assumed: the formula says no use' if result.use_assumed else ''}"
    )
    screen.row("allergens", f"named above {limit} ({use}); {result.allergen_source}")
    if result.region == "US":
        screen.row("", "The thresholds are the EU's; in the US look up what has to be named.")
    above = "above it" if result.region == "US" else "named"
    for over, words in ((True, above), (None, "may have to be named, how much isn't known")):
        found = [one for one in result.allergens if one.over is over]
        if found:
            screen.row("", f"{words}: {', '.join(map(_allergen, found))}")
    below = [one for one in result.allergens if one.over is False]
    if below:
        screen.row("", f"not above it: {', '.join(map(_allergen, below))}")


def _allergen(one: Allergen) -> str:
    amount = "" if one.percent is None else f" {percent_text(one.percent)} %"
    return f"{one.name}{amount} (in {', '.join(one.ingredients)})"


def _unknown(result: LabelDraft, screen: Screen) -> None:
    if result.unknown_first:
        some = ", ".join(result.unknown_first)
        screen.row("unknown", f"which allergens are in {some}: no complete list in the sheet")
    if result.unknown_other:
        what = "whether there are allergens in"
        screen.row(
            "" if result.unknown_first else "unknown", f"{what} {_some(result.unknown_other)}"
        )
    for number, gap in enumerate((*result.gaps, *result.findings)):
        screen.row("note" if not number else "", gap)


def _some(names: Sequence[str]) -> str:
    return ", ".join(names)
