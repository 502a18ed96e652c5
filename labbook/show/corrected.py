"""Corrections in words: what was corrected, and the first figure beside the later one."""

from __future__ import annotations

from labbook.model.batch import Batch, Correction, Reading
from labbook.trade.standing import TEMPERATURES, reading_key


def entry_words(batch: Batch, entry: str, key: str) -> str:
    """What a correction is of: `sunflower-oil (w3)`, `pH (r1)`, `combine (s3) speed`, `mixer`."""
    if entry in ("tools", "batch", "readings"):
        return key
    if entry == "room":
        return f"room {key}"
    lines = {line.id: line.ingredient for line in batch.lines}
    names = {w.id: lines.get(w.line or "", w.ingredient or "something") for w in batch.weighings}
    if entry in names or entry in lines:
        name = names.get(entry) or lines[entry]
        return f"{name} ({entry})" + ("" if key == "mass" else f" {key}")
    later = {one.id: (one.key or "") for one in batch.corrections if one.of == "readings"}
    readings = {one.id: one.reading for one in batch.readings} | later
    if entry in readings:
        return f"{readings[entry]} ({entry})" + ("" if key == "value" else f" {key}")
    for step in batch.steps:
        if step.id == entry:
            name, _, phase = key.partition(" ")
            told = f"temperature of {phase}" if name == TEMPERATURES and phase else key
            return f"{step.plan.do if step.plan else 'step'} ({entry}) {told}"
    return f"{entry} {key}".strip()


def correction_words(batch: Batch, one: Correction) -> str:
    """A correction in one line: both figures, the reason, and where it is known from."""
    known = f", from {one.known_from}" if one.known_from else ""
    change = f"{one.was or '-'} → {one.now or '-'}"
    return f"{entry_words(batch, one.of, one.key or '')}: {change}, {one.why}{known}"


def marks_of(batch: Batch, of: str) -> dict[str, str]:
    """What stands behind each corrected value of an entry, by key: the first figure."""
    found: dict[str, str] = {}
    for one in batch.corrections:
        if one.of == of and one.key:
            first = f"first {one.was}" if one.was else "not written down before"
            found.setdefault(one.key, f" (corrected, {first})")
    return found


def reading_mark(batch: Batch, reading: Reading) -> str:
    """The mark of a reading: that of its value, or that it was told later."""
    marks = marks_of(batch, reading.id)
    told = marks.get("value") or marks.get("seen")
    later = marks_of(batch, "readings").get(reading_key(reading.reading, reading.of), "")
    own = any(one.id == reading.id for one in batch.corrections)
    return told or (later if own else "")
