"""What a person names to be corrected, and the value typed for it, as the file would take it."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from typing import Any

from labbook.model.batch import Batch, Done, Room, Tools, Weighing
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.fields import key_of
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.sheets import fold
from labbook.trade.standing import OF_BATCH, TEMPERATURES, field_of, parser_of, standing
from labbook.work.bench import Bench

_ENTRY = re.compile(r"([a-z][a-z0-9-]*)\.(\S.*)")
_TOOLS = tuple(field.name for field in fields(Tools))
_HOLDERS: dict[str, type[Any]] = {"room": Room, "tools": Tools}
NOTHING = "-"
"""What is typed to take a value away: nobody knows it after all."""


@dataclass(frozen=True, slots=True)
class Target:
    """A value of a closed batch to be corrected.

    `of` and `key` name it as a correction does; `stands` is what it is today, None where nothing is
    written down; `now` is what it is to be, None where it is taken away.
    """

    of: str
    key: str
    stands: str | None
    now: str | None


def target_of(bench: Bench, batch: Batch, name: str, value: str) -> Target:
    """What `s3.B`, `sunflower-oil`, `r2.value`, `mixer` mean in a batch, with the value typed.

    Raises:
        UnknownName: the batch has no such thing.
        Unclear: the value is of another kind, or the name means several weighings.
    """
    wanted = fold(bench.snapshot.sheets.id_of(name))
    lines = [line.id for line in batch.lines if fold(line.sheet) == wanted or line.id == name]
    if lines:
        return _weight(batch, name, lines, wanted, value)
    if name in _TOOLS:
        return target(bench, batch, "tools", name, value)
    if name in OF_BATCH:
        return target(bench, batch, "batch", name, value)
    if name == "room":
        return target(bench, batch, "room", "temperature", value)
    match = _ENTRY.fullmatch(name)
    if match:
        return target(bench, batch, match[1], match[2], value)
    return _weight(batch, name, lines, wanted, value)


def _weight(batch: Batch, name: str, lines: list[str], wanted: str, value: str) -> Target:
    """The one weighing of an ingredient, or the weight that nobody wrote down for its line."""
    found = [
        w
        for w in batch.weighings
        if not w.struck and (w.line in lines or (w.ingredient and fold(w.ingredient) == wanted))
    ]
    if not lines and not found:
        have = ", ".join(line.ingredient for line in batch.lines)
        raise UnknownName(f"{batch.short} has no {name}.", mend=f"It has: {have}")
    if len(found) > 1 or (not found and len(lines) > 1):
        some = ", ".join(f"{w.id} ({w.mass})" for w in found) or ", ".join(lines)
        times = f"was weighed {len(found)} times" if found else f"is in {len(lines)} lines"
        entry = f"{found[0].id}.mass" if found else lines[0]
        raise Unclear(
            f"{name} {times} in {batch.short}: {some}.",
            mend=f"Name the entry: labbook batch correct {batch.short} {entry}={value}",
        )
    of = found[0].id if found else lines[0]
    first = str(found[0].mass) if found else None
    return Target(of, "mass", stands_as(batch, of, "mass", first), str(mass_of(value)))


def target(bench: Bench, batch: Batch, of: str, typed: str, value: str) -> Target:
    """One key of an entry, a step, the room, the tools, or the batch, with its new value.

    Raises:
        UnknownName: there is no such entry or key.
        Unclear: the value is of another kind.
    """
    now = standing(batch)
    holder = _holder(now, of)
    if holder is None:
        raise UnknownName(f"{batch.short} has no entry {of}.", mend=f"labbook show {batch.short}")
    key = " ".join(typed.replace(".", " ").replace("_", " ").split())
    if isinstance(holder, Done):
        key = _key_of_step(now, of, key)
    record: Any = type(holder)
    field = field_of(record, key)
    phase = key.partition(" ")[2] if key.startswith(f"{TEMPERATURES} ") else ""
    if phase:
        field = TEMPERATURES
    if not field or (of == "batch" and key not in OF_BATCH):
        raise UnknownName(
            f"{of} has no {typed!r} that could be corrected.",
            mend=f"It has: {', '.join(_keys(holder, of))}",
        )
    held = getattr(holder, field)
    held = (held or {}).get(phase) if phase else held
    first = None if held is None else text_of(held)
    stands = stands_as(batch, of, key, first)
    if value == NOTHING:
        if isinstance(holder, Weighing) and field == "mass":
            raise Unclear(f"{of} was weighed.", mend="Strike it: " + f"{of}.struck=WHY")
        return Target(of, key, stands, None)
    if of == "tools":
        value = equipment_named(bench, value)
    if isinstance(holder, Weighing) and field == "mass":
        return Target(of, key, stands, str(mass_of(value)))
    return Target(of, key, stands, _checked(record, field, f"{key} of {of}", value))


def _holder(batch: Batch, of: str) -> Any:
    """What holds the key: an entry, what was done in a step, the room, the tools, the batch."""
    if of == "batch":
        return batch
    if of in _HOLDERS:
        return getattr(batch, of) or _HOLDERS[of]()
    for step in batch.steps:
        if step.id == of:
            return step.done or Done()
    lists = (batch.weighings, batch.readings, batch.deviations, batch.remarks)
    return next((entry for group in lists for entry in group if entry.id == of), None)


def _key_of_step(batch: Batch, step: str, key: str) -> str:
    """A key of what was done, a bare phase being its temperature.

    Raises:
        UnknownName: `temperatures` without a phase.
    """
    if key == TEMPERATURES:
        mend = f"{step}.A=..., one phase at a time"
        raise UnknownName(f"The temperature of which phase in {step}?", mend=mend)
    if not key.startswith(f"{TEMPERATURES} ") and key in phases_of(batch):
        return f"{TEMPERATURES} {key}"
    return key


def phases_of(batch: Batch) -> tuple[str, ...]:
    """The phases that a batch's lines and steps name, in order."""
    found = [line.phase for line in batch.lines]
    for step in batch.steps:
        found += [*((step.plan.set if step.plan else None) or {})]
        found += [*((step.done.temperatures if step.done else None) or {})]
    return tuple(dict.fromkeys(found))


