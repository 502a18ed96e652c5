"""What a maker says at the bench, recognised: `pH 5.4`, `A 71 B 58`, `combine 6 min`, `2 drops …`.

Pure: text in, one entry out. Numbers typed here may have a decimal comma. What isn't recognised is
kept word for word as a remark; nothing that is said is refused.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from labbook.model.batch import Batch
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.sheets import fold
from labbook.work.measured import drop_test, measured
from labbook.work.phrases_of_pots import said_of_pots
from labbook.work.phrases_of_steps import (
    NUMBER,
    Entry,
    decimal,
    named_phase,
    phase_temperatures,
    step_figures,
)

_PH = re.compile(rf"pH\s*[:=]?\s*({NUMBER})\s*(.*)", re.IGNORECASE | re.ASCII)
_ROOM = re.compile(rf"room\s+({NUMBER})\s*(°\s*C|C)?(?:\s+({NUMBER})\s*%)?", re.IGNORECASE)
_DAMP = re.compile(rf"(?:room\s+)?(?:humidity\s+)?({NUMBER})\s*%(?:\s+humidity)?", re.IGNORECASE)
_TOOL = re.compile(r"(mixer|vessel|thermometer|meter|balance)\s*[:=]?\s+(\S.*)", re.IGNORECASE)
_YIELD = re.compile(rf"yield\s*[:=]?\s+({NUMBER}\s*(?:g|kg|oz|lb)?)", re.IGNORECASE)
_READING = re.compile(rf"([a-z][a-z -]*?)\s*[:=]?\s+({NUMBER})\s*([^\s0-9]\S*)?\s*(.*)", re.I)
_TYPE = re.compile(
    r"(?:emulsion )?type\s+(water-in-oil|oil-in-water|w/o|o/w|never formed|unclear)\b[,:]?\s*(.*)",
    re.IGNORECASE,
)
_TYPES = {"w/o": "water-in-oil", "o/w": "oil-in-water"}

READINGS = {
    "viscosity": "mPa s", "spread": "mm", "funnel": "s", "weight": "g", "density": "g/ml",
    "temperature": "°C", "conductivity": "mS/cm", "droplet size": "µm", "evaporated": "g",
}  # fmt: skip
"""Readings by name, with the unit that a bare number has."""


def recognise(
    text: str,
    batch: Batch,
    emulsion: str,
    *,
    of: str = "",
    step: str = "",
    equipment: Mapping[str, str] | None = None,
) -> Entry:
    """The entry that a phrase means.

    Args:
        text: as typed.
        batch: the batch it is about: its steps and phases decide what a bare letter means.
        emulsion: the formula's intended type; decides what an unnamed pH was measured in.
        of: what it was measured in, where the person said so.
        step: the step, where the person named one.
        equipment: the file names of the equipment, by folded names and titles.
    """
    said = " ".join(text.split())
    tool = _tool(said, equipment or {}) or _yield(said, batch)
    if tool is not None:
        return tool
    for reader in (
        _ph,
        _type,
        _drop,
        _measured,
        said_of_pots,
        _room,
        phase_temperatures,
        step_figures,
        _other_reading,
        named_phase,
    ):
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


def _tool(said: str, equipment: Mapping[str, str]) -> Entry | None:
    """`mixer stick-blender`: only what the notebook has; `balance was off` is a remark."""
    match = _TOOL.fullmatch(said)
    name = equipment.get(fold(match[2])) if match else None
    if match is None or name is None:
        return None
    kind = match[1].lower()
    return Entry("tools", {kind: name}, f"{kind} {name}")


def _yield(said: str, batch: Batch) -> Entry | None:
    """What came out, where it is learned after closing; before, `close` asks for it."""
    match = _YIELD.fullmatch(said)
    if match is None or batch.state != "closed":
        return None
    mass = parse_quantity(match[1].replace(",", "."), "mass", default="g")
    return Entry("batch", {"yield": mass}, f"yield {mass}")


def _ph(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    match = _PH.fullmatch(said)
    if not match:
        return None
    value, rest = decimal(match[1]), match[2].strip()
    at = re.search(rf"\bat\s+({NUMBER})\s*(?:°\s*C|C)\b", rest)
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
        data["at"] = Quantity(decimal(at[1]), "°C")
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


def _drop(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    """`drop in water stays`: which phase is the outer one."""
    found = drop_test(said)
    if found is None:
        return None
    return _type(f"type {found[0]} {found[1]}", batch, emulsion, of, step)


def _measured(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    """`spread 41 mm under 200 g for 60 s at 20 C after 24 h`, with how it was taken."""
    found = measured(said)
    if found is None:
        return None
    data: dict[str, Any] = {"reading": found.reading, "value": found.value, "unit": found.unit}
    data |= {key: held for key, held in (("of", of), ("step", step), ("by", found.by)) if held}
    data |= {k: held for k, held in (("at", found.at), ("rest", found.rest)) if held is not None}
    told = [f"{found.reading} {found.value:f} {found.unit}", f"by {found.by}" if found.by else ""]
    told += [f"at {found.at}" if found.at else "", f"after {found.rest}" if found.rest else ""]
    return Entry("readings", data, ", ".join(t for t in told if t), remarks=found.asks)


def _room(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    match = _ROOM.fullmatch(said)
    if not match:
        damp = _DAMP.fullmatch(said)
        if not damp or not re.search("room|humidity", said, re.IGNORECASE):
            return None
        humidity = Quantity(decimal(damp[1]), "%")
        return Entry("room", {"humidity": humidity}, f"room at {damp[1]} % humidity")
    data: dict[str, Any] = {"temperature": Quantity(decimal(match[1]), "°C")}
    told = f"room at {match[1]} °C"
    if match[3]:
        data["humidity"] = Quantity(decimal(match[3]), "%")
        told += f", {match[3]} % humidity"
    return Entry("room", data, told)


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
