"""What can be said of the batches of a formula without a pair: cuts between figures, and names.

Each ordered trait offers up to three cuts, in the widest gaps between its values; each name stands
against the rest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from labbook.evidence.book import Book
from labbook.evidence.factors.components import may_hold
from labbook.evidence.factors.diffs import Diff, Move
from labbook.evidence.factors.lines import phase_trait
from labbook.evidence.factors.material import LEAST_POINTS, MattersFrom, comparable
from labbook.evidence.factors.pairing import step_or_none
from labbook.evidence.factors.profile import Profile
from labbook.evidence.factors.standing import NOT_WRITTEN
from labbook.evidence.factors.stuff import NONE, amount_trait
from labbook.evidence.factors.trade import Trade
from labbook.evidence.factors.traits import Trait, indistinct
from labbook.evidence.factors.types import Key, Side

MOST_CUTS = 3
_NAMES = MattersFrom(Fraction())
_NEVER = {("session",), ("size",)}


@dataclass(frozen=True, slots=True)
class Feature:
    """Something that is so of some batches and not of others.

    `diff` holds it as a difference between a batch that has it (as the failed one) and one that
    hasn't; `sides` goes by unit, True where it is so. `parts` counts the features that share the
    trait's one chance; `of` is the trait's key.
    """

    of: Key
    key: Key
    diff: Diff
    text: str
    other: str
    sides: Mapping[str, Side]
    parts: int
    ordered: bool

    @property
    def column(self) -> tuple[bool | None, ...]:
        """The sides in the order of the units."""
        return tuple(side.side for side in self.sides.values())


def features_of(
    book: Book, units: Sequence[tuple[str, Profile]], trade: Trade
) -> tuple[Feature, ...]:
    """All features of some units that are so of one at least and not of another."""
    found: list[Feature] = []
    for key, traits in _columns(book, units).items():
        known = {name: t for name, t in traits.items() if t is not None and t.recorded}
        if len(known) < 2:
            continue
        first = next(iter(known.values()))
        if all(comparable(t, first) for t in known.values()) and first.kind != "skipped":
            found += _cuts(key, traits, known, trade)
        else:
            found += _names(key, traits, known)
    return tuple(found)


def _columns(
    book: Book, units: Sequence[tuple[str, Profile]]
) -> dict[Key, dict[str, Trait | None]]:
    """For each trait what every unit has of it; None where nothing is known."""
    sheets = sorted({s for _, p in units for s in p.stuff.amounts} | _by_two_ways(units))
    open_ = _open_in_all(units)
    filled = {
        slot.sheet for _, p in units for slot in p.stuff.slots if slot.qs
    }  # what fills up follows from the others
    columns: dict[Key, dict[str, Trait | None]] = {}
    for sheet in sheets:
        name = book.sheets.name_of(sheet)
        if sheet not in filled:
            columns["lines", sheet] = {u: _amount(p, sheet, name, open_) for u, p in units}
        here = {u: p for u, p in units if p.stuff.phases(sheet)}
        phases: dict[str, Trait | None] = {u: phase_trait(p, sheet, name) for u, p in here.items()}
        if len({trait.name for trait in phases.values() if trait}) > 1:
            columns["lines", sheet, "phase"] = {u: phases.get(u) for u, _ in units}
    keys = dict.fromkeys(key for _, p in units for key in p.traits)
    for key in keys:
        if key not in _NEVER:
            columns[key] = {u: step_or_none(key, p.traits) for u, p in units}
    return columns


def _by_two_ways(units: Sequence[tuple[str, Profile]]) -> set[str]:
    """Ingredients that are no line and that different blends bring."""
    ways: dict[str, set[str]] = {}
    for _, profile in units:
        for sheet, blends in profile.stuff.inside.brought.items():
            ways.setdefault(sheet, set()).update(blends)
    return {sheet for sheet, blends in ways.items() if len(blends) > 1}


def _open_in_all(units: Sequence[tuple[str, Profile]]) -> dict[str, Fraction | None]:
    """Blends that all units have, with the most that each of them may hold unsaid in any."""
    rests = [profile.stuff.inside.rest for _, profile in units]
    common = set(rests[0]).intersection(*rests[1:]) if rests else set()
    found: dict[str, Fraction | None] = {}
    for blend in sorted(common):
        values = [rest[blend] for rest in rests]
        known = [value for value in values if value is not None]
        found[blend] = min(known) if len(known) == len(values) else None
    return found


def _amount(
    profile: Profile, sheet: str, name: str, known: Mapping[str, Fraction | None]
) -> Trait | None:
    """An ingredient's amount; None where a blend that not all have may hold some unsaid."""
    found = amount_trait(profile.stuff, sheet, name)
    for _, most, listed in may_hold(profile.stuff, sheet, known):
        none = found is not None and found.text == NONE
        if listed or (none and (most is None or most > LEAST_POINTS)):
            return None
    return found


