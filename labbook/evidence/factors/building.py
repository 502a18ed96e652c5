"""Factors from differences: the rule that speaks for each, and the side of every unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from labbook.evidence.book import Book
from labbook.evidence.factors.components import components_apart
from labbook.evidence.factors.diffs import Diff
from labbook.evidence.factors.event import Fate
from labbook.evidence.factors.nearest import Candidate, traits_of_jars
from labbook.evidence.factors.packs import bought_together, grades_and_lots
from labbook.evidence.factors.pairing import Paired, paired
from labbook.evidence.factors.profile import Profile
from labbook.evidence.factors.sisters import counted_once
from labbook.evidence.factors.standing import side_of
from labbook.evidence.factors.trade import Trade, own_effect
from labbook.evidence.factors.types import WITHOUT_RULE, Event, Factor, Key, Seen, Side
from labbook.evidence.factors.units import Sides, Unit, units_of


@dataclass(frozen=True, slots=True)
class Built:
    """The factors of a pair, the units that count, and what else differs."""

    factors: tuple[Factor, ...]
    rows: tuple[Seen, ...]
    left_out: tuple[tuple[str, str], ...]
    paired: Paired


def built(
    book: Book,
    event: Event,
    pair: tuple[Candidate, Candidate],
    fates: Sequence[Fate],
    profiles: Mapping[str, Profile],
    trade: Trade,
) -> Built:
    """The factors of a pair with the side of every unit.

    Args:
        book: the notebook.
        event: what failed.
        pair: the failed and the good batch (or jar).
        fates: the batches that count.
        profiles: their traits.
        trade: the rules that hold.
    """
    jars = tuple(
        traits_of_jars(book, one, event.condition, failed=failed)
        for one, failed in zip(pair, (True, False), strict=True)
    )
    own = (profiles[pair[0].batch.id], profiles[pair[1].batch.id])
    found = paired(book, own[0], own[1], trade, (jars[0], jars[1]))
    by_jar = any(diff.key[0] == "jar" for diff in found.diffs)
    units = units_of(book, event, fates, pair, by_jar=by_jar)
    if pair[0].batch.id == pair[1].batch.id and not by_jar:
        units = [unit for unit in units if unit.name == pair[0].unit]
    stand = _Standing(book, units, profiles, trade)
    stuffs = [profiles[unit.batch.id].stuff for unit in units]
    parts = components_apart(found.diffs, stuffs, book.sheets)
    diffs = bought_together(grades_and_lots(parts, stand.told), stand.told)
    per_unit: Sides = {u.name: [stand.sides(d)[i] for d in diffs] for i, u in enumerate(units)}
    first = {one.unit: rank for rank, one in enumerate(pair)}
    of_jars = [diff.key[0] == "jar" for diff in diffs]
    kept, rows, twins = counted_once(book, event, units, per_unit, of_jars, first)
    factors = tuple(
        _spared(factor_of(diff, trade, {u.name: per_unit[u.name][i] for u in kept}), pair[0].unit)
        for i, diff in enumerate(diffs)
    )
    return Built(factors, tuple(rows), tuple(twins), replace(found, diffs=tuple(diffs)))


def _spared(factor: Factor, failed: str) -> Factor:
    """The chance without the rule where another part of the failed bulk failed without it.

    A rule makes it likelier that this very batch failed by it, and that part takes this back.
    """
    own = factor.sides.get(failed)
    if own is None or own.why != "shared":
        return factor
    return replace(factor, prior=min(factor.prior, factor.prior_without))


class _Standing:
    """Where all units stand on any difference; worked out once for each."""

    def __init__(
        self, book: Book, units: Sequence[Unit], profiles: Mapping[str, Profile], trade: Trade
    ) -> None:
        self._book, self._units, self._profiles, self._trade = book, units, profiles, trade
        self._known: dict[tuple[Key, int], list[Side]] = {}

    def sides(self, diff: Diff) -> list[Side]:
        """The side of every unit, in their order."""
        key = (diff.key, len(diff.folded))
        if key not in self._known:
            beyond = self._trade.verdict(diff).beyond
            self._known[key] = [
                side_of(diff, self._profiles[u.batch.id], u.jars, self._book.sheets, beyond)
                for u in self._units
            ]
        return self._known[key]

    def told(self, diff: Diff) -> list[bool | None]:
        """The same without the words."""
        return [side.side for side in self.sides(diff)]


def factor_of(diff: Diff, trade: Trade, sides: Mapping[str, Side]) -> Factor:
    """A difference as a factor."""
    verdict = trade.verdict(diff)
    one_unit = diff.failed.unit == diff.good.unit or "none" in (diff.failed.text, diff.good.text)
    effect = own_effect(diff)
    more = None
    if effect.failed is not None and effect.good is not None:
        more = effect.failed > effect.good
    return Factor(
        key=diff.key,
        kind=diff.kind,
        what=diff.what,
        failed=diff.failed.text if one_unit else diff.failed.whole,
        good=diff.good.text if one_unit else diff.good.whole,
        unit=(diff.failed.unit or diff.good.unit) if one_unit else "",
        ordered=diff.ordered,
        rule=verdict.rule,
        size=verdict.size,
        prior=verdict.prior,
        prior_without=WITHOUT_RULE,
        sides=dict(sides),
        folded=diff.folded,
        sheets=diff.sheets,
        step=diff.failed.step or diff.good.step,
        members=tuple(part.what for part in diff.parts),
        more=more,
    )