def _keys(holder: Any, of: str) -> list[str]:
    """The keys that could be corrected: of an entry those that it has, of a step all."""
    if of == "batch":
        return list(OF_BATCH)
    names = [f.name for f in fields(holder) if field_of(type(holder), key_of(f.name))]
    if not isinstance(holder, Done | Room | Tools):
        names = [name for name in names if getattr(holder, name) is not None]
    return [f"{TEMPERATURES} A" if name == TEMPERATURES else key_of(name) for name in names]


def stands_as(batch: Batch, of: str, key: str, first: str | None) -> str | None:
    """What a value is today: the last correction of it, else what its entry says."""
    own = [one.now for one in batch.corrections if (one.of, one.key) == (of, key)]
    return own[-1] if own else first


def equipment_named(bench: Bench, typed: str) -> str:
    """The file name of a piece of equipment, typed by it or by its title.

    Raises:
        UnknownName: the notebook has none of that name.
    """
    found = equipment_names(bench).get(fold(typed))
    if found is None:
        have = ", ".join(sorted(bench.snapshot.equipment)) or "none"
        raise UnknownName(f"The notebook has no equipment {typed}.", mend=f"It has: {have}")
    return found


def equipment_names(bench: Bench) -> dict[str, str]:
    """The equipment's file names by themselves and by their titles, folded."""
    tools = bench.snapshot.equipment
    titles = {fold(tool.title): name for name, tool in tools.items() if tool.title}
    return titles | {fold(name): name for name in tools}


def text_of(value: Any) -> str:
    """A value as it would stand in its file."""
    from labbook.notebook.emit import text_of as as_text

    return as_text(value)


def _checked(record: Any, field: str, what: str, typed: str) -> str:
    """A new value as its file would take it: of the kind that this key has.

    Raises:
        Unclear: it is of another kind.
    """
    parse = parser_of(record, field)
    assert parse is not None, "a field without a parser is not offered"
    dotted = re.sub(r"^(-?[0-9]+),([0-9]+)", r"\1.\2", typed)
    value = dotted if re.fullmatch(r"-?[0-9]+[.,][0-9]+.*", typed) else typed
    try:
        return text_of(parse(value))
    except ValueError as error:
        raise Unclear(
            f"{what} can't be that: {error}.",
            mend="The value is written as it would stand in the file.",
        ) from error


def mass_of(text: str) -> Quantity:
    """A mass typed by a person: a bare number is grams, a decimal comma is taken.

    Raises:
        Unclear: it is no mass.
    """
    typed = text.strip()
    if re.match(r"^[0-9]*,[0-9]+(\s|$|[a-z])", typed):
        typed = typed.replace(",", ".", 1)
    if not re.search(r"[0-9]", typed):
        raise Unclear(f"{text!r} is no weight.", mend="A mass is written 12.40 or 12.40 g.")
    if typed.startswith("."):  # as a number pad is typed
        typed = f"0{typed}"
    try:
        return parse_quantity(typed, "mass", default="g")
    except QuantityError as error:
        raise Unclear(f"{error}.", mend="A mass is written 12.40 or 12.40 g.") from error


def guard_said(batch: Batch, said: str, one: Target) -> None:
    """Refuses a correction that changes nothing.

    Raises:
        NotAllowed: the value is that already.
    """
    if one.stands == one.now:
        told = f"is {one.now} already" if one.now else "is not written down anyway"
        raise NotAllowed(f"{said} of {batch.short} {told}; nothing was changed.")
