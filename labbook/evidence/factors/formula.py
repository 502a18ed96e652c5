"""Asks a formula without a pair: which cuts and names go with failure over all its batches."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from labbook.evidence.book import Book
from labbook.evidence.factors.building import factor_of
from labbook.evidence.factors.event import (
    RUN,
    Fate,
    best_horizon,
    failures,
    fate_of,
    state_at,
    unit_of,
)
from labbook.evidence.factors.features import Feature, features_of
from labbook.evidence.factors.packs import PACK_KINDS
from labbook.evidence.factors.profile import Profile, profile_of
from labbook.evidence.factors.setting import shopping_day
from labbook.evidence.factors.sisters import counted_once
from labbook.evidence.factors.trade import Trade
from labbook.evidence.factors.types import Event, Factor, Question, Seen
from labbook.evidence.factors.units import Sides, units_of
from labbook.evidence.failure import FAILED, GROUPS, condition_key
from labbook.evidence.outcomes import in_order_of_telling
from labbook.model.batch import Batch
from labbook.model.errors import Unclear, UnknownName
from labbook.model.results.looking import DAYS, modes_in_order


@dataclass(frozen=True, slots=True)
class Gathered:
    """The batches of a formula and its kin, sorted for one event."""

    event: Event
    fates: tuple[Fate, ...]
    left_out: tuple[tuple[str, str], ...]
    later: tuple[str, ...]
    profiles: dict[str, Profile]
    trade: Trade
    modes: tuple[str, ...]
    furthest: float


def gathered(
    book: Book, code: str, until: float | None = None, condition: str = "", group: str = ""
) -> Gathered:
    """The batches of a formula, its parents and their descendants, for the event that is meant.

    Raises:
        UnknownName: no formula of that code.
        Unclear: none of its batches failed, or none by then.
    """
    formula = book.formulas.get(code)
    if formula is None:
        raise UnknownName(f"The notebook has no formula {code}.", mend="See all: labbook list")
    kin = book.kin(book.lineage(formula))
    condition, group = _event(book, kin, code, condition, group)
    fates = [f for b in kin if (f := fate_of(book, b, condition, group)) is not None]
    event, furthest = _until(book, fates, until, condition, group)
    states = {f.unit: state_at(f, event) for f in fates}
    counted = tuple(f for f in fates if states[f.unit] not in ("too young", "later"))
    failed = [f for f in counted if states[f.unit] == FAILED]
    if not failed:
        raise Unclear(f"No batch of {code} had failed by then.", mend=f"labbook outcomes {code}")
    watched = {f.batch for f in fates}
    out = [(f.batch, "too young") for f in fates if states[f.unit] == "too young"]
    out += [(b.id, f"not watched in {condition}") for b in kin if b.id not in watched]
    order = {batch.id: place for place, batch in enumerate(kin)}
    last = book.batches[max((f.batch for f in failed), key=lambda id_: order[id_])]
    return Gathered(
        event=event,
        fates=counted,
        left_out=tuple(out),
        later=tuple(f.batch for f in fates if states[f.unit] == "later"),
        profiles={f.batch: profile_of(book, book.batches[f.batch], kin[-1]) for f in counted},
        trade=Trade(book, last, group),
        modes=modes_in_order({mode for f in failed for mode in f.modes}),
        furthest=furthest,
    )


def _until(
    book: Book, fates: Sequence[Fate], until: float | None, condition: str, group: str
) -> tuple[Event, float]:
    """The event with its horizon, and how far it could be put: to the oldest batch's age."""
    failed = [f for f in fates if f.first_failed is not None]
    outcomes = (o for f in failed for o in book.outcomes_in(book.batches[f.batch], condition))
    own = (o for o in outcomes if o.group == group)
    unit = unit_of(
        condition,
        next((o for o in own if condition_key(o.condition) == condition_key(condition)), None),
    )
    first = min(failed, key=lambda f: (f.first_failed or 0.0, f.unit))
    furthest = max(f.age for f in fates)
    if unit != DAYS:
        furthest = max((f.first_failed or 0.0) for f in failed)
    furthest = max(furthest, first.first_failed or 0.0)
    horizon = until
    if horizon is None:
        horizon = 0.0 if unit == RUN else best_horizon(fates, first, furthest, unit)
    event = Event(group=group, condition=condition, unit=unit, horizon=horizon)
    return event, max(furthest, horizon)


