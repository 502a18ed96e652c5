"""Which rule of the trade speaks for a difference as a cause, and how probable that makes it.

p = p0 + (p_rule - p0) · min(1, |Δ| / Δ_full) where the difference goes the way that the rule calls
worse, else p0. What follows from a difference is looked up too, in its own share.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import log

from labbook.evidence.book import Book
from labbook.evidence.factors.diffs import Diff, Effect
from labbook.evidence.factors.material import MattersFrom, fits, ruled_step, usual_step
from labbook.evidence.factors.stuff import stuff_of
from labbook.evidence.factors.types import WITHOUT_RULE
from labbook.model.batch import Batch
from labbook.model.rules import CauseRule, Selector
from labbook.model.sheets import fold
from labbook.trade.selecting import picks

CHANCE = {"disputed": 0.10, "weak": 0.10, "plausible": 0.25, "known": 0.50}
"""How probable a rule makes a difference that counts fully."""

_ORDER = {"known": 3, "plausible": 2, "weak": 1, "disputed": 0}
ONE_WAY = ("more helps", "more hurts")
_BOTH_WAYS = ("optimum", "depends")


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the rules say of a difference: the one that counts most, and the chance with it.

    `beyond` says on which sides of the pair's two values further values count alike: `both` where
    more (or less) is always worse, `failed` where that holds on the failed side only, `none`.
    """

    rule: CauseRule | None = None
    size: float = 0.0
    prior: float = WITHOUT_RULE
    beyond: str = "none"


class Trade:
    """The rules that hold for one failed batch and one group of failure."""

    def __init__(self, book: Book, batch: Batch, group: str) -> None:
        """Keeps the rules whose scope is met: type of emulsion, group, what the batch holds."""
        self._sheets = book.sheets
        self._stuff = stuff_of(book, batch)
        self._roles = {s: tuple(self._stuff.roles(s)) or (None,) for s in self._stuff.amounts}
        self._picked: dict[tuple[str, str, str], bool] = {}
        kind = fold(book.emulsion(batch))
        self._by_factor: dict[str, list[CauseRule]] = {}
        for rule in book.rules.causes.values():
            if rule.severity == "off" or (rule.groups and group not in rule.groups):
                continue
            if rule.emulsions and kind not in {fold(one) for one in rule.emulsions}:
                continue
            if rule.with_ and not any(
                self._picks(rule, "with", rule.with_, sheet) for sheet in self._stuff.amounts
            ):
                continue
            self._by_factor.setdefault(rule.factor, []).append(rule)

    def _picks(self, rule: CauseRule, which: str, selector: Selector, sheet: str) -> bool:
        key = (rule.name, which, sheet)
        if key not in self._picked:
            roles = self._roles.get(sheet, (None,))
            self._picked[key] = any(picks(selector, sheet, self._sheets, role) for role in roles)
        return self._picked[key]

    # From when on it matters ---------------------------------------------------------------------

    def step(self, kind: str, base: str, sheets: tuple[str, ...], acts: frozenset[str],
             a: Fraction, b: Fraction) -> MattersFrom:  # fmt: skip
        """From when on two figures of a kind count as different: by the finest rule, else usual."""
        found = []
        for rule in self._by_factor.get(kind, ()):
            if rule.matters_from is None or not self._meant(rule, sheets, acts):
                continue
            if not fits(rule.unit or "", base):
                continue
            step = ruled_step(Fraction(rule.matters_from), rule.unit or "", a, b)
            if step is not None:
                found.append(step)
        if not found:
            return usual_step(kind, base, a, b)
        apart = [step for step in found if step.apart(a, b)]
        return min(apart or found, key=lambda step: (step.ratio, step.amount))

    def _meant(self, rule: CauseRule, sheets: tuple[str, ...], acts: frozenset[str]) -> bool:
        if rule.step and rule.step not in acts:
            return False
        return rule.of is None or any(self._picks(rule, "of", rule.of, s) for s in sheets)

    # What the trade says -------------------------------------------------------------------------

    def verdict(self, diff: Diff) -> Verdict:
        """The rule that makes a difference most probable as a cause; none where none does."""
        found: list[tuple[tuple[float, int, bool, str], Verdict]] = []
        for rule, effect, own in self._speaking(diff):
            size = _size(rule, effect)
            if size is None or not _worse(rule, effect):
                continue
            chance = CHANCE[rule.strength]
            prior = WITHOUT_RULE + (chance - WITHOUT_RULE) * size
            beyond = "none"
            if rule.direction in ONE_WAY and diff.ordered:
                beyond = "failed" if effect.kind == "gap" and diff.kind != "gap" else "both"
            order = (-prior, -_ORDER[rule.strength], not own, rule.name)
            found.append((order, Verdict(rule, size, prior, beyond)))
        return min(found, key=lambda one: one[0])[1] if found else Verdict()

    def _speaking(self, diff: Diff) -> Iterator[tuple[CauseRule, Effect, bool]]:
        """The rules about a difference, each with the figures that it goes by."""
        for part in diff.parts or (diff,):
            yield from self._of_moves(part)
            own = () if part.kind == "substitution" else (own_effect(part),)
            for effect in (*own, *part.effects):
                for rule in self._by_factor.get(effect.kind, ()):
                    if effect.kind in ("amount", "water phase") and part.moves:
                        continue
                    if self._meant(rule, effect.sheets, effect.acts):
                        yield rule, effect, not effect.lent

    def _of_moves(self, diff: Diff) -> Iterator[tuple[CauseRule, Effect, bool]]:
        """Rules about amounts, summed over the lines that each of them picks."""
        for rule in self._by_factor.get("amount", ()) if diff.moves else ():
            own = diff.moves[:1] if rule.of is None else ()
            mine = own or tuple(
                m for m in diff.moves if rule.of and self._picks(rule, "of", rule.of, m.sheet)
            )
            whole = {m.sheet for m in mine}
            mine = tuple(m for m in mine if m.via not in whole)  # a blend counts with all it holds
            failed = sum((m.failed for m in mine), Fraction())
            good = sum((m.good for m in mine), Fraction())
            if mine and failed != good:
                lent = all(m.lent for m in mine)
                yield rule, Effect("amount", failed, good, "%"), not lent
        failed = sum((m.failed for m in diff.moves if m.in_water), Fraction())
        good = sum((m.good for m in diff.moves if m.in_water), Fraction())
        if failed != good:
            for rule in self._by_factor.get("water phase", ()):
                if rule.of is None or any(
                    self._picks(rule, "of", rule.of, m.sheet) for m in diff.moves if m.in_water
                ):
                    yield rule, Effect("water phase", failed, good, "%"), False


