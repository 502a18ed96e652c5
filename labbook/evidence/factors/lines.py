"""Differences in what two batches were made of: what was done, and what merely followed from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from labbook.evidence.factors.components import whole_amounts
from labbook.evidence.factors.diffs import Diff, Effect, Move
from labbook.evidence.factors.material import MattersFrom
from labbook.evidence.factors.profile import Profile
from labbook.evidence.factors.stuff import NONE, amount_trait
from labbook.evidence.factors.trade import Trade
from labbook.evidence.factors.traits import Trait, indistinct, of_name
from labbook.evidence.factors.types import Unrecorded
from labbook.evidence.kinds import kinds_of
from labbook.evidence.lines import Pair, match
from labbook.model.sheets import Sheets

_NAMES = MattersFrom(Fraction())
_FILLS = ", q.s."


@dataclass(frozen=True, slots=True)
class LineDiffs:
    """What was done to lines, what followed for other lines, and what blends leave unsaid."""

    acts: tuple[Diff, ...]
    follows: tuple[Diff, ...]
    unsaid: tuple[Unrecorded, ...] = ()


@dataclass(slots=True)
class _Lines:
    failed: Profile
    good: Profile
    sheets: Sheets
    trade: Trade
    as_meant: bool

    def trait(self, profile: Profile, sheet: str, phase: str = "") -> Trait | None:
        name = self.sheets.name_of(sheet)
        return amount_trait(profile.stuff, sheet, name, phase, as_meant=self.as_meant, alone=True)


def line_diffs(failed: Profile, good: Profile, sheets: Sheets, trade: Trade) -> LineDiffs:
    """How two batches differ in their lines.

    Where only one of them was weighed, the plans are compared.
    """
    as_meant = failed.stuff.weighed != good.stuff.weighed
    lines = _Lines(failed, good, sheets, trade, as_meant)
    pairs = match(good.stuff.slots, failed.stuff.slots)
    kinds: dict[int, str | None] | None = None
    acts: list[Diff] = []
    follows: list[tuple[Diff, Pair]] = []
    for pair in pairs:
        if pair.change == "substituted":
            acts += _substitution(lines, pair)
            continue
        if pair.change == "moved":
            acts.append(_moved(lines, pair))
        found = _amount(lines, pair)
        if found is None:
            continue
        kinds = _kinds(pairs) if kinds is None else kinds
        if _followed(lines, pair, kinds.get(id(pair))):
            follows.append((found, pair))
        elif _matters(found):
            acts.append(replace(found, what=found.what.removesuffix(_FILLS)))
    whole = whole_amounts(failed, good, sheets, trade, acts, as_meant=as_meant)
    told = _folded(lines, list(whole.acts), [diff for diff, _ in follows])
    return replace(told, unsaid=whole.unsaid)


def _kinds(pairs: tuple[Pair, ...]) -> dict[int, str | None]:
    """What each pair of planned lines was by intent."""
    planned = [
        pair
        for pair in pairs
        if all(slot is None or slot.percent is not None for slot in (pair.before, pair.after))
    ]
    found = kinds_of(planned).kinds
    return {id(pair): kind for pair, kind in zip(planned, found, strict=True)}


def _amount(lines: _Lines, pair: Pair) -> Diff | None:
    """A line whose amount differs beyond its uncertainty; of several phases each on its own."""
    slot = pair.after or pair.before
    assert slot, "a pair has a line on one side at least"
    sheet = slot.sheet
    apart = max(len(p.stuff.phases(sheet)) for p in (lines.failed, lines.good)) > 1
    phase = slot.phase if apart else ""
    failed, good = (lines.trait(p, sheet, phase) for p in (lines.failed, lines.good))
    if failed is None or good is None or failed.value is None or good.value is None:
        return None
    if indistinct(failed, good):
        return None
    filling = bool(pair.before and pair.after and pair.before.qs and pair.after.qs)
    name = lines.sheets.name_of(sheet) + (f" in phase {phase}" if phase else "")
    water = slot.phase in (lines.failed.water, lines.good.water)
    key = ("lines", sheet, "in", phase) if phase else ("lines", sheet)
    step = lines.trade.step(
        "amount", "%", (sheet,), frozenset(), failed.value, good.value
    )  # fmt: skip
    return Diff(
        key=key,
        kind="amount",
        what=name + _FILLS if filling else name,
        failed=failed,
        good=good,
        step=step,
        moves=(Move(sheet, failed.value, good.value, water),),
        sheets=(sheet,),
        phase=phase,
    )


def _matters(diff: Diff) -> bool:
    """Whether an amount differs materially; an ingredient that is in or out always does."""
    assert diff.failed.value is not None and diff.good.value is not None
    if NONE in (diff.failed.text, diff.good.text):
        return True
    return diff.step.apart(diff.failed.value, diff.good.value)


def _followed(lines: _Lines, pair: Pair, kind: str | None) -> bool:
    """Whether a line's change is only what the others left, or kept its ratio to the others.

    It is no consequence where the line itself was weighed otherwise than meant.
    """
    if pair.before is None or pair.after is None:
        return False
    sides = [
        (p.stuff.amount(slot.sheet, slot.phase), slot)
        for p, slot in ((lines.good, pair.before), (lines.failed, pair.after))
    ]
    amounts = [amount for amount, _ in sides]
    if any(amount is None for amount in amounts):
        return False
    if not lines.as_meant:
        owns = [a.own for a in amounts if a is not None and a.own is not None]
        variance = sum((a.variance for a in amounts if a is not None), Fraction())
        if len(owns) == 2 and (owns[0] - owns[1]) ** 2 <= 4 * variance:
            return True
    if kind not in ("balancing", "proportional"):
        return False
    for amount in amounts:
        if amount is None or amount.own is None or amount.planned is None or lines.as_meant:
            continue
        off = abs(amount.own - amount.planned)
        usual = MattersFrom(max(amount.planned / 20, Fraction(1, 10)))
        if off * off > 4 * amount.variance and usual.apart(amount.own, amount.planned):
            return False
    return True


def _moved(lines: _Lines, pair: Pair) -> Diff:
    slot = pair.after or pair.before
    assert slot, "a pair has a line on one side at least"
    name = lines.sheets.name_of(slot.sheet)
    sides = [phase_trait(p, slot.sheet, name) for p in (lines.failed, lines.good)]
    return Diff(
        key=("lines", slot.sheet, "phase"),
        kind="phase of entry",
        what=name,
        failed=sides[0],
        good=sides[1],
        step=_NAMES,
        sheets=(slot.sheet,),
    )


def phase_trait(profile: Profile, sheet: str, name: str) -> Trait:
    """The phases that an ingredient stands in, as a name."""
    text = ", ".join(profile.stuff.phases(sheet))
    return of_name(f"phase {text}" if text else NONE, "phase of entry", name, sheets=(sheet,))


def _substitution(lines: _Lines, pair: Pair) -> list[Diff]:
    """One ingredient in place of another: one difference, with the amounts of both."""
    assert pair.before and pair.after, "a substitution has two lines"
    two = (pair.after.sheet, pair.before.sheet)
    uses = sorted(pair.before.uses & pair.after.uses)
    moves = []
    for sheet in two:
        values = [lines.trait(p, sheet) for p in (lines.failed, lines.good)]
        failed, good = ((v.value or Fraction()) if v else Fraction() for v in values)
        water = pair.after.phase in (lines.failed.water, lines.good.water)
        moves.append(Move(sheet, failed, good, water))
    sides = [swap_trait(p, two, lines.sheets) for p in (lines.failed, lines.good)]
    diff = Diff(
        key=("lines", *sorted(two), "swap"),
        kind="substitution",
        what=f"{uses[0] if uses else 'line'} in phase {pair.after.phase}",
        failed=sides[0],
        good=sides[1],
        step=_NAMES,
        moves=tuple(moves),
        sheets=tuple(sorted(two)),
    )
    came = Effect("substitution", Fraction(1), Fraction(0), "", sheets=two[:1])
    went = Effect("substitution", Fraction(0), Fraction(1), "", sheets=two[1:])
    return [replace(diff, effects=(came, went), extra=())]


def swap_trait(profile: Profile, two: tuple[str, ...], sheets: Sheets) -> Trait:
    """Which of two ingredients a batch has, as a name, with how much of it."""
    held = [sheet for sheet in sorted(two) if profile.stuff.phases(sheet)]
    texts = []
    for sheet in held:
        trait = amount_trait(profile.stuff, sheet, sheets.name_of(sheet))
        texts.append(f"{sheets.name_of(sheet)} {trait.whole if trait else ''}".rstrip())
    return Trait(
        kind="substitution",
        what="",
        text=", ".join(texts) or NONE,
        name=" and ".join(held),
        sheets=two,
    )


def _folded(lines: _Lines, acts: list[Diff], follows: list[Diff]) -> LineDiffs:
    """Acts with what followed from each of them, in its share."""
    if follows and not any(act.points for act in acts):
        return LineDiffs((*acts, *(diff for diff in follows if _matters(diff))), ())
    shown = [
        diff
        for diff in follows
        if diff.what.endswith(_FILLS) or abs(diff.points) > Fraction(1, 10)
    ]  # fmt: skip
    total = sum((act.points for act in acts), Fraction())
    found = []
    for act in acts:
        if not act.points:
            found.append(act)
            continue
        size = sum((abs(one.points) for one in acts), Fraction())
        share = act.points / total if total else abs(act.points) / size
        for diff in shown:
            move = diff.moves[0]
            lent = Move(move.sheet, move.good + share * diff.points, move.good, move.in_water, True)
            act = replace(act, moves=(*act.moves, lent), folded=(*act.folded, diff.item()))
        found.append(act)
    return LineDiffs(tuple(found), tuple(shown))
