"""A batch as it stands after its corrections: steps, room, tools, session, what was read and said.

A correction names what it is `of`: the id of an entry, `room`, `tools`, `batch` (its session and
yield), `readings` for a reading that nobody had written down while the batch was open, or the id
of a line that has no weighing. Weighings that are in the file are read by `trade.weighing`, which
keeps their first figure beside.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator
from dataclasses import fields, replace
from decimal import Decimal
from functools import cache
from typing import Any, get_args, get_type_hints

from labbook.model.batch import Batch, BatchStep, Correction, Done, Reading, Room, Tools, Weighing
from labbook.model.fields import Parsed, key_of
from labbook.model.quantities import QuantityError, parse_quantity

TEMPERATURES = "temperatures"
OF_BATCH = ("session", "yield")
"""What may be learned later of the batch as a whole."""

_HOLDERS: dict[str, tuple[str, type[Any]]] = {"room": ("room", Room), "tools": ("tools", Tools)}
_LISTS = ("readings", "deviations", "remarks")
_FIGURE = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)(?:\s+(\S.*))?", re.ASCII)
_UNTOUCHED = frozenset({"id", "time"})


def standing(batch: Batch) -> Batch:
    """The batch with its corrections applied; they stay in its list.

    The last one of a key stands. A value that can't be read as what its key takes is unknown.
    Applied again it changes nothing.
    """
    if not batch.corrections:
        return batch
    last = {(one.of, one.key): one.id for one in batch.corrections}
    now = batch
    for one in batch.corrections:
        if one.of == "readings" or last[one.of, one.key] == one.id:
            now = _after(now, one)
    return now


def _after(batch: Batch, one: Correction) -> Batch:
    key, text = one.key or "", (one.now or "").strip()
    if one.of in _HOLDERS:
        name, record = _HOLDERS[one.of]
        held = getattr(batch, name) or record()
        changed = put(held, key, text)
        return batch if changed == held else replace(batch, **{name: changed})
    if one.of == "batch":
        return put(batch, key, text) if key in OF_BATCH else batch
    if one.of == "readings":
        known = any(reading.id == one.id for reading in batch.readings)
        return batch if known else replace(batch, readings=(*batch.readings, later_reading(one)))
    if any(line.id == one.of for line in batch.lines):
        return _weighed_later(batch, one)
    lists: dict[str, Any] = {
        name: tuple(put(e, key, text) if e.id == one.of else e for e in getattr(batch, name))
        for name in _LISTS
    }
    steps = tuple(_step(s, key, text) if s.id == one.of else s for s in batch.steps)
    return replace(batch, steps=steps, **lists)


def _step(step: BatchStep, key: str, text: str) -> BatchStep:
    done = step.done or Done()
    name, _, phase = key.partition(" ")
    if name == TEMPERATURES and phase:
        held = dict(done.temperatures or {})
        value = typed_as(Done, TEMPERATURES, text)
        if value is None:
            held.pop(phase, None)
        else:
            held[phase] = value
        changed = replace(done, temperatures=held or None)
    else:
        changed = put(done, key, text)
    return step if changed == done else replace(step, done=changed)


def _weighed_later(batch: Batch, one: Correction) -> Batch:
    """A weight that nobody had written down; the last one of a line stands."""
    later = {c.id for c in batch.corrections if c.of == one.of and c.key == "mass"}
    others = tuple(w for w in batch.weighings if w.id not in later)
    held = any(w.line == one.of and w.struck is None for w in others)
    if held or one.id not in later or any(w.id == one.of for w in others):
        return batch
    try:
        mass = parse_quantity(one.now or "", "mass", default="g")
    except QuantityError:
        return replace(batch, weighings=others)
    own = Weighing(id=one.id, line=one.of, mass=mass, known_from=one.known_from)
    return replace(batch, weighings=(*others, own))


def unreadable(batch: Batch) -> Iterator[tuple[int, str]]:
    """The corrections, by their place in the list, that can't be followed, with the reason."""
    entries: tuple[Any, ...] = (
        *batch.readings,
        *batch.deviations,
        *batch.remarks,
        *batch.weighings,
    )
    kinds: dict[str, Any] = {entry.id: type(entry) for entry in entries}
    kinds |= {step.id: Done for step in batch.steps} | {"room": Room, "tools": Tools}
    kinds |= {one.id: Reading for one in batch.corrections if one.of == "readings"}
    lines = {line.id for line in batch.lines}
    for index, one in enumerate(batch.corrections):
        kind, key, text = kinds.get(one.of), one.key or "", (one.now or "").strip()
        if one.of == "batch" and key in OF_BATCH:
            kind = Batch
        elif one.of in lines and key == "mass":
            kind = Weighing
        elif one.of == "readings":
            continue
        if kind is None:
            yield index, f"{one.id} is of {one.of}, which the batch doesn't have"
            continue
        name, _, phase = key.partition(" ")
        field = TEMPERATURES if kind is Done and name == TEMPERATURES else field_of(kind, key)
        if not field or (field == TEMPERATURES and not phase):
            yield index, f"{one.id}: {one.of} has no {key or 'key'}"
        elif (
            text and typed_as(kind, field, f"{text} g" if _bare(kind, key, text) else text) is None
        ):
            yield index, f"{one.id}: {text} is no {key} of {one.of}"


