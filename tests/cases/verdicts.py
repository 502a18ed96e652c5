"""What a case's verdict says, held against the answer: every departure as a sentence.

A verdict names differences as a maker would: `amount of X`, `phase of X`, `X instead of Y`, `lot of
X` (or grade, or supplier), `temperature of B in join`, `took in join`, `size`, `order of the
steps`, `place of the jar`, `room temperature`, `evaporation`, `pH`, `mixer`; `A or B` leaves open
which of two that came together is named. That a blend leads is also said by a difference that names
a component in it. The words for chances are those of the program, in their
order; `open` means that no difference is more than possible.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any

from labbook.evidence.answer import reckoned, rows_of, suspects_of
from labbook.evidence.causes import reckon, word
from labbook.evidence.factors import Factor, Question, Unrecorded
from labbook.model.results.why import Suspect, Why

ORDER = ("nearly cleared", "unlikely", "possible", "likely", "very likely")
_PACKS = ("lot", "grade", "supplier")
_DETAILS = ("took", "hold", "mixed", "speed", "rate", "with", "until", "gap")
_SETTINGS: Mapping[str, tuple[str, ...]] = {
    "mixer": ("equipment", "mixer"),
    "size": ("size",),
    "evaporation": ("evaporation",),
    "room temperature": ("room", "temperature"),
    "room humidity": ("room", "humidity"),
    "place of the jar": ("jar", "place"),
    "container of the jar": ("jar", "container"),
    "session": ("session",),
}


def means(phrase: str, key: tuple[str, ...], sheets: tuple[str, ...]) -> bool:
    """Whether a difference with that key, about those ingredients, is the one that is meant."""
    if phrase in _SETTINGS:
        return key == _SETTINGS[phrase]
    if phrase == "order of the steps":
        return key[0] == "order"
    if phrase == "pH":
        return key[:2] == ("readings", "pH")
    if match := re.fullmatch(r"(\S+) instead of (\S+)", phrase):
        return key[-1] == "swap" and set(sheets) == set(match.groups())
    if match := re.fullmatch(r"temperature of ([A-Z]) in (\S+)", phrase):
        return key == ("steps", match[2], match[1])
    if match := re.fullmatch(r"(\S+) in (\S+)", phrase):
        assert match[1] in _DETAILS, phrase
        return key == ("steps", match[2], match[1])
    match = re.fullmatch(r"(\S+) of (.+)", phrase)
    assert match, f"no difference is called {phrase!r}"
    what, names = match[1], tuple(match[2].split(" and "))
    if what in _PACKS:
        return key[0] == "lots" and set(sheets) == set(names)
    if what == "phase":
        return key == ("lines", names[0], "phase")
    assert what == "amount", phrase
    return key == ("lines", names[0])


class Held:
    """One answer, asked for what a verdict says."""

    def __init__(
        self, question: Question, why: Why, *, flat: bool, before: Sequence[Held] = ()
    ) -> None:
        """Keeps the factors beside the suspects that tell of them, and the case's other answers."""
        self.question, self.why, self.flat, self.before = question, why, flat, before
        self._told = {one.key: one for one in why.suspects}
        self._factors = {f.name: f for f in question.factors}

    def factor(self, phrase: str) -> Factor | None:
        """The difference that a phrase means."""
        found = [f for f in self.question.factors if means(phrase, f.key, f.sheets)]
        assert len(found) < 2, f"{phrase} means {[f.name for f in found]}"
        return found[0] if found else None

    def suspect(self, phrase: str) -> Suspect | None:
        """The same as it is told."""
        factor = self.factor(phrase)
        return self._told[factor.name] if factor else None

    def parts_of(self, phrase: str) -> list[Suspect]:
        """What is told of the components of a blend, where they stand for it."""
        blend = phrase.removeprefix("amount of ")
        found = [f for f in self.question.factors if f.kind == "amount" and blend in f.sheets[1:]]
        return [self._told[f.name] for f in found]

    def apart(self, one: str, other: str) -> bool:
        """Whether one of two differences is told apart from the other."""
        names = [f.name for f in self.question.factors]
        i, j = (names.index(told.name) for p in (one, other) if (told := self.factor(p)))
        found = reckoned(self.question, flat=self.flat)
        return found.told_apart(i, j) or found.told_apart(j, i)

    def pair(self) -> set[str]:
        """The two units that are held against each other."""
        return {self.question.failed, self.question.good}

    def departures(self, verdict: Mapping[str, Any]) -> list[str]:
        """Where the answer says otherwise than the verdict."""
        return [
            said
            for key, value in verdict.items()
            if key in _JUDGES
            for said in _JUDGES[key](self, value, verdict)
        ]

    def table(self) -> str:
        """The answer in a few lines, for the report of a failing case."""
        rows = [
            f"{one.chance:.3f} ({one.before:.2f}) {word(one.chance)}: {one.key}"
            f" failed {one.like_failed.failed}/{one.like_failed.of},"
            f" else {one.like_good.failed}/{one.like_good.of}"
            for one in self.why.suspects
        ]
        apart = [" | ".join(group.names) for group in self.why.not_apart]
        return "\n".join([
            f"{self.why.failed} against {self.why.good}, {self.why.until}, {self.why.condition}",
            *rows, f"outside {self.why.outside:.3f}", f"not apart: {apart}",
        ])  # fmt: skip


