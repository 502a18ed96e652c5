"""What a maker says at the bench, recognised: `pH 5.4`, `A 71 B 58`, `combine 6 min`, `2 drops …`.

Pure: text in, one entry out. Numbers typed here may have a decimal comma. What isn't recognised is
kept word for word as a remark; nothing that is said is refused.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from labbook.model.batch import Batch
from labbook.model.quantities import Quantity, QuantityError, parse_quantity

_NUMBER = r"-?[0-9]+(?:[.,][0-9]+)?"
_PH = re.compile(rf"pH\s*[:=]?\s*({_NUMBER})\s*(.*)", re.IGNORECASE | re.ASCII)
_TEMPERATURE = re.compile(
    rf"\b([A-Z])\s*[:=]?\s*({_NUMBER})\s*(°\s*C|°\s*F|C|F)?(?![A-Za-z0-9]|[.,][0-9])"
)
_ROOM = re.compile(rf"room\s+({_NUMBER})\s*(°\s*C|C)?(?:\s+({_NUMBER})\s*%)?", re.IGNORECASE)
_SPEED = re.compile(rf"(.*?)\bspeed\s+(\S.*)|(.*?)\b({_NUMBER}\s*rpm)\b", re.IGNORECASE)
_DURATION = re.compile(rf"({_NUMBER})\s*(s|sec|seconds|min|minutes|h|hours)\b", re.IGNORECASE)
_READING = re.compile(rf"([a-z][a-z -]*?)\s*[:=]?\s+({_NUMBER})\s*([^\s0-9]\S*)?\s*(.*)", re.I)
_TYPE = re.compile(
    r"(?:emulsion )?type\s+(water-in-oil|oil-in-water|w/o|o/w|never formed|unclear)\b[,:]?\s*(.*)",
    re.IGNORECASE,
)
_TYPES = {"w/o": "water-in-oil", "o/w": "oil-in-water"}

_WHEN = {
    "heat": "when heated", "melt": "when melted", "combine": "when combined", "add": "when added",
}  # fmt: skip

READINGS = {
    "viscosity": "mPa s", "spread": "mm", "funnel": "s", "weight": "g", "density": "g/ml",
    "temperature": "°C", "conductivity": "mS/cm", "droplet size": "µm", "evaporated": "g",
}  # fmt: skip
"""Readings by name, with the unit that a bare number has."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A recognised entry.

    Attributes:
        list: `readings`, `deviations`, `remarks`, `step` (what was done in a step) or `room`.
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


def _decimal(text: str) -> Decimal:
    return Decimal(text.replace(",", "."))


def recognise(text: str, batch: Batch, emulsion: str, *, of: str = "", step: str = "") -> Entry:
    """The entry that a phrase means.

    Args:
        text: as typed.
        batch: the batch it is about: its steps and phases decide what a bare letter means.
        emulsion: the formula's intended type; decides what an unnamed pH was measured in.
        of: what it was measured in, where the person said so.
        step: the step, where the person named one.
    """
    said = " ".join(text.split())
    for reader in (_ph, _type, _room, _phase_temperatures, _step_figures, _other_reading):
        entry = reader(said, batch, emulsion, of, step)
        if entry is not None:
            return entry
    data: dict[str, Any] = {"text": said}
    if step:
        data["step"] = step
    return Entry("remarks", data, f"remark: {said}")


def _combined(batch: Batch) -> bool:
    return any(s.plan and s.plan.do == "combine" and s.done for s in batch.steps)


def medium_of_ph(batch: Batch, emulsion: str, step: str) -> tuple[str, tuple[str, ...]]:
    """What an unnamed pH was measured in, and what to say about it.

    Before combining it is the water phase. Of a finished water-in-oil emulsion a pH means nothing:
    the electrode meets oil (common practice; needs no correction, it is kept and not compared).
    """
    combining = next((s.id for s in batch.steps if s.plan and s.plan.do == "combine"), "")
    order = [s.id for s in batch.steps]
    after = _combined(batch)
    if step and combining and step in order:
        after = order.index(step) > order.index(combining)
    if emulsion in ("gel", "solution", "surfactant"):
        return "product", ()
    if not after:
        return "water phase", ()
    if emulsion == "water-in-oil":
        return "finished emulsion", (
            "The pH of a finished water-in-oil emulsion says nothing: the electrode meets oil."
            " It is kept as you wrote it and compared with nothing.",
        )
    return "finished emulsion", ()


