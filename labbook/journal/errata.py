"""Published figures that changed: what, when, why, against the figures of the last publication.

Both states are arguments, so that the same input tells the same. An erratum once told stays told.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from labbook.evidence.sightings import current_looks
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.model.batch import Correction, Done
from labbook.model.fields import QS
from labbook.model.materials import Value
from labbook.model.moments import day_of
from labbook.model.sheets import Sheets
from labbook.show.materials import figure_words
from labbook.trade.standing import TEMPERATURES
from labbook.trade.weighing import entries

Figures = Mapping[str, str]
"""By part (`batch SBC-260122-9T`, `formula SBC`) its figures, each by what it is (`w3 mass`).

They stand as one line of JSON, keys in order: two publications have most lines in common, and none
of these is taken apart.
"""

_line = json.JSONEncoder(sort_keys=True).encode


@dataclass(frozen=True)
class Erratum:
    """A published figure that changed.

    `part` is what it belongs to, `key` which of its figures, `what` in words. `day` is the day of
    the correction, or of the first publication that says otherwise; `why` is empty where nobody
    said.
    """

    part: str
    key: str
    what: str
    was: str
    now: str
    day: date
    why: str = ""


def figures_in(one: PublicFormula) -> dict[str, str]:
    """Every figure that is published of a formula's versions and batches."""
    found = dict(_of_formula(one))
    found |= {f"batch {made.batch.id}": dict(_of_batch(made)) for made in one.batches}
    return {name: _line(figures) for name, figures in found.items() if figures}


def figures_on(sheets: Sheets) -> dict[str, str]:
    """Every figure that is published of ingredients."""
    found = {}
    for name, sheet in sheets.by_file.items():
        found[f"ingredient {name}"] = {
            key.replace("_", " "): figure_words(value)
            for key in type(sheet).__dataclass_fields__
            if isinstance(value := getattr(sheet, key), Value)
        }
    return {name: _line(figures) for name, figures in found.items() if figures}


def _of_batch(made: PublicBatch) -> Iterator[tuple[str, str]]:
    batch = made.batch
    for entry in entries(batch)[0]:
        if entry.counts and entry.mass is not None:
            yield f"{entry.now.id} mass", str(entry.now.mass)
    for step in batch.steps:
        yield from _of_step(step.id, step.done) if step.done else ()
    for reading in batch.readings:
        if reading.value is not None:
            yield f"{reading.id} value", f"{reading.value:f} {reading.unit or ''}".strip()
    if batch.yield_:
        yield "batch yield", str(batch.yield_)
    for look in current_looks(made.stability):
        if look.grade is not None:
            yield f"{look.id} grade", str(look.grade)
        if look.layer is not None:
            yield f"{look.id} layer", str(look.layer)
        if look.value is not None:
            yield f"{look.id} value", f"{look.value:f} {look.unit or ''}".strip()


def _of_step(id_: str, done: Done) -> Iterator[tuple[str, str]]:
    for phase, value in (done.temperatures or {}).items():
        yield f"{id_} {TEMPERATURES} {phase}", str(value)
    for key in ("took", "hold", "mixed", "speed"):
        if (text := str(getattr(done, key) or ""))[:1].isdigit():
            yield f"{id_} {key}", text


def _of_formula(one: PublicFormula) -> Iterator[tuple[str, dict[str, str]]]:
    for version in one.versions:
        yield (
            f"version {version.name}",
            {
                f"{number} {line.ingredient}": "q.s." if line.percent is QS else f"{line.percent} %"
                for number, (_, line) in enumerate(version.formula.lines, start=1)
                if line.percent is not None
            },
        )


# What changed -------------------------------------------------------------------------------------


def errata(
    before: Figures,
    told: Iterable[Erratum],
    now: Figures,
    made_of: Callable[[str], PublicBatch | None],
    today: date,
) -> tuple[Erratum, ...]:
    """All errata: those told before of what is still public, and what changed since.

    A figure that is no longer public is told no more, nor what it was.

    Args:
        before: the figures of the last publication.
        told: the errata of the last publication.
        now: the figures that are public now.
        made_of: the public batch of a part's name, asked for the words of what changed.
        today: the day of a change that no correction dates.
    """
    kept = [one for one in told if one.key in taken_apart(now.get(one.part))]
    for part in sorted(before.keys() & now.keys()):
        if before[part] == now[part]:
            continue
        was, new = taken_apart(before[part]), taken_apart(now[part])
        changed = [key for key in sorted(was) if key in new and new[key] != was[key]]
        made = made_of(part) if changed else None
        kept += [_erratum(part, key, was[key], new[key], made, today) for key in changed]
    kept.sort(key=lambda one: (one.part, one.key))
    return tuple(sorted(dict.fromkeys(kept), key=lambda one: one.day, reverse=True))


def taken_apart(line: str | None) -> dict[str, str]:
    """The figures of a part; none where it has none, or where the line is no line of figures."""
    try:
        found = json.loads(line or "{}")
    except (ValueError, RecursionError):
        return {}
    words = found.items() if isinstance(found, dict) else ()
    return {key: value for key, value in words if isinstance(value, str)}


def _erratum(
    part: str, key: str, was: str, now: str, made: PublicBatch | None, today: date
) -> Erratum:
    of, _, field = key.partition(" ")
    correction = _correction(made, of, field) if made else None
    return Erratum(
        part=part,
        key=key,
        what=_words(made, of, field) if made else key.lstrip("0123456789 "),
        was=was,
        now=now,
        day=day_of(correction.time) if correction else today,
        why=correction.why if correction else "",
    )


def _correction(made: PublicBatch, of: str, field: str) -> Correction | None:
    """The last correction of a figure."""
    later = made.stability.corrections if made.stability else ()
    found: Sequence[Correction] = [
        one for one in (*made.batch.corrections, *later) if one.of == of and one.key == field
    ]
    return found[-1] if found else None


def _words(made: PublicBatch, of: str, field: str) -> str:
    """`sunflower-oil, mass`, `look at 9T.1 on day …, grade`."""
    lines = {line.id: line.ingredient for line in made.batch.lines}
    names = {w.id: lines.get(w.line or "", w.ingredient or "") for w in made.batch.weighings}
    names |= {reading.id: reading.reading for reading in made.batch.readings}
    for look in made.stability.looks if made.stability else ():
        names[look.id] = f"look at {made.batch.short}.{look.jar} of {day_of(look.time)}"
    names |= {step.id: step.plan.do if step.plan else step.id for step in made.batch.steps}
    name = names.get(of, "")
    told = field.replace(f"{TEMPERATURES} ", "temperature of ", 1)
    return f"{name}, {told}" if name else told