Judge = Callable[[Held, Any, Mapping[str, Any]], Iterator[str]]


def _level(chance: float) -> int:
    return ORDER.index(word(chance))


def _one_of(held: Held, phrases: str) -> list[Suspect]:
    found = [held.suspect(one) for one in phrases.split(" or ")]
    parts = [held.parts_of(one) for one in phrases.split(" or ")]
    return [one for one in (*found, *(one for part in parts for one in part)) if one is not None]


def _leads(held: Held, phrases: str, verdict: Mapping[str, Any]) -> Iterator[str]:
    mine = _one_of(held, phrases)
    if not mine:
        yield f"{phrases} is no difference"
        return
    best = max(one.chance for one in held.why.suspects)
    lead = max(mine, key=lambda one: one.chance)
    if lead.chance < best - 1e-9:
        yield f"{held.why.suspects[0].key} leads, and not {phrases}"
    least = verdict.get("at least")
    if least and _level(lead.chance) < ORDER.index(least):
        yield f"{phrases} is {word(lead.chance)} ({lead.chance:.3f}), not at least {least}"


def _at_most(held: Held, most: Mapping[str, str], verdict: Mapping[str, Any]) -> Iterator[str]:
    for phrase, limit in most.items():
        one = held.suspect(phrase)
        if one is None:
            yield f"{phrase} is no difference"
        elif _level(one.chance) > ORDER.index(limit):
            yield f"{phrase} is {word(one.chance)} ({one.chance:.3f}), not at most {limit}"


def _open(held: Held, value: str, verdict: Mapping[str, Any]) -> Iterator[str]:
    for one in held.why.suspects if value == "yes" else ():
        if _level(one.chance) > ORDER.index("possible"):
            yield f"{one.key} is {word(one.chance)} ({one.chance:.3f}), and it is open"


def _not_apart(held: Held, groups: Any, verdict: Mapping[str, Any]) -> Iterator[str]:
    for group in groups:
        missing = [phrase for phrase in group if held.factor(phrase) is None]
        if missing:
            yield f"no difference: {missing}"
            continue
        for one, other in combinations(group, 2):
            if held.apart(one, other):
                yield f"told apart: {one} and {other}"


def _cleared(held: Held, phrases: Any, verdict: Mapping[str, Any]) -> Iterator[str]:
    for phrase in phrases:
        one = held.suspect(phrase)
        if one is None or not one.cleared:
            yield f"{phrase} is not cleared ({one.chance:.3f})" if one else f"{phrase} is missing"


