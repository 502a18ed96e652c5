"""What a maker says was done in a step: `A 71 B 58`, `combine 6 min`, `blender 9000 rpm`, `poured`.

Pure. The step is the one named, in front or beside; else the first that has no such thing written
down, of the acts that have it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from labbook.model.batch import Batch
from labbook.model.quantities import Quantity, parse_quantity
from labbook.trade.standing import MIXING, first_lacking

NUMBER = r"-?[0-9]+(?:[.,][0-9]+)?"
_DEGREES = rf"({NUMBER})\s*(°\s*C|°\s*F|C|F)?"
_TIME = rf"({NUMBER})\s*(s|sec|seconds|min|minutes|h|hours)"
_DURATION = re.compile(_TIME, re.IGNORECASE)
_SPEED = re.compile(rf"(.*?)\bspeed\s+(\S.*)|(.*?)\b({NUMBER}\s*rpm)\b", re.IGNORECASE)
_SPAN = re.compile(rf"(took|for|over|in|mixed(?: for)?|held(?: for)?|hold)?\s*({_TIME})", re.I)
_UNTIL = re.compile(rf"(?:stirred )?until {_DEGREES}", re.IGNORECASE)
_WITH = re.compile(r"(mixed |whipped |stirred )?with ([^\W\d][^\d]*)", re.IGNORECASE)
_RATE = re.compile(
    r"rate:? (\S.*)|(poured|poured in|slow|slowly|fast|quickly|steady|steadily|gradually|dropwise"
    r"|drop by drop|at once|all at once|in one go|in portions|(?:in )?(?:a )?thin stream)",
    re.IGNORECASE,
)
_SEEN = re.compile(r"(?:seen|looked):? (\S.*)", re.IGNORECASE)
_SKIPPED = re.compile(r"(?:skipped|left out)(?:[:,]? (\S.*))?", re.IGNORECASE)
_NAMED = re.compile(rf"([^\W\d][^\d]*?)\s*[:=]?\s+({NUMBER})\s*(°\s*C|°\s*F|C|F)")
_FEW_WORDS = 3

_WHEN = {
    "heat": "when heated", "melt": "when melted", "combine": "when combined", "add": "when added",
}  # fmt: skip
_ACTS: dict[str, Collection[str]] = {
    "temperatures": ("heat", "melt", "combine"), "hold": ("hold", "heat", "melt", "hydrate"),
    "took": ("combine",), "mixed": MIXING, "speed": MIXING, "with_": MIXING,
    "rate": ("combine", "add", "pour"), "stirred_until": ("cool", "mix"),
}  # fmt: skip
"""The acts that a thing belongs to where nobody names the step."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A recognised entry.

    Attributes:
        list: `readings`, `deviations`, `remarks`, `step` (what was done in a step), `room`,
            `tools`, or `batch` (of the batch as a whole).
        data: its keys as they go into the file.
        step: the step it belongs to, for `step`.
        said: the entry repeated back in words.
        remarks: what the program has to say about it.
    """

    list: str
    data: dict[str, Any]
    said: str
    step: str = ""
    remarks: tuple[str, ...] = field(default=())


def decimal(text: str) -> Decimal:
    """A number as a person types it, with a point or a comma."""
    return Decimal(text.replace(",", "."))


def _degrees(number: str, unit: str | None) -> Quantity:
    return Quantity(decimal(number), "°F" if unit and unit.endswith("F") else "°C")


def _span(number: str, unit: str) -> Quantity:
    return parse_quantity(f"{number.replace(',', '.')} {unit.lower()}", "time")


# Which step --------------------------------------------------------------------------------------


def _leading_step(said: str, batch: Batch, key: str) -> tuple[str, str]:
    """A phrase without the step id or act at its front, and the step that was named.

    An act names its first step that has no such key written down, else its last.
    """
    word, _, rest = said.partition(" ")
    word = word.removesuffix(":")
    if any(word == known.id for known in batch.steps):
        return rest, word
    step = first_lacking(batch, (word.lower(),), key)
    return (rest, step) if step else (said, "")


def _place(batch: Batch, key: str, step: str, named: str) -> str:
    return step or named or first_lacking(batch, _ACTS.get(key, ()), key)


# Temperatures ------------------------------------------------------------------------------------


def phase_temperatures(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    """`A 72 B 58`, `combine A 71 °C`: temperatures of the batch's phases and of nothing else."""
    phases = sorted({line.phase for line in batch.lines}, key=len, reverse=True)
    if not phases:
        return None
    body, named = _leading_step(said, batch, "temperatures")
    letters = "|".join(map(re.escape, phases))
    pattern = re.compile(rf"(?<!\w)({letters})\s*[:=]?\s*{_DEGREES}(?![A-Za-z0-9]|[.,][0-9])")
    found = list(pattern.finditer(body))
    if not found or re.sub(r"[\s,;]+|\band\b", "", pattern.sub("", body)):
        return None
    where = step or named or _added_in(batch, {m[1] for m in found})
    where = where or first_lacking(batch, _ACTS["temperatures"], "temperatures")
    if not where:
        return None
    temperatures = {m[1]: _degrees(m[2], m[3]) for m in found}
    told = ", ".join(f"phase {phase} at {value}" for phase, value in temperatures.items())
    plan = next((s.plan for s in batch.steps if s.id == where), None)
    place = f" {_WHEN[plan.do]}" if plan and plan.do in _WHEN else ""
    return Entry("step", {"temperatures": temperatures}, f"{told}{place} ({where})", step=where)


