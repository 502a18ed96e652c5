"""Steps as planned and as done, readings, remarks and corrections of batches, as tables."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.model.batch import Correction, Done
from labbook.show.tables.formulas import STEP_COLUMNS, step_cells
from labbook.show.tables.held import Held
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
)

PRIVATE_KEYS = frozenset({"by", "who", "place", "given to"})
"""Keys of entries whose corrections may name a person, as their columns may."""

OF_STEP = Link(("batch", "step"), "steps", ("batch", "step"))


def _steps(held: Held) -> Iterator[Row]:
    for batch in held.made:
        for position, step in enumerate(batch.steps, start=1):
            planned = step_cells(step.plan) if step.plan else {}
            yield {
                "batch": batch.id,
                "step": step.id,
                "position": position,
                **{f"plan_{name}": value for name, value in planned.items()},
                **(_done(step.done) if step.done else {}),
            }


def _done(done: Done) -> dict[str, Value]:
    return {
        "speed": done.speed,
        "rate": done.rate,
        "tool": done.with_,
        "seen": done.seen,
        "skipped": done.skipped,
        "known_from": done.known_from,
        **at("started", done.started),
        **at("ended", done.ended),
        **amount("took", done.took),
        **amount("hold", done.hold),
        **amount("mixed", done.mixed),
        **amount("stirred_until", done.stirred_until),
    }


def _temperatures(held: Held) -> Iterator[Row]:
    for batch in held.made:
        for step in batch.steps:
            planned = (step.plan.set if step.plan else None) or {}
            done = (step.done.temperatures if step.done else None) or {}
            for phase in dict.fromkeys((*planned, *done)):
                yield {
                    "batch": batch.id,
                    "step": step.id,
                    "phase": phase,
                    **amount("planned", planned.get(phase)),
                    **amount("read", done.get(phase)),
                }


def _readings(held: Held) -> Iterator[Row]:
    for batch in held.made:
        steps = {step.id for step in batch.steps}
        told = {one.of for one in batch.corrections} | {one.id for one in batch.corrections}
        for one in batch.readings:
            yield {
                "batch": batch.id,
                "entry": one.id,
                "reading": one.reading,
                "value": one.value,
                "unit": one.unit,
                "uncertainty": one.uncertainty,
                "seen": one.seen,
                "medium": one.of,
                "step": one.step if one.step in steps else None,
                "meter": one.with_,
                "by": one.by,
                "known_from": one.known_from,
                "struck": one.struck,
                "corrected": one.id in told,
                "note": one.note,
                **amount("sample_temperature", one.at),
                **amount("rest", one.rest),
                **at("time", one.time),
            }


def _remarks(held: Held) -> Iterator[Row]:
    for batch in held.made:
        steps = {step.id for step in batch.steps}
        lines = {line.id for line in batch.lines}
        for deviation in batch.deviations:
            yield {
                "batch": batch.id,
                "entry": deviation.id,
                "kind": "deviation",
                "text": deviation.text,
                "step": deviation.step if deviation.step in steps else None,
                "line": deviation.line if deviation.line in lines else None,
                "known_from": deviation.known_from,
                **at("time", deviation.time),
            }
        for remark in batch.remarks:
            if remark.private and not held.private:
                continue
            yield {
                "batch": batch.id,
                "entry": remark.id,
                "kind": "remark",
                "text": remark.text,
                "step": remark.step if remark.step in steps else None,
                "known_from": remark.known_from,
                **at("time", remark.time),
            }


def _corrections(held: Held) -> Iterator[Row]:
    for name in held.every_batch:
        batch, stability = held.batches.get(name), held.stability.get(name)
        hidden = {one.id for one in batch.remarks if one.private} if batch else set()
        for one in batch.corrections if batch else ():
            shown = held.private or (one.of not in hidden and one.key not in PRIVATE_KEYS)
            yield {"batch": name, "about": "making", **_correction(one, shown=shown)}
        for one in stability.corrections if stability else ():
            shown = held.private or one.key not in PRIVATE_KEYS
            yield {"batch": name, "about": "looks", **_correction(one, shown=shown)}


def _correction(one: Correction, *, shown: bool) -> dict[str, Value]:
    """The cells of a correction; of a private value only that there is one."""
    return {
        "entry": one.id,
        "of_entry": one.of,
        "key": one.key,
        "was": one.was if shown else None,
        "now": one.now if shown else None,
        "why": one.why if shown else None,
        "who": one.who,
        "known_from": one.known_from,
        **at("time", one.time),
    }


STEPS = Table(
    "steps",
    "One row for each step of a batch: as planned (`plan_`), and as done; blank is not recorded.",
    (
        Column("batch", "the batch"),
        Column("step", "the step's id"),
        Column("position", "its place, from 1", "integer"),
        *(Column(f"plan_{one.name}", f"planned: {one.means}", one.type) for one in STEP_COLUMNS),
        *moment("started", "when it began"),
        *moment("ended", "when it ended"),
        *measured("took", "how long it took", "time"),
        *measured("hold", "how long the set point was held", "time"),
        *measured("mixed", "how long it was mixed", "time"),
        Column("speed", "the speed, as written"),
        Column("rate", "how fast it was poured, in words"),
        Column("tool", "the tool"),
        *measured("stirred_until", "down to which temperature it was stirred", "temperature"),
        Column("seen", "what was seen"),
        Column("skipped", "why it was not done"),
        Column("known_from", "`paper` or `memory` where it was written down later"),
    ),
    ("batch", "step"),
    _steps,
    (link("batch", "batches"),),
)
TEMPERATURES = Table(
    "temperatures",
    "One row for each phase of a step that has a set point or was read.",
    (
        Column("batch", "the batch"),
        Column("step", "the step's id"),
        Column("phase", "the phase's letter"),
        *measured("planned", "the set point", "temperature"),
        *measured("read", "what was read", "temperature"),
    ),
    ("batch", "step", "phase"),
    _temperatures,
    (OF_STEP,),
)
READINGS = Table(
    "readings",
    "One row for each reading taken while making, struck ones too, after corrections.",
    (
        Column("batch", "the batch"),
        Column("entry", "its id; that of the correction where it was told later"),
        Column("reading", "what was read: pH, viscosity, emulsion type …"),
        Column("value", "the figure as typed", "number"),
        Column("unit", "its unit"),
        Column("uncertainty", "how far off it may be, in the same unit", "number"),
        Column("seen", "what was seen, where it is no figure"),
        Column("medium", "what it was measured in; a pH belongs to its phase"),
        Column("step", "the step"),
        Column("meter", "the meter"),
        Column("by", "how it was taken; may name a person", private=True),
        *measured("sample_temperature", "the sample's temperature", "temperature"),
        *measured("rest", "how long the sample had stood", "time"),
        *moment("time", "when"),
        Column("known_from", "`paper` or `memory` where it was written down later"),
        Column("struck", "why it was struck"),
        Column("corrected", "whether a correction touches it", "boolean"),
        Column("note", "what else was written"),
    ),
    ("batch", "entry"),
    _readings,
    (link("batch", "batches"), OF_STEP, link("meter", "equipment", "equipment")),
)
REMARKS = Table(
    "remarks",
    "One row for each deviation from the method and each remark; private remarks only if asked.",
    (
        Column("batch", "the batch"),
        Column("entry", "its id"),
        Column("kind", "`deviation` or `remark`"),
        Column("text", "the words"),
        Column("step", "the step"),
        Column("line", "the line"),
        *moment("time", "when"),
        Column("known_from", "`paper` or `memory` where it was written down later"),
    ),
    ("batch", "entry"),
    _remarks,
    (link("batch", "batches"), OF_STEP, Link(("batch", "line"), "batch_lines", ("batch", "line"))),
)
CORRECTIONS = Table(
    "corrections",
    "One row for each correction; the other tables hold what stands after it.",
    (
        Column("batch", "the batch"),
        Column("about", "`making` or `looks`"),
        Column("entry", "its id"),
        Column("of_entry", "the entry that it corrects, or `room`, `tools`, `batch`, `readings`"),
        Column("key", "which value"),
        Column("was", "the first value"),
        Column("now", "the later one; blank where it was taken away"),
        Column("why", "the reason"),
        Column("who", "who corrected", private=True),
        *moment("time", "when"),
        Column("known_from", "`paper` or `memory` where it is known from there"),
    ),
    ("batch", "about", "entry"),
    _corrections,
    (link("batch", "batches"),),
)
TABLES = (STEPS, TEMPERATURES, READINGS, REMARKS, CORRECTIONS)