def _event(
    book: Book, kin: Sequence[Batch], code: str, condition: str, group: str
) -> tuple[str, str]:
    """The condition and group in which most batches failed."""
    found = [
        one
        for batch in kin
        for one in failures(book, batch)
        if (not condition or condition_key(one.condition) == condition_key(condition))
        and (not group or one.group == group)
    ]
    if not found:
        raise Unclear(f"No batch of {code} has failed.", mend=f"labbook outcomes {code}")
    names = in_order_of_telling(one.condition for one in found)
    keys = [condition_key(name) for name in names]
    counts = Counter((condition_key(one.condition), one.group) for one in found)
    order = tuple(GROUPS)
    best = min(counts, key=lambda k: (-counts[k], keys.index(k[0]), order.index(k[1])))
    return condition or names[keys.index(best[0])], best[1]


def ask_formula(
    book: Book,
    code: str,
    *,
    until: float | None = None,
    condition: str = "",
    group: str = "",
) -> Question:
    """Which cuts and names go with failure over all batches of a formula and its kin.

    A trait's features share one chance. Where no rule says which side of a cut is worse, the side
    on which more failed is taken, at half that chance, for it could have been the other.

    Args:
        book: the notebook.
        code: the formula's.
        until: the horizon in days (or cycles); None chooses it.
        condition: where; empty takes the one in which most failed.
        group: the group of failure; empty takes the one in which most failed there.

    Raises:
        UnknownName: no formula of that code.
        Unclear: none of its batches failed, or none by then.
    """
    found = gathered(book, code, until, condition, group)
    features, rows, twins = counted(book, found)
    failed = {row.unit for row in rows if row.state == "failed"}
    intact = {row.unit for row in rows if row.state == "intact"}
    factors = [
        _factor(one, found.trade)
        for one in _one_way(features, found.trade, failed, intact)
    ]  # fmt: skip
    return Question(
        event=found.event,
        failed="",
        good="",
        factors=tuple(_bought_together(book, found, _once(factors))),
        rows=tuple(rows),
        left_out=(*found.left_out, *twins),
        later=found.later,
        nothing=not factors,
        until_most=found.furthest,
        codes=tuple(sorted({book.batches[row.batch].formula.code for row in rows})),
        modes=found.modes,
    )


def counted(book: Book, found: Gathered) -> tuple[list[Feature], list[Seen], list[tuple[str, str]]]:
    """The features over the units that count, what sisters share counted once."""
    units = units_of(book, found.event, found.fates, (), by_jar=False)
    named = [(unit.name, found.profiles[unit.batch.id]) for unit in units]
    features = [one for one in features_of(book, named, found.trade) if _differs(one)]
    sides: Sides = {u.name: [f.sides[u.name] for f in features] for u in units}
    kept, rows, twins = counted_once(book, found.event, units, sides, [False] * len(features), {})
    left = [
        replace(one, sides={u.name: sides[u.name][i] for u in kept})
        for i, one in enumerate(features)
    ]
    return [one for one in left if _differs(one)], rows, twins


def _differs(feature: Feature) -> bool:
    return {True, False} <= set(feature.column)