def _cuts(
    key: Key, traits: Mapping[str, Trait | None], known: Mapping[str, Trait], trade: Trade
) -> list[Feature]:
    """Cuts in the widest gaps; each of them twice, as `up to` and as `from`."""
    ordered = sorted(known.values(), key=lambda t: (t.value or Fraction(), t.text))
    gaps = []
    for low, high in pairwise(ordered):
        assert low.value is not None and high.value is not None
        scope = low.sheets
        step = trade.step(low.kind, low.base, scope, low.acts | high.acts, low.value, high.value)
        far = high.value - low.value
        apart = NONE in (low.text, high.text) or step.apart(low.value, high.value)
        if apart and not indistinct(low, high):
            gaps.append((far, low, high, step))
    gaps.sort(key=lambda gap: (-gap[0], gap[1].value or Fraction()))
    found = []
    for _, low, high, step in gaps[:MOST_CUTS]:
        for having, lacking in ((low, high), (high, low)):
            word = "up to" if having is low else "from"
            diff = _diff((*key, word), having, lacking, step)
            sides = {unit: _cut_side(trait, low, having is low) for unit, trait in traits.items()}
            text, other = (
                _cut_words(having, below=having is low),
                _cut_words(lacking, below=having is high),
            )
            full = (*key, word, having.whole)
            found.append(Feature(key, full, diff, text, other, sides, len(gaps[:MOST_CUTS]), True))
    return found


def _cut_words(end: Trait, *, below: bool) -> str:
    """One side of a cut: `up to 3.60 %`, `from 4.50 %`; without any of it: `none`."""
    if end.text == NONE:
        return NONE
    return f"{'up to' if below else 'from'} {end.whole}"


def _cut_side(trait: Trait | None, low: Trait, below: bool) -> Side:
    if trait is None or not trait.recorded or trait.value is None:
        return Side(None, NOT_WRITTEN, "unrecorded")
    return Side((trait.value <= (low.value or 0)) == below, trait.whole)


def _names(
    key: Key, traits: Mapping[str, Trait | None], known: Mapping[str, Trait]
) -> list[Feature]:
    """Each name against the rest."""
    by_name = {trait.name: trait for trait in reversed(list(known.values()))}
    if len(by_name) < 2:
        return []
    found = []
    for name, having in sorted(by_name.items()):
        rest = next(trait for other, trait in sorted(by_name.items()) if other != name)
        lacking = rest if len(by_name) == 2 else replace(rest, text="another", unit="")
        sides = {
            unit: Side(trait.name == name, trait.whole)
            if trait is not None and trait.recorded
            else Side(None, NOT_WRITTEN, "unrecorded")
            for unit, trait in traits.items()
        }
        diff = _diff((*key, name), having, lacking, _NAMES)
        found.append(
            Feature(
                key, (*key, name), diff, having.whole, lacking.whole, sides, len(by_name), False
            )
        )
    return found


def _diff(key: Key, having: Trait, lacking: Trait, step: MattersFrom) -> Diff:
    moves: tuple[Move, ...] = ()
    if having.kind == "amount" and having.value is not None and lacking.value is not None:
        moves = (Move(having.sheets[0], having.value, lacking.value),)
    return Diff(
        key=key, kind=having.kind, what=having.what or lacking.what, failed=having, good=lacking,
        step=step, moves=moves, sheets=having.sheets,
    )  # fmt: skip