def _ph(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    match = _PH.fullmatch(said)
    if not match:
        return None
    value, rest = _decimal(match[1]), match[2].strip()
    at = re.search(rf"\bat\s+({_NUMBER})\s*(?:°\s*C|C)\b", rest)
    medium = of or re.sub(r"^of\s+(the\s+)?", "", re.sub(r"\bat\s+\S+.*$", "", rest).strip())
    remarks: tuple[str, ...] = ()
    if not medium:
        medium, remarks = medium_of_ph(batch, emulsion, step)
    elif emulsion == "water-in-oil" and "water" not in medium:
        _, remarks = medium_of_ph(batch, emulsion, batch.steps[-1].id if batch.steps else "")
    if not 0 <= value <= 14:
        remarks = (*remarks, f"{value} is outside of 0 to 14; look at the meter again.")
    data: dict[str, Any] = {"reading": "pH", "value": value, "of": medium}
    if step:
        data["step"] = step
    if at:
        data["at"] = Quantity(_decimal(at[1]), "°C")
    return Entry("readings", data, f"pH {value} of the {medium}", remarks=remarks)


def _type(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    match = _TYPE.fullmatch(said)
    if not match:
        return None
    seen = _TYPES.get(match[1].lower(), match[1].lower())
    data: dict[str, Any] = {"reading": "emulsion type", "seen": seen}
    if match[2]:
        data["by"] = match[2]
    remarks: tuple[str, ...] = ()
    if seen in _TYPES.values() and seen != emulsion:
        remarks = (f"It is meant to be {emulsion}.",)
    if not match[2]:
        remarks = (
            *remarks,
            "How was it seen? Two tests tell more than one: a drop in water, in oil.",
        )
    by = f", by {match[2]}" if match[2] else ""
    return Entry("readings", data, f"emulsion type {seen}{by}", remarks=remarks)


def _room(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    match = _ROOM.fullmatch(said)
    if not match:
        return None
    data: dict[str, Any] = {"temperature": Quantity(_decimal(match[1]), "°C")}
    told = f"room at {match[1]} °C"
    if match[3]:
        data["humidity"] = Quantity(_decimal(match[3]), "%")
        told += f", {match[3]} % humidity"
    return Entry("room", data, told)


def _first_step(batch: Batch, acts: Collection[str], key: str) -> str:
    """The first step of some acts whose key is still unrecorded, else the last of them."""
    steps = [s for s in batch.steps if s.plan and s.plan.do in acts]
    open_ = [s for s in steps if s.done is None or getattr(s.done, key) is None]
    chosen = open_ or steps[-1:]
    return chosen[0].id if chosen else ""


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


def _phase_temperatures(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    phases = {line.phase for line in batch.lines}
    body, named = _leading_step(said, batch)
    found = list(_TEMPERATURE.finditer(body))
    if not found or any(m[1] not in phases for m in found):
        return None
    if re.sub(r"[\s,;and]+", "", _TEMPERATURE.sub("", body)):
        return None
    step = step or named or _added_in(batch, {m[1] for m in found})
    step = step or _first_step(batch, ("heat", "melt", "combine"), "temperatures")
    if not step:
        return None
    temperatures = {
        m[1]: Quantity(_decimal(m[2]), "°F" if m[3] and m[3].endswith("F") else "°C") for m in found
    }
    told = ", ".join(f"phase {phase} at {value}" for phase, value in temperatures.items())
    plan = next((s.plan for s in batch.steps if s.id == step), None)
    place = f" {_WHEN[plan.do]}" if plan and plan.do in _WHEN else ""
    return Entry("step", {"temperatures": temperatures}, f"{told}{place} ({step})", step=step)


def _leading_step(said: str, batch: Batch) -> tuple[str, str]:
    """A phrase without the step id or act at its front, and the step that was named."""
    word, _, rest = said.partition(" ")
    for known in batch.steps:
        if word == known.id:
            return rest, known.id
    acts = [s for s in batch.steps if s.plan and s.plan.do == word.lower()]
    if acts:
        open_ = [s for s in acts if s.done is None]
        return rest, (open_ or acts[-1:])[0].id
    return said, ""


def _step_figures(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    """`combine 6 min`, `s2 speed 3`, `mixed 5 min`, `blender 9000 rpm`."""
    body, named = _leading_step(said, batch)
    body = re.sub(r"^(took|for|over|in)\s+", "", body)
    speed = _SPEED.fullmatch(body)
    if speed and (step or named or _first_step(batch, ("combine", "mix", "whip"), "speed")):
        where = step or named or _first_step(batch, ("combine", "mix", "whip"), "speed")
        value = (speed[2] or speed[4]).strip()
        return Entry("step", {"speed": value}, f"speed {value} ({where})", step=where)
    mixed = re.fullmatch(rf"mixed\s+(?:for\s+)?({_DURATION.pattern})", body, re.IGNORECASE)
    if mixed:
        where = step or named or _first_step(batch, ("combine", "mix", "whip"), "mixed")
        if where:
            span = _span(mixed[1])
            return Entry("step", {"mixed": span}, f"mixed {span} ({where})", step=where)
    duration = _DURATION.fullmatch(body)
    if duration and (step or named):
        where = step or named
        span = _span(body)
        return Entry("step", {"took": span}, f"took {span} ({where})", step=where)
    return None


def _span(text: str) -> Quantity:
    match = _DURATION.fullmatch(text.strip())
    assert match is not None
    return parse_quantity(f"{match[1].replace(',', '.')} {match[2].lower()}", "time")


def _other_reading(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    match = _READING.fullmatch(said)
    if not match or match[1].lower() not in READINGS:
        return None
    name = match[1].lower()
    unit, rest = match[3] or READINGS[name], match[4]
    try:
        parsed = parse_quantity(f"{match[2].replace(',', '.')} {unit}")
    except QuantityError:
        return None
    data: dict[str, Any] = {"reading": name, "value": parsed.value, "unit": parsed.unit}
    medium = of or re.sub(r"^of\s+(the\s+)?", "", rest)
    if medium:
        data["of"] = medium
    if step:
        data["step"] = step
    return Entry("readings", data, f"{name} {parsed}{f' of the {medium}' if medium else ''}")


def split_phrases(texts: Sequence[str]) -> list[str]:
    """Several things said in one go: `pH 5.4; A 71 B 69` are two."""
    return [part.strip() for text in texts for part in text.split(";") if part.strip()]