def _one_way(
    features: Sequence[Feature], trade: Trade, failed: set[str], intact: set[str]
) -> list[Feature]:
    """Each cut once: the side that a rule calls worse, else the one on which more failed."""
    found: list[Feature] = []
    cuts: dict[tuple[object, ...], list[Feature]] = {}
    for one in features:
        if not one.ordered:
            found.append(one)
            continue
        here = frozenset({one.diff.failed.whole, one.diff.good.whole})
        cuts.setdefault((one.of, here), []).append(one)
    for both in cuts.values():
        verdicts = [trade.verdict(one.diff).rule for one in both]
        ruled = [one for one, rule in zip(both, verdicts, strict=True) if rule]
        if len(ruled) == 1:
            found.append(ruled[0])
            continue
        best = max(both, key=lambda one: (_excess(one, failed, intact), one.key))
        found.append(replace(best, parts=best.parts * 2))
    return found


def _excess(feature: Feature, failed: set[str], intact: set[str]) -> float:
    def share(units: set[str]) -> float:
        sides = [feature.sides[unit].side for unit in units]
        known = [side for side in sides if side is not None]
        return sum(known) / len(known) if known else 0.0

    return share(failed) - share(intact)


def _factor(feature: Feature, trade: Trade) -> Factor:
    """A feature as a factor, with its part of the trait's chance."""
    whole = factor_of(feature.diff, trade, feature.sides)
    return replace(
        whole,
        key=feature.key,
        failed=feature.text,
        good=feature.other,
        unit="",
        prior=whole.prior / feature.parts,
        prior_without=whole.prior_without / feature.parts,
    )


_HELD = {"took": "rate", "with": "mixer"}
_SAYS_MOST = {"grade": 0, "supplier": 1, "lot": 2}


def _once(factors: Sequence[Factor]) -> list[Factor]:
    """Drops what another factor says already: a lot beside its grade, a time beside its rate."""
    found: dict[tuple[object, ...], Factor] = {}
    for one in sorted(factors, key=lambda f: (_SAYS_MOST.get(f.kind, 0), _held(f), f.key)):
        found.setdefault((_holder(one), _column(one)), one)
    kept = {one.key for one in found.values()}
    return [one for one in factors if one.key in kept]


def _column(factor: Factor) -> tuple[bool | None, ...]:
    return tuple(side.side for side in factor.sides.values())


def _held(factor: Factor) -> bool:
    return len(factor.key) > 2 and factor.key[2] in _HELD


def _holder(factor: Factor) -> tuple[str, ...]:
    key = factor.key
    if factor.kind in PACK_KINDS:
        return ("lots", key[1])
    if key[0] == "steps" and key[2] in ("took", "rate"):
        return ("rate", key[1])
    if key[0] == "equipment" or (key[0] == "steps" and key[2] == "with"):
        return ("mixer",)
    return key


def _bought_together(book: Book, found: Gathered, factors: Sequence[Factor]) -> list[Factor]:
    """Packs of one shopping day that are of the same batches, as one factor."""
    groups: dict[tuple[object, ...], list[Factor]] = {}
    for one in factors:
        day = _day(book, found, one) if one.kind in PACK_KINDS else ""
        groups.setdefault((day, _column(one)) if day else (one.key,), []).append(one)
    return [_one(group) for group in groups.values()]


def _day(book: Book, found: Gathered, factor: Factor) -> str:
    """When the packs of the batches on the failed side came into the house."""
    packs: set[str] = set()
    for unit, side in factor.sides.items():
        held = found.profiles[unit].stuff.amounts.get(factor.sheets[0], {}) if side.side else {}
        packs |= {lot for amount in held.values() for lot in amount.lots}
    return shopping_day(book, packs)


def _one(group: Sequence[Factor]) -> Factor:
    lead = group[0]
    if len(group) == 1:
        return lead
    return replace(
        lead,
        key=("lots", *(part for one in group for part in one.key[1:])),
        what=" and ".join(one.what for one in group),
        failed=", ".join(one.failed for one in group),
        good=", ".join(one.good for one in group),
        sheets=tuple(sheet for one in group for sheet in one.sheets),
        members=tuple(one.what for one in group),
        prior=max(one.prior for one in group),
        rule=max(group, key=lambda one: one.prior).rule,
    )
