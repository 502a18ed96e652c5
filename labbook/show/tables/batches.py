"""Batches, what they were made from, their lines, and what was weighed, as tables."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.model.batch import Batch
from labbook.show.tables.held import TOOLS, Held
from labbook.show.tables.shape import (
    Column,
    Link,
    Row,
    Table,
    Value,
    amount,
    at,
    link,
    measured,
    moment,
    typed,
)
from labbook.trade.weighing import entries

OF_LINE = Link(("batch", "line"), "batch_lines", ("batch", "line"))


def _batches(held: Held) -> Iterator[Row]:
    for batch in held.made:
        yield {"batch": batch.id, "known": "in the notebook", **_batch(held, batch)}
    for name in held.absent_batches:
        yield {"batch": name, "known": "named only"}


def _batch(held: Held, batch: Batch) -> dict[str, Value]:
    row: dict[str, Value] = {
        "short": batch.short,
        "state": batch.state,
        "known_from": batch.known_from,
        "maker": batch.maker,
        "aim": batch.aim,
        "changes": batch.changes,
        "asks": " ".join(batch.asks) or None,
        "formula": held.code_of(batch),
        "version": held.content_of(batch),
        "trial_of": batch.formula.trial_of,
        "digest": batch.formula.digest,
        "session": batch.session,
        "dropped": batch.dropped.why if batch.dropped else None,
        "corrections": len(batch.corrections),
        "public": batch.public,
        "notes": batch.notes,
        **at("made", batch.made),
        **at("closed", batch.closed),
        **amount("size", batch.size),
        **amount("yield", batch.yield_),
    }
    if batch.room is not None:
        row |= amount("room_temperature", batch.room.temperature)
        row |= typed("room_humidity", batch.room.humidity)
    if batch.tools is not None:
        row |= {tool: getattr(batch.tools, tool) for tool in TOOLS}
    return row


def _parents(held: Held) -> Iterator[Row]:
    for batch in held.made:
        for position, parent in enumerate(batch.from_, start=1):
            yield {
                "batch": batch.id,
                "position": position,
                "parent": parent.batch,
                "how": parent.how,
                **amount("mass", parent.mass),
            }


def _lines(held: Held) -> Iterator[Row]:
    for batch in held.made:
        for position, line in enumerate(batch.lines, start=1):
            yield {
                "batch": batch.id,
                "line": line.id,
                "position": position,
                "phase": line.phase,
                "ingredient": held.id_of(line.sheet),
                "written": line.ingredient,
                "percent": line.percent,
                "qs": bool(line.qs),
                "adjust": line.adjust,
                "role": line.role,
                **amount("target", line.target),
            }


def _weighings(held: Held) -> Iterator[Row]:
    for batch in held.made:
        lines = {line.id: line for line in batch.lines}
        for entry in entries(batch)[0]:
            now = entry.now
            line = lines.get(now.line or "")
            name = line.sheet if line else now.ingredient
            yield {
                "batch": batch.id,
                "weighing": now.id,
                "line": line.id if line else None,
                "ingredient": held.id_of(name) if name else None,
                "phase": line.phase if line else now.phase,
                "lot": now.lot,
                "premix": now.batch,
                "balance": now.balance,
                "as_target": bool(now.as_target),
                "known_from": now.known_from,
                "counts": entry.counts,
                "struck": now.struck,
                "corrected": bool(entry.corrections),
                "note": now.note,
                **(amount("mass", now.mass) if entry.mass is not None else {}),
                **amount("first_mass", entry.first.mass),
                **at("time", now.time),
            }


BATCHES = Table(
    "batches",
    "One row for each batch, as it stands after its corrections.",
    (
        Column("batch", "its full id"),
        Column("known", "`in the notebook`, or `named only` by another batch or by jars"),
        Column("short", "the two characters that are large on the jar"),
        Column("state", "open or closed"),
        *moment("made", "when it was made"),
        Column("known_from", "`paper` or `memory` where it was written down later"),
        Column("maker", "who made it", private=True),
        Column("aim", "what it was made for"),
        Column("changes", "what was meant to change"),
        Column("asks", "the failed and the good batch that it was made to tell apart"),
        Column("formula", "its formula"),
        Column("version", "the content that it was made from"),
        Column("trial_of", "the number of the version that a trial departs from", "integer"),
        Column("digest", "SHA-256 of that content"),
        *measured("size", "its size", "mass"),
        *measured("yield", "what came out", "mass"),
        *moment("closed", "when it was closed"),
        Column("session", "batches of one session share their day's air, hands and heat"),
        *measured("room_temperature", "of the room", "temperature"),
        *measured("room_humidity", "of the room", ""),
        *(Column(tool, f"the {tool}") for tool in TOOLS),
        Column("dropped", "why it is out of every list; blank for most"),
        Column("corrections", "how many corrections it has", "integer"),
        Column("public", "whether it is published"),
        Column("notes", "the maker's notes"),
    ),
    ("batch",),
    _batches,
    (
        link("formula", "formulas"),
        link("version", "versions"),
        *(link(tool, "equipment", "equipment") for tool in TOOLS),
    ),
)
PARENTS = Table(
    "batch_parents",
    "One row for each batch that another was split from, reworked from, or made beside.",
    (
        Column("batch", "the later batch"),
        Column("position", "its place in the list, from 1", "integer"),
        Column("parent", "the earlier batch"),
        Column("how", "split, rework or control"),
        *measured("mass", "how much of it went in", "mass"),
    ),
    ("batch", "position"),
    _parents,
    (link("batch", "batches"), link("parent", "batches", "batch")),
)
LINES = Table(
    "batch_lines",
    "One row for each line of a batch, as it was resolved when the batch was opened.",
    (
        Column("batch", "the batch"),
        Column("line", "the line's id"),
        Column("position", "its place, from 1", "integer"),
        Column("phase", "the phase's letter"),
        Column("ingredient", "the ingredient, by its permanent id"),
        Column("written", "its name when the batch was opened"),
        Column("percent", "percent by weight, q.s. worked out", "number"),
        Column("qs", "whether this line filled up to 100 %", "boolean"),
        Column("adjust", "what it is added to reach"),
        Column("role", "what it does here"),
        *measured("target", "what was to be weighed", "mass"),
    ),
    ("batch", "line"),
    _lines,
    (link("batch", "batches"), link("ingredient", "ingredients")),
)
WEIGHINGS = Table(
    "weighings",
    "One row for each weighing, struck ones too, as it stands after corrections.",
    (
        Column("batch", "the batch"),
        Column("weighing", "its id; that of the correction where it was told later"),
        Column("line", "the line that it is of; blank where no line foresaw it"),
        Column("ingredient", "the ingredient, by its permanent id"),
        Column("phase", "the phase's letter"),
        *measured("mass", "what the balance showed, after corrections", "mass"),
        *measured("first_mass", "what was written down first", "mass"),
        Column("counts", "whether it went into the vessel: a struck one did not", "boolean"),
        Column("struck", "why it was struck"),
        Column("corrected", "whether a correction touches it", "boolean"),
        Column("as_target", "taken as the target, not read", "boolean"),
        Column("lot", "the pack that it came from"),
        Column("premix", "the batch that it came from, where it is a premix"),
        Column("balance", "the balance"),
        *moment("time", "when"),
        Column("known_from", "`paper` or `memory` where it was written down later"),
        Column("note", "what else was written; may name a person", private=True),
    ),
    ("batch", "weighing"),
    _weighings,
    (
        link("batch", "batches"),
        OF_LINE,
        link("ingredient", "ingredients"),
        link("lot", "lots"),
        link("premix", "batches", "batch"),
        link("balance", "equipment", "equipment"),
    ),
)
TABLES = (BATCHES, PARENTS, LINES, WEIGHINGS)
