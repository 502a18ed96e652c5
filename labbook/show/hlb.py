"""The screen of `formula hlb`."""

from __future__ import annotations

from decimal import Decimal

from labbook.model.results.calculating import HLBRange, HLBShown
from labbook.model.results.common import Next
from labbook.show.layout import Column, Screen
from labbook.show.parts import then

DISAGREE = (
    "Lists disagree by 1.5 to 3 for the same oil, so this is where to begin: make two or three"
    " small batches around it and go by what they do."
)


def hlb_screen(result: HLBShown, screen: Screen) -> str:
    """`formula hlb HC`."""
    screen.title(f"{result.name}  {result.title}: HLB", result.emulsion)
    screen.blank()
    code = result.name.partition("@")[0]
    if result.why_not:
        screen.row("", f"HLB does not apply here. {result.why_not}")
        then(screen, [Next(f"labbook check {code}", "what does apply to it")])
        return screen.text()
    screen.row("", _answer(result))
    screen.blank()
    _parts(screen, "asks for", result.required)
    _parts(screen, "gives", result.given)
    _unknown(screen, result)
    _pair(screen, result)
    for number, note in enumerate(result.notes):
        screen.row("note" if not number else "", note)
    _sources(screen, result)
    screen.row("lists", DISAGREE)
    if not result.solved:
        pair = "--with polysorbate-80 --and sorbitan-oleate"
        then(screen, [f"labbook formula hlb {result.name} {pair}"])
    else:
        then(screen, [f"labbook edit {code}", f"labbook check {code}"])
    return screen.text()


def _span(low: Decimal | None, high: Decimal | None) -> str:
    """A range with one decimal; one figure where both ends look alike."""
    if low is None or high is None:
        return "unknown"
    first, last = f"{low:.1f}", f"{high:.1f}"
    return first if first == last else f"{first} to {last}"


def _answer(result: HLBShown) -> str:
    """The sentence that comes first: what is asked for, what is given, how they compare."""
    asked, had = result.required, result.given
    if result.need is not None:
        first = f"You aim for {result.need:f}"
    else:
        first = _told(asked, "The oil phase", "asks for", "There is no oil phase to emulsify")
    second = _told(had, "the emulsifiers", "give", "there is no emulsifier in the formula")
    return f"{first[:1].upper()}{first[1:]}; {second}{_verdict(result)}"


def _told(found: HLBRange | None, who: str, does: str, nothing: str) -> str:
    if found is None or not found.parts:
        return nothing
    if found.low is None:
        return f"what {who.lower()} {does} isn't known: no sheet says it"
    told = f"{who} {does} {_span(found.low, found.high)}"
    if not found.enough:
        few = f"{found.known:f} % of it has a figure, too little to go by"
        return f"what {who.lower()} {does} isn't known: only {few}"
    return told if not found.unknown else f"{told}, as far as {found.known:f} % of it has a figure"


def _verdict(result: HLBShown) -> str:
    asked, had = result.required, result.given
    low = result.need if result.need is not None else asked.low if asked and asked.enough else None
    high = result.need if result.need is not None else asked.high if asked else None
    if low is None or high is None or had is None or not had.enough:
        return "."
    assert had.low is not None and had.high is not None
    if had.high < low:
        return ", which is lower."
    return ", which is higher." if had.low > high else ", which meets it."


def _parts(screen: Screen, word: str, found: HLBRange | None) -> None:
    if found is None or not found.parts:
        return
    rows = [
        (
            word if not number else "",
            [part.ingredient, part.percent, "%", _own(part.low, part.high)],
        )
        for number, part in enumerate(found.parts)
    ]
    screen.table([Column(), Column("", "point"), Column("", "unit"), Column("")], rows)


def _own(low: Decimal | None, high: Decimal | None) -> str:
    """A list's figure with the digits that it deserves: 9, 11.5, 9 to 12."""
    if low is None or high is None:
        return "unknown"
    first, last = (f"{value:f}".removesuffix(".0") for value in (low, high))
    return first if first == last else f"{first} to {last}"


def _unknown(screen: Screen, result: HLBShown) -> None:
    for found, what in ((result.required, "required HLB"), (result.given, "HLB")):
        if found is not None and found.unknown:
            names = ", ".join(dict.fromkeys(found.unknown))
            screen.row("unknown", f"{names}: no {what} in the sheet; not counted")


def _pair(screen: Screen, result: HLBShown) -> None:
    if result.out_of_reach:
        screen.row("pair", result.out_of_reach)
        return
    if not result.solved:
        return
    rows = []
    for solved in result.solved:
        word = f"for {solved.target:.1f}"
        for one in (solved.first, solved.second):
            cells = [f"{one.ingredient}, HLB {_own(one.hlb, one.hlb)}", f"{one.share:f}", "%"]
            cells += [one.percent, "%" if one.percent else "", one.mass, "g" if one.mass else ""]
            rows.append((word, cells))
            word = ""
    size = f"in {result.size}" if result.size is not None and result.emulsifier else ""
    whole = "formula" if result.emulsifier else ""
    columns = [Column(), Column("share", "point"), Column("", "unit")]
    columns += [Column(whole, "point"), Column("", "unit")]
    columns += [Column(size, "point"), Column("", "unit")]
    screen.blank()
    screen.table(columns, rows, margin="pair")
    screen.blank()


def _sources(screen: Screen, result: HLBShown) -> None:
    """Each source once, with the ingredients whose figure it gives."""
    by_source: dict[str, list[str]] = {}
    for found in (result.required, result.given):
        for part in found.parts if found is not None else ():
            if part.source:
                by_source.setdefault(part.source, []).append(part.ingredient)
    for number, (source, names) in enumerate(by_source.items()):
        screen.row("source" if not number else "", f"{', '.join(dict.fromkeys(names))}: {source}")