def _too_young(held: Held, shorts: Any, verdict: Mapping[str, Any]) -> Iterator[str]:
    left = dict(held.why.left_out)
    for short in shorts:
        if left.get(short) != "too young":
            yield f"{short} is not left out as too young"


def _undecided(held: Held, shorts: Any, verdict: Mapping[str, Any]) -> Iterator[str]:
    states = {row.batch.rsplit("-", 1)[-1]: row.state for row in held.question.rows}
    for short in shorts:
        if states.get(short) != "undecided":
            yield f"{short} counts as {states.get(short)}"


def _nothing(held: Held, value: str, verdict: Mapping[str, Any]) -> Iterator[str]:
    """Nothing recorded differs; that they are two makings, `session`, may stand for the rest."""
    found = [one.key for one in held.why.suspects if one.key != "session"]
    if not held.question.nothing or found:
        yield f"something differs: {found}"


def _failed_like_it(held: Held, counts: Any, verdict: Mapping[str, Any]) -> Iterator[str]:
    for phrase, count in counts.items():
        one = held.suspect(phrase)
        if one is None or one.like_failed.failed != int(count):
            yield f"{phrase}: failed {one.like_failed if one else None} times, not {count}"


def _unknown(held: Held, phrases: Any, verdict: Mapping[str, Any]) -> Iterator[str]:
    told: tuple[Unrecorded, ...] = held.question.unrecorded
    for phrase in phrases:
        if not any(means(phrase, one.key, ()) for one in told):
            yield f"{phrase} is not said to be unknown"


def _until(held: Held, text: str, verdict: Mapping[str, Any]) -> Iterator[str]:
    if held.why.until != text:
        yield f"asked {held.why.until}, not {text}"


def _condition(held: Held, text: str, verdict: Mapping[str, Any]) -> Iterator[str]:
    if held.why.condition != text:
        yield f"asked in {held.why.condition}, not {text}"


def _outside(held: Held, least: str, verdict: Mapping[str, Any]) -> Iterator[str]:
    if _level(held.why.outside) < ORDER.index(least):
        yield f"something else is {word(held.why.outside)} ({held.why.outside:.3f}), not {least}"


def _no_surer(held: Held, number: str, verdict: Mapping[str, Any]) -> Iterator[str]:
    """The lead is as sure as in an earlier question of the case, two in a hundred allowed."""
    lead = verdict["leads"]
    now, then = held.suspect(lead), held.before[int(number) - 1].suspect(lead)
    if now is None or then is None or now.chance > then.chance + 0.02:
        yield f"{lead} is surer than in question {number}"


def _rises(held: Held, value: str, verdict: Mapping[str, Any]) -> Iterator[str]:
    before = reckon(suspects_of(held.question, flat=held.flat), (), outside=0.2).outside
    first = [row for row in rows_of(held.question) if row.name in held.pair()]
    alone = reckon(suspects_of(held.question, flat=held.flat), first, outside=0.2).outside
    if held.why.outside <= max(before, alone):
        yield f"something else fell: {before:.3f}, {alone:.3f}, {held.why.outside:.3f}"


_JUDGES: Mapping[str, Judge] = {
    "leads": _leads,
    "at most": _at_most,
    "open": _open,
    "not apart": _not_apart,
    "cleared": _cleared,
    "too young": _too_young,
    "undecided": _undecided,
    "nothing differs": _nothing,
    "failed like it": _failed_like_it,
    "unknown": _unknown,
    "until": _until,
    "condition found": _condition,
    "outside": _outside,
    "outside rises": _rises,
    "no surer than": _no_surer,
}
ASKED = ("on", "failed", "good", "formula", "condition", "group", "refused", "at least")
SAID = ("with rules", "not yet")
KEYS = frozenset((*_JUDGES, *ASKED, *SAID))
"""Every key that a question of a case may have."""