def _bare(kind: Any, key: str, text: str) -> bool:
    """Whether a mass leaves its unit out: then it is g."""
    return kind is Weighing and key == "mass" and text.replace(".", "", 1).isdigit()


# Readings that were learned later ----------------------------------------------------------------


def reading_key(reading: str, of: str | None) -> str:
    """The key of a later reading: its name and what it was taken in."""
    return f"{reading} of {of}" if of else reading


def later_reading(one: Correction) -> Reading:
    """The reading that a correction of `readings` tells, under the correction's id.

    Its figure has its unit behind it; other text is what was seen.
    """
    name, _, of = (one.key or "").partition(" of ")
    text = (one.now or "").strip()
    figure = _FIGURE.fullmatch(text)
    value = Decimal(figure[1]) if figure else None
    return Reading(
        id=one.id,
        reading=name,
        value=value,
        unit=figure[2] if figure else None,
        seen=None if figure else text or None,
        of=of or None,
        known_from=one.known_from,
    )


# Keys and what they take -------------------------------------------------------------------------


def field_of(record: Any, key: str) -> str:
    """The field that a key of a file means; empty where the record has none that takes a value."""
    names = (f.name for f in fields(record) if f.name not in _UNTOUCHED and key_of(f.name) == key)
    name = next(names, "")
    return name if name and parser_of(record, name) else ""


@cache
def parser_of(record: Any, field: str) -> Callable[[str], Any] | None:
    """What reads a field's text (of a group of keys: one key's); None for a record of its own."""
    kinds = [get_type_hints(record, include_extras=True)[field]]
    while kinds:
        for part in get_args(kinds.pop()):
            if isinstance(part, Parsed):
                return part.parse
            kinds.append(part)
    return None


def typed_as(record: Any, field: str, text: str) -> Any:
    """The value that a text means in a field; None for an empty text, and for one it can't take."""
    parse = parser_of(record, field)
    if parse is None or not text:
        return None
    try:
        return parse(text)
    except ValueError:
        return None


def put(record: Any, key: str, text: str) -> Any:
    """A record with one key as a text says; what it doesn't have, or must have, stays."""
    kind: Any = type(record)
    field = field_of(kind, key)
    if not field or field == TEMPERATURES:
        return record
    value = typed_as(kind, field, text)
    if value is None and field in _required(kind):
        return record
    return replace(record, **{field: value})


@cache
def _required(record: Any) -> frozenset[str]:
    return frozenset(
        name
        for name, hint in get_type_hints(record, include_extras=True).items()
        if type(None) not in get_args(hint)
    )


# Which step is meant -----------------------------------------------------------------------------


MIXING = ("combine", "mix", "whip")
"""The acts that a speed or a time of mixing belongs to where nobody names the step."""


def first_lacking(batch: Batch, acts: Collection[str], field: str) -> str:
    """The first step of some acts whose field is unrecorded, else the last of them, by its id."""
    steps = [s for s in batch.steps if s.plan and s.plan.do in acts]
    lacking = [s for s in steps if s.done is None or getattr(s.done, field) is None]
    chosen = lacking or steps[-1:]
    return chosen[0].id if chosen else ""
