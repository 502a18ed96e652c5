"""How two batches were made, step by step and phase by phase, and what was read from them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from labbook.evidence.items import Findings, Item
from labbook.evidence.lines import half_unit
from labbook.evidence.method import matched_steps
from labbook.model.batch import Batch, BatchStep, Done
from labbook.model.formula import Step
from labbook.model.quantities import Quantity
from labbook.model.sheets import fold
from labbook.trade.pots import WITH_VESSEL
from labbook.trade.standing import standing

WATER_IN_OIL = "water-in-oil"
_WHEN = {
    "add": "when added",
    "adjust": "when adjusted",
    "combine": "when combined",
    "cool": "when cooled",
    "disperse": "when dispersed",
    "fill": "when filled",
    "heat": "when heated",
    "hold": "while held",
    "hydrate": "when hydrated",
    "melt": "when melted",
    "mix": "when mixed",
    "pour": "when poured",
    "whip": "when whipped",
}
_DONE = (
    ("took", "time taken"),
    ("hold", "hold"),
    ("mixed", "mixed for"),
    ("speed", "speed"),
    ("rate", "rate"),
    ("with_", "with"),
    ("stirred_until", "stirred until"),
    ("skipped", "skipped"),
)


def compare_steps(
    found: Findings,
    a: Batch,
    b: Batch,
    phases: Mapping[str, str],
    resolution: Mapping[str, Fraction],
) -> None:
    """Adds what was done otherwise in steps that both batches have.

    Args:
        found: where to.
        a: the one batch.
        b: the other.
        phases: what each phase is called in a sentence.
        resolution: what each batch's thermometer tells apart, in °C.
    """
    pairs = matched_steps([_plan(s) for s in a.steps], [_plan(s) for s in b.steps])
    acts = Counter(_plan(b.steps[j]).do for _, j in pairs)
    for i, j in pairs:
        plan = _plan(b.steps[j])
        if _plan(a.steps[i]).do != plan.do:
            continue
        where = plan.do if acts[plan.do] == 1 and plan.do != "other" else f"{plan.do} {plan.id}"
        one, other = a.steps[i].done or Done(), b.steps[j].done or Done()
        letters = sorted({*(one.temperatures or {}), *(other.temperatures or {})})
        for letter in letters:
            when = _WHEN.get(where, f"in step {where}")
            what = f"{phases.get(letter, letter)} {when}"
            sides = [(done.temperatures or {}).get(letter) for done in (one, other)]
            found.quantities("steps", what, sides, plan.id, letter, resolution=resolution)
        for key, word in _DONE:
            _compare_done(found, f"{where}: {word}", plan.id, key, one, other)


def _plan(step: BatchStep) -> Step:
    return step.plan or Step(id=step.id, do="other")


def _compare_done(found: Findings, what: str, step: str, key: str, one: Done, other: Done) -> None:
    sides = [_value(done, key) for done in (one, other)]
    if key == "skipped":  # a step that was done has no such key: its absence says "not skipped"
        if any(sides):
            found.texts("steps", what, [side or "no" for side in sides], step, key)
        return
    if all(side is None or isinstance(side, Quantity) for side in sides):
        found.quantities("steps", what, sides, step, key)
        return
    texts = [None if side is None else str(side) for side in sides]
    alike = None not in texts and fold(str(texts[0])) == fold(str(texts[1]))
    found.texts("steps", what, texts, step, key, same=alike)


def _value(done: Done, key: str) -> Any:
    value = getattr(done, key)
    exact = isinstance(done.started, datetime) and isinstance(done.ended, datetime)
    if key == "took" and value is None and exact:
        assert isinstance(done.started, datetime) and isinstance(done.ended, datetime)
        seconds = int((done.ended - done.started).total_seconds())
        if seconds >= 0:
            return Quantity(
                Decimal(seconds) / 60 if seconds % 60 else Decimal(seconds // 60), "min"
            )
    return value


# Readings ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Read:
    """The last reading of a kind, as it stands after corrections."""

    text: str
    value: Decimal | None
    unit: str
    spread: Fraction


def compare_readings(found: Findings, a: Batch, b: Batch, meant: tuple[str, str]) -> None:
    """Adds readings that differ: the same reading of the same thing, the last one of each.

    A pH of a finished emulsion is left out unless both are known to be no water-in-oil emulsion.
    """
    kinds = [_emulsion(batch, type_) for batch, type_ in zip((a, b), meant, strict=True)]
    sides = [_readings(batch) for batch in (a, b)]
    for key in dict.fromkeys((*sides[0], *sides[1])):
        reading, of = key
        if fold(reading) == "ph" and not _in_water(of) and not all(map(_means_something, kinds)):
            continue
        what = f"{reading} of {of}" if of else reading
        _compare_reading(found, what, key, sides[0].get(key), sides[1].get(key))


def _in_water(of: str) -> bool:
    """Whether a pH was measured in something of water: a phase, or the water itself."""
    words = fold(of).split("-")
    return "phase" in words or words == ["water"]


def _means_something(emulsion: str) -> bool:
    return bool(emulsion) and fold(emulsion) != WATER_IN_OIL


def _emulsion(batch: Batch, meant: str) -> str:
    """The emulsion type that was observed last, else the one that was meant."""
    observed = [text for (reading, _), one in _readings(batch).items()
                if fold(reading) == "emulsion-type" and (text := one.text)]  # fmt: skip
    if any(fold(text) == WATER_IN_OIL for text in observed):
        return WATER_IN_OIL
    return observed[-1] if observed else meant


def _readings(batch: Batch) -> dict[tuple[str, str], _Read]:
    """The last reading of each kind that isn't struck and that says something."""
    found: dict[tuple[str, str], _Read] = {}
    for reading in standing(batch).readings:
        if reading.struck is not None or (reading.value is None and reading.seen is None):
            continue
        if fold(reading.reading).replace("-", " ") in WITH_VESSEL:  # its difference tells
            continue
        key = (reading.reading, reading.of or "")
        value = reading.value
        text = reading.seen or "" if value is None else f"{value:f}"
        spread = Fraction() if value is None else half_unit(value)
        if reading.uncertainty is not None:
            spread = max(spread, Fraction(reading.uncertainty))
        found.pop(key, None)
        found[key] = _Read(text, value, reading.unit or "", spread)
    return found


def _compare_reading(
    found: Findings, what: str, key: tuple[str, str], a: _Read | None, b: _Read | None
) -> None:
    if a is None or b is None or a.value is None or b.value is None or a.unit != b.unit:
        texts = [None if r is None else f"{r.text} {r.unit}".rstrip() for r in (a, b)]
        found.texts("readings", what, texts, *key)
        return
    beyond = a.spread + b.spread
    if abs(a.value - b.value) <= beyond:
        found.same["readings"] += 1
        return
    found.add(
        Item(
            part="readings",
            what=what,
            a=a.text,
            b=b.text,
            unit=a.unit,
            key=("readings", *key),
            a_value=Fraction(a.value),
            b_value=Fraction(b.value),
            beyond=beyond,
        )
    )


def last_seen(batch: Batch, reading: str) -> str:
    """What a reading in words said last, after corrections; empty where there is none."""
    wanted = fold(reading)
    found = [one.text for (kind, _), one in _readings(batch).items() if fold(kind) == wanted]
    return found[-1] if found else ""
