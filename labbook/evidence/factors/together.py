"""Differences that are one act written down twice, or of which one is the other's consequence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from labbook.evidence.factors.diffs import Diff, Effect
from labbook.evidence.factors.doing import MEETING
from labbook.evidence.factors.types import Key
from labbook.model.sheets import Sheets
from labbook.trade.volatile import volatile_share

_WARMING = frozenset({"heat", "melt", "hold"})


def joined(diffs: Sequence[Diff], sheets: Sheets) -> list[Diff]:
    """The differences with those folded that another one holds."""
    found = list(diffs)
    for fold in (_device, _rate, _temperature, _gap):
        found = fold(found)
    return _evaporated(found, sheets)


def _evaporated(diffs: list[Diff], sheets: Sheets) -> list[Diff]:
    """What steamed off is one act: less of the water, and more of the rest by as much.

    Amounts that it explains are its consequences, and lend it their rules.
    """
    loss = next((d for d in diffs if d.key == ("evaporation",)), None)
    if loss is None or loss.failed.value is None or loss.good.value is None:
        return diffs
    lost = loss.failed.value, loss.good.value
    gone = [d for d in diffs if d.kind == "amount" and d.moves and _explained(d, *lost, sheets)]
    for diff in gone:
        lent = tuple(replace(move, lent=True) for move in diff.moves)
        loss = replace(loss.with_folded(diff), moves=(*loss.moves, *lent))
    return [loss if d.key == loss.key else d for d in diffs if d not in gone]


def _explained(diff: Diff, failed: Fraction, good: Fraction, sheets: Sheets) -> bool:
    """Whether what two batches lost explains an amount, as near as amounts matter.

    Of 100 g put in, 100 less the loss came out. A line that stayed whole is a larger share of that;
    a volatile one may have lost all that went off, or any part of it.
    """
    left = 100 - failed
    if left <= 0:
        return False
    for move in diff.moves:
        mass = move.good * (100 - good) / 100
        whole = mass / left * 100
        goes = volatile_share(move.sheet, sheets) > 0
        thinned = (mass - (failed - good)) / left * 100 if goes else whole
        low, high = sorted((thinned, whole))
        nearest = min(max(move.failed, low), high)
        if diff.step.apart(move.failed, nearest):
            return False
    return True


def _with(diffs: Sequence[Diff], changed: Mapping[Key, Diff]) -> list[Diff]:
    """The differences, those that took something up in their new form."""
    return [changed.get(diff.key, diff) for diff in diffs]


def _detail(diff: Diff, name: str) -> bool:
    return diff.key[0] == "steps" and diff.key[2] == name


def _device(diffs: list[Diff]) -> list[Diff]:
    """The mixer, and steps done with it, are one; a speed on its own scale goes with the device."""
    main = next((d for d in diffs if d.key == ("equipment", "mixer")), None)
    devices: dict[str, Diff] = {}
    left = []
    for diff in diffs:
        if main is not None and _detail(diff, "with") and _names(diff) == _names(main):
            main = main.with_folded(diff, *_acting(main, diff))
            continue
        if _detail(diff, "with"):
            devices[diff.key[1]] = diff
        left.append(diff)
    kept = []
    for diff in left:
        in_rpm = diff.ordered and diff.failed.base == "rpm"
        holder = devices.get(diff.key[1]) if diff.kind == "speed" and not in_rpm else None
        if diff.kind == "speed" and not in_rpm and holder is not None:
            devices[diff.key[1]] = _take(holder, diff)
        elif diff.kind == "speed" and not in_rpm and main is not None:
            main = _take(main, diff)
        else:
            kept.append(diff)
    changed = {one.key: one for one in (*devices.values(), *([main] if main else []))}
    return _with(kept, changed)


def _names(diff: Diff) -> tuple[str, str]:
    return diff.failed.name, diff.good.name


def _acting(main: Diff, step: Diff) -> tuple[Effect, ...]:
    """What the rules about a step's device go by, once the step is folded into the mixer."""
    values = (main.failed.value, main.good.value) if main.ordered else (None, None)
    return (Effect(main.kind, *values, main.failed.base, step.failed.acts | step.good.acts),)


def _take(holder: Diff, other: Diff) -> Diff:
    return holder.with_folded(other, Effect("speed", acts=other.failed.acts, lent=True))


def _rate(diffs: list[Diff]) -> list[Diff]:
    """How fast something was added, in words and as a time, is one; a time alone is a rate too."""
    rates = {d.key[1]: d for d in diffs if _detail(d, "rate")}
    kept = []
    for diff in diffs:
        if not (_detail(diff, "took") and diff.failed.acts & MEETING):
            kept.append(diff)
        elif diff.key[1] in rates:
            own = Effect("time", diff.failed.value, diff.good.value, "s", diff.failed.acts)
            rates[diff.key[1]] = rates[diff.key[1]].with_folded(diff, own, *_as_rate(diff))
        else:
            kept.append(replace(diff, effects=(*diff.effects, *_as_rate(diff))))
    return _with(kept, {one.key: one for one in rates.values()})


def _as_rate(diff: Diff) -> tuple[Effect, ...]:
    """A time as a rate: what takes twice as long goes half as fast."""
    a, b = diff.failed.value, diff.good.value
    if not a or not b:
        return ()
    return (Effect("rate", Fraction(1) / a, Fraction(1) / b, "1/s", diff.failed.acts, lent=True),)


def _temperature(diffs: list[Diff]) -> list[Diff]:
    """A phase heated otherwise and combined otherwise, both the same way, is one."""
    later = {
        d.key[2]: d
        for d in diffs
        if d.kind == "temperature" and d.key[0] == "steps" and "combine" in d.failed.acts
    }
    kept = []
    for diff in diffs:
        warming = diff.kind == "temperature" and diff.failed.acts & _WARMING
        holder = later.get(diff.key[2]) if warming and diff.key[0] == "steps" else None
        if holder is None or _sign(holder) != _sign(diff):
            kept.append(diff)
            continue
        own = Effect("temperature", diff.failed.value, diff.good.value, "°C", diff.failed.acts)
        later[diff.key[2]] = holder.with_folded(diff, own)
    return _with(kept, {one.key: one for one in later.values()})


def _sign(diff: Diff) -> bool:
    return (diff.failed.value or 0) > (diff.good.value or 0)


def _gap(diffs: list[Diff]) -> list[Diff]:
    """The gap between two phases goes with the temperature that opened it."""
    gaps = {d.key[1]: d for d in diffs if d.kind == "gap"}
    held = set()
    found = []
    for diff in diffs:
        gap = gaps.get(diff.key[1]) if diff.key[0] == "steps" else None
        if gap is None or diff.kind != "temperature":
            found.append(diff)
            continue
        held.add(gap.key)
        effect = Effect("gap", gap.failed.value, gap.good.value, "°C", gap.failed.acts, lent=True)
        found.append(replace(diff, effects=(*diff.effects, effect)))
    return [d for d in found if d.key not in held]