def own_effect(diff: Diff) -> Effect:
    """The figures of a difference itself; ranks where names can be ordered roughly."""
    failed, good = diff.failed, diff.good
    values: tuple[Fraction | None, Fraction | None] = (None, None)
    if failed.value is not None and good.value is not None and failed.base == good.base:
        values = (failed.value, good.value)
    elif failed.rank is not None and good.rank is not None:
        values = (Fraction(failed.rank), Fraction(good.rank))
    acts = failed.acts | good.acts
    return Effect(diff.kind, *values, failed.base, acts, (*diff.sheets, *diff.extra))


def _worse(rule: CauseRule, effect: Effect) -> bool:
    """Whether the failed batch is where the rule expects failure.

    Of an optimum, and of what depends, both ways may be. Names have no direction.
    """
    if effect.failed is None or effect.good is None or rule.direction in _BOTH_WAYS:
        return True
    if rule.direction == "more helps":
        return effect.failed < effect.good
    return effect.failed > effect.good


def _size(rule: CauseRule, effect: Effect) -> float | None:
    """The share of the difference at which a rule counts fully; None where it doesn't count yet.

    A rule about a room in °C counts for its warmth and not for its humidity.
    """
    if effect.failed is None or effect.good is None:
        return 1.0
    a, b, unit = effect.failed, effect.good, rule.unit or ""
    if not effect.base:
        return 1.0
    if not fits(unit, effect.base):
        return None
    if rule.matters_from is not None:
        step = ruled_step(Fraction(rule.matters_from), unit, a, b)
        if step is not None and not step.apart(a, b):
            return None
    if rule.full is None or not rule.full:
        return 1.0
    full = float(rule.full)
    if unit == "times":
        low, high = sorted((abs(a), abs(b)))
        return 1.0 if not low or full <= 1 else min(1.0, log(high / low) / log(full))
    far = float(abs(a - b))
    if unit == "share":
        far /= float(max(abs(a), abs(b)))
    elif unit in ("min", "h"):
        far /= 60 if unit == "min" else 3600
    return min(1.0, far / full)