def named_phase(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    """`cream 34 °C` of a step that was named: what has no letter has a temperature too."""
    body, named = _leading_step(said, batch, "temperatures")
    where = step or named
    match = _NAMED.fullmatch(body)
    if not where or match is None or len(match[1].split()) > _FEW_WORDS:
        return None
    value = _degrees(match[2], match[3])
    told = f"{match[1]} at {value} ({where})"
    return Entry("step", {"temperatures": {match[1]: value}}, told, step=where)


def _added_in(batch: Batch, phases: set[str]) -> str:
    """The step that adds phases which no heating and no combining takes in; empty for others."""
    for one in batch.steps:
        plan = one.plan
        if plan and plan.do in ("heat", "melt", "combine"):
            tokens = set(f"{plan.add or ''} {plan.into or ''}".replace(",", " ").split())
            phases = phases - tokens - set(plan.set or {})
    found = (
        one.id
        for one in batch.steps
        if one.plan and one.plan.do == "add" and phases & set((one.plan.add or "").split())
    )
    return next(found, "")


# Times, speed, and how ---------------------------------------------------------------------------


def step_figures(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    """`combine 6 min`, `s2 speed 3`, `held 10 min`, `stirred until 35 °C`, `poured`, `skipped`."""
    for key, reader in _READERS:
        body, named = _leading_step(said, batch, key)
        sure = step or named
        value = reader(body, bool(sure))
        if value is None:
            continue
        found, told = value
        where = _place(batch, key, step, named)
        if where:
            name = key.rstrip("_").replace("_", " ")
            return Entry("step", {name: found}, f"{told} ({where})", step=where)
    return None


_Said = tuple[Any, str]


def _speed(body: str, sure: bool) -> _Said | None:
    match = _SPEED.fullmatch(body)
    if match is None:
        return None
    value = (match[2] or match[4]).strip()
    return value, f"speed {value}"


def _of_span(*words: str) -> Callable[[str, bool], _Said | None]:
    """Reads a time that one of these words says; the empty word needs a named step."""

    def read(body: str, sure: bool) -> _Said | None:
        match = _SPAN.fullmatch(body)
        if match is None:
            return None
        word = (match[1] or "").lower().removesuffix(" for")
        if word not in words or (word in ("", "for", "over", "in") and not sure):
            return None
        span = _span(match[3], match[4])
        return span, f"{words[0]} {span}"

    return read


def _until(body: str, sure: bool) -> _Said | None:
    match = _UNTIL.fullmatch(body)
    if match is None:
        return None
    value = _degrees(match[1], match[2])
    return value, f"stirred until {value}"


def _rate(body: str, sure: bool) -> _Said | None:
    match = _RATE.fullmatch(body)
    if match is None:
        return None
    value = match[1] or match[2].lower()
    return value, value if match[2] else f"rate {value}"


def _with(body: str, sure: bool) -> _Said | None:
    """A device in few words; a bare `with ...` only of a step that was named."""
    match = _WITH.fullmatch(body)
    if match is None or not (match[1] or sure) or len(match[2].split()) > _FEW_WORDS:
        return None
    return match[2], f"with {match[2]}"


def _seen(body: str, sure: bool) -> _Said | None:
    match = _SEEN.fullmatch(body)
    return (match[1], f"seen: {match[1]}") if match and sure else None


def _skipped(body: str, sure: bool) -> _Said | None:
    match = _SKIPPED.fullmatch(body)
    if match is None or not sure:
        return None
    value = match[1] or "skipped"
    return value, f"left out: {match[1]}" if match[1] else "left out"


_READERS: tuple[tuple[str, Callable[[str, bool], _Said | None]], ...] = (
    ("speed", _speed),
    ("mixed", _of_span("mixed")),
    ("hold", _of_span("held", "hold")),
    ("took", _of_span("took", "for", "over", "in", "")),
    ("stirred_until", _until),
    ("rate", _rate),
    ("with_", _with),
    ("seen", _seen),
    ("skipped", _skipped),
)
