"""Lines and lots that differ between two batches: amounts beyond their uncertainty.

Amounts are percents of what was weighed, else of the plan. Two differ where the difference is more
than twice its standard uncertainty (a coverage factor of 2, JCGM 100:2008, 6.2 and G.6.6). What is
unexplained of both is taken to have gone the same way, on the tools or off as vapour, so only what
one lost more than the other adds to the doubt (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from labbook.evidence.items import Findings, Item
from labbook.evidence.lines import Pair, Slot, match, places_of
from labbook.evidence.made import COVERAGE, Amount, Made
from labbook.model.materials import Lot
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets
from labbook.trade.exact import square_root, to_places


def compare_lines(
    found: Findings, a: Made, b: Made, sheets: Sheets, lots: Mapping[str, Lot]
) -> None:
    """Adds the lines and lots that differ; last what follows from the others, the q.s. line too."""
    pairs = match(a.slots, b.slots)
    filling = [p for p in pairs if p.before and p.after and p.before.qs and p.after.qs]
    for pair in (*(p for p in pairs if p not in filling), *filling):
        old = a.amounts[pair.before.key] if pair.before else None
        new = b.amounts[pair.after.key] if pair.after else None
        _compare_line(found, pair, old, new, sheets, follows=pair in filling)
        if old and new and pair.change != "substituted":
            _compare_lots(found, _name(pair, sheets), _key(pair), old, new, lots)
    if a.went_off is not None and b.went_off is not None:
        sides = [Quantity(to_places(made.went_off or Fraction(), 1), "%") for made in (a, b)]
        found.quantities("lines", "went off while heated", sides, "went off")
    found.items.sort(key=lambda item: (item.part == "lots", item.word == "follows"))


def _key(pair: Pair) -> str:
    slot = pair.after or pair.before
    return slot.sheet if slot else ""


def _name(pair: Pair, sheets: Sheets) -> str:
    slot = pair.after or pair.before
    return sheets.name_of(slot.sheet) if slot else ""


def _compare_line(
    found: Findings,
    pair: Pair,
    old: Amount | None,
    new: Amount | None,
    sheets: Sheets,
    *,
    follows: bool,
) -> None:
    if pair.change == "moved" and pair.before and pair.after:
        sides = (f"phase {pair.before.phase}", f"phase {pair.after.phase}")
        what, key = _name(pair, sheets), ("lines", _key(pair), "phase")
        found.add(Item(part="lines", what=what, a=sides[0], b=sides[1], word="moved", key=key))
    if pair.change == "substituted" and pair.before and pair.after:
        _add_substitution(found, pair.before, pair.after, old, new, sheets)
        return
    what = _name(pair, sheets) + (", q.s." if follows else "")
    if old and new and (old.percent is None) != (new.percent is None):
        sides_text = (_as_weighed(old), _as_weighed(new))
        found.unknown("lines", f"weight of {what}", *sides_text, (_key(pair), "weight"))
        old, new = _as_meant(old), _as_meant(new)
    moved_as_well = pair.change == "moved"
    _add_amount(found, what, _key(pair), old, new, follows=follows, quiet=moved_as_well)


def _as_weighed(amount: Amount) -> str | None:
    return None if amount.percent is None else f"{to_places(amount.percent, 2):f} %"


def _as_meant(amount: Amount) -> Amount:
    return Amount(None, amount.planned, amount.typed, Fraction(), amount.lots)


def _add_substitution(
    found: Findings,
    before: Slot,
    after: Slot,
    old: Amount | None,
    new: Amount | None,
    sheets: Sheets,
) -> None:
    use = sorted(before.uses & after.uses)[0]
    a = f"{sheets.name_of(before.sheet)} {_shown(old)}".rstrip()
    b = f"{sheets.name_of(after.sheet)} {_shown(new)}".rstrip()
    key = ("lines", before.sheet, after.sheet)
    what = f"{use} in phase {after.phase}"
    found.add(Item(part="lines", what=what, a=a, b=b, unit="%", key=key))


def _shown(amount: Amount | None) -> str:
    return (amount.text(_places(amount)) if amount else None) or ""


def _places(*amounts: Amount | None) -> int:
    """Decimals to show: as many as were typed, two at least."""
    return max([2, *(places_of(a.typed) for a in amounts if a and a.typed is not None)])


def _add_amount(
    found: Findings,
    what: str,
    key: str,
    old: Amount | None,
    new: Amount | None,
    *,
    follows: bool,
    quiet: bool,
) -> None:
    first = old.value if old else Fraction()
    second = new.value if new else Fraction()
    if first is None or second is None:
        texts = (old.text(2) if old else "none", new.text(2) if new else "none")
        found.texts("lines", what, texts, key)
        return
    variance = (old.variance if old else Fraction()) + (new.variance if new else Fraction())
    variance += _unseen(old, new)
    if (first - second) ** 2 <= COVERAGE**2 * variance:
        found.same["lines"] += 0 if quiet else 1
        return
    places = _places(old, new)
    a, b = (old.text(places) if old else "none"), (new.text(places) if new else "none")
    if a == b:
        a, b = f"{to_places(first, places + 1):f}", f"{to_places(second, places + 1):f}"
    filled = follows and any(item.part == "lines" for item in found.items)
    found.add(
        Item(
            part="lines",
            what=what,
            a=a,
            b=b,
            unit="%",
            word="follows" if filled or _only_shifted(old, new, variance) else "changed",
            key=("lines", key),
            a_value=first,
            b_value=second,
            beyond=COVERAGE * Fraction(square_root(variance)),
        )
    )


def _unseen(old: Amount | None, new: Amount | None) -> Fraction:
    """What is unexplained adds this to the variance of a difference: a rectangle, s² / 3.

    Nothing where only one of the two was weighed at the end: the other may have lost as much.
    """
    if old is None or new is None or old.shift is None or new.shift is None:
        return Fraction()
    return (old.shift - new.shift) ** 2 / 3


def _only_shifted(old: Amount | None, new: Amount | None, variance: Fraction) -> bool:
    """Whether a line was weighed alike in both, so that its percent differs by the others alone."""
    if old is None or new is None or old.own is None or new.own is None:
        return False
    return (old.own - new.own) ** 2 <= COVERAGE**2 * variance


def _compare_lots(
    found: Findings, what: str, key: str, old: Amount, new: Amount, lots: Mapping[str, Lot]
) -> None:
    def text(names: frozenset[str]) -> str | None:
        return ", ".join(sorted(_lot(name, lots) for name in names)) or None

    a, b = text(old.lots), text(new.lots)
    if a == b and old.lots != new.lots:
        a, b = ", ".join(sorted(old.lots)), ", ".join(sorted(new.lots))
    found.texts("lots", f"lot of {what}", (a, b), key, same=old.lots == new.lots)


def _lot(name: str, lots: Mapping[str, Lot]) -> str:
    """What stands on the pack, else the name of the file."""
    known = lots.get(name)
    return known.lot if known and known.lot else name
