"""Where a value of a bench sheet stands in the batch: a step's, the room's, what came out. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from labbook.model.batch import Batch, BatchStep, Done, Room
from labbook.trade.bench_places import keys_of, temperature_places
from labbook.trade.standing import field_of
from labbook.work.sheet_entries import Placed

Where = tuple[tuple[str | int, ...], Any, Any, str]
"""The keys of a place in the file, the record it is of, what stands there, and its name."""


def where_of(batch: Batch, item: Placed) -> Where | None:
    """Where a value goes; None where the batch has no such place."""
    if item.place == "room" and item.key in ("temperature", "humidity"):
        held = getattr(batch.room, item.key) if batch.room else None
        return ("room", item.key), Room, held, f"room {item.key}"
    if (item.place, item.key) == ("batch", "yield"):
        return ("yield",), Batch, batch.yield_, "yield"
    for index, step in enumerate(batch.steps):
        if item.place != f"step {step.id}":
            continue
        done = step.done or Done()
        above: tuple[str | int, ...] = ("steps", index, "done")
        name = item.key.removeprefix("temperature ")
        phases = {line.phase for line in batch.lines}
        if name != item.key and name in temperature_places(step, phases):
            keys = (*above, "temperatures", name)
            return keys, Done, (done.temperatures or {}).get(name), f"{step.id} {name}"
        if item.key in ("started", "ended", *keys_of(step)):
            held = getattr(done, field_of(Done, item.key) or item.key)
            return (*above, item.key), Done, held, f"{step.id} {item.key}"
    return None


def with_value(batch: Batch, item: Placed, value: Any) -> Batch:
    """The batch with a value in its place."""
    if item.place == "room":
        return replace(batch, room=replace(batch.room or Room(), **{item.key: value}))
    if item.place == "batch":
        return replace(batch, yield_=value)
    steps = (
        _step_with(step, item.key, value) if item.place == f"step {step.id}" else step
        for step in batch.steps
    )
    return replace(batch, steps=tuple(steps))


def _step_with(step: BatchStep, key: str, value: Any) -> BatchStep:
    return replace(step, done=_done_with(step.done or Done(), key, value))


def _done_with(done: Done, key: str, value: Any) -> Done:
    if key.startswith("temperature "):
        held = {**(done.temperatures or {}), key.removeprefix("temperature "): value}
        return replace(done, temperatures=held)
    return replace(done, **{field_of(Done, key) or key: value})
