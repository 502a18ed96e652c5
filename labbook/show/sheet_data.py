"""What the script of a bench sheet page works with: the batch as data inside the page."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from labbook.model.batch import Batch, BatchLine, BatchStep, Done
from labbook.model.fields import key_of
from labbook.model.moments import write_moment
from labbook.model.quantities import Quantity
from labbook.model.results.sheet_page import SheetOf
from labbook.show.sheet_vessels import vessel_data
from labbook.trade.bench_places import phases_joined
from labbook.trade.exact import decimal_text

_FIXED = frozenset({"preservative", "active", "restricted"})


def grams(mass: Quantity) -> str:
    """A mass in g as plain text, with the digits typed where it was typed in g."""
    return decimal_text(mass.exact("g"), mass.value if mass.unit == "g" else None)


def sheet_data(what: SheetOf, post: str) -> str:
    """What the script works with, as JSON that can't end its element."""
    batch = what.batch
    lists: tuple[Sequence[Any], ...] = (batch.weighings, batch.readings, batch.deviations,
                                        batch.remarks)  # fmt: skip
    data: dict[str, Any] = {
        "batch": batch.id,
        "of": batch.formula.name,
        "size": grams(batch.size),
        "readability": f"{what.readability:f}",
        "lines": [_line_data(what, line) for line in batch.lines],
        "weighings": [
            {"id": w.id, "line": w.line, "grams": grams(w.mass), "from": w.batch or ""}
            for w in batch.weighings
            if w.line and not w.struck
        ],
        "added": [
            {"id": w.id, "grams": grams(w.mass)}
            for w in batch.weighings
            if not w.line and not w.struck
        ],
        "steps": [_step_data(step) for step in batch.steps],
        "vessels": vessel_data(batch),
        "values": values_of(batch),
        "known": [entry.id for entries in lists for entry in entries],
    }
    if post:
        data["post"] = post
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _line_data(what: SheetOf, line: BatchLine) -> dict[str, Any]:
    return {
        "id": line.id,
        "ingredient": line.ingredient,
        "phase": line.phase,
        "target": grams(line.target) if line.target else None,
        "fixed": line.role in _FIXED,
        "qs": bool(line.qs),
        "adjust": bool(line.adjust),
        "lot": what.usual.get(line.id, ""),
        "premixes": {
            made.batch.id: decimal_text(made.holds)
            for made in what.premixes.get(line.id, ())
            if made.holds
        },
    }


def _step_data(step: BatchStep) -> dict[str, Any]:
    plan = step.plan
    spans: list[tuple[str, Quantity | None]] = []
    if plan:
        spans = [("hold", plan.hold), ("over", plan.over), ("for", plan.for_),
                 ("then mix", plan.then_mix)]  # fmt: skip
    starts = "hold" if plan and plan.hold and plan.do != "hold" else ""
    return {
        "id": step.id,
        "done": step.done is not None,
        "joins": list(phases_joined(plan)),
        "spans": [
            {
                "words": f"{word} {span}",
                "seconds": int(span.exact("s")),
                "from": starts if word == "hold" else "",
            }
            for word, span in spans
            if span is not None
        ],
    }


def values_of(batch: Batch) -> Mapping[str, str]:
    """What stands in the places of the sheet already, by the page's names of places."""
    found: dict[str, str] = {}
    for step in batch.steps:
        for key, text in _done_texts(step.done):
            found[f"step {step.id}|{key}"] = text
    if batch.room:
        held = {"temperature": batch.room.temperature, "humidity": batch.room.humidity}
        found |= {f"room|{key}": str(value) for key, value in held.items() if value is not None}
    if batch.yield_ is not None:
        found["batch|yield"] = str(batch.yield_)
    return found


def _done_texts(done: Done | None) -> list[tuple[str, str]]:
    if done is None:
        return []
    found = [(f"temperature {name}", str(t)) for name, t in (done.temperatures or {}).items()]
    for field in ("started", "ended"):
        moment = getattr(done, field)
        if moment is not None:
            found.append((field, write_moment(moment)))
    for field in ("hold", "mixed", "speed", "stirred_until", "seen"):
        value = getattr(done, field)
        if value is not None:
            found.append((key_of(field), str(value)))
    return found
