"""`note` on a closed batch: what is learned later is kept as corrections, beside the first record.

Nothing is asked. What was written down once is only changed with a reason.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed
from labbook.model.results.making import Noted
from labbook.show.corrected import entry_words
from labbook.trade.standing import TEMPERATURES, reading_key, standing
from labbook.work.bench import Bench
from labbook.work.correct import append_corrections, as_closed_record, put_back
from labbook.work.correctable import Target, equipment_named, equipment_names, stands_as, text_of
from labbook.work.draft import Draft
from labbook.work.phrases import recognise
from labbook.work.phrases_of_steps import Entry

LATER = "written down later"
"""The reason of a correction where nothing had been written down and nobody gives one."""

_BESIDE = ("at", "rest", "by", "step")
_TOOL = re.compile(r"(?:mixer|vessel|thermometer|meter|balance)\s*[:=]?\s+(\S+)", re.IGNORECASE)
_EXAMPLES = '"blender 9000 rpm", "A 72 B 58", "took 3 min", "pH 4.9 water phase"'


@dataclass(frozen=True, slots=True, kw_only=True)
class Later:
    """How something is said of a closed batch.

    `of` and `step` are what a reading was taken in and the step it belongs to; `known_from` is
    `memory` where nothing is said; `why` may be empty where nothing stood before.
    """

    of: str = ""
    step: str = ""
    known_from: str = ""
    why: str = ""
    who: str = ""


def note_later(
    bench: Bench, chosen: Batch, phrases: Sequence[str], said: Later, emulsion: str
) -> Noted:
    """Writes phrases about a closed batch down as corrections, all or none.

    Args:
        bench: the notebook.
        chosen: the batch, closed.
        phrases: what is said.
        said: how.
        emulsion: what the batch is meant to be.

    Raises:
        NotAllowed: a phrase that no correction can hold, a figure that says what stands there
            already, or another one than stands there without a reason.
        UnknownName: a piece of equipment that the notebook doesn't have.
    """

    def plan() -> Any:
        fresh = bench.afresh()
        batch = as_closed_record(fresh, chosen.id)
        now = standing(batch)
        told: list[str] = []
        remarks: list[str] = []
        targets: list[Target] = []
        for phrase in phrases:
            names = equipment_names(fresh)
            entry = recognise(phrase, now, emulsion, of=said.of, step=said.step, equipment=names)
            targets += _targets(fresh, batch, entry, phrase, len(targets))
            told.append(entry.said)
            remarks += entry.remarks
        _guard(batch, targets, phrases, said.why)
        known = said.known_from or "memory"
        draft = Draft(bench.root)
        put_back(fresh, draft, batch.id)
        append_corrections(
            fresh, draft, batch, targets, why=said.why or LATER, who=said.who, known_from=known
        )  # fmt: skip
        remarks.append(
            f"{batch.short} is closed: kept as a correction, beside the first record;"
            f" known from {known}."
        )
        result = Noted(id=batch.id, short=batch.short, what=tuple(told), remarks=tuple(remarks))
        reason = said.why or LATER
        return draft.plan(f"Correct {batch.short}: {'; '.join(told)}\n\n{reason}", result)

    result: Noted = bench.record(plan, command="note").result
    return result


def _targets(bench: Bench, batch: Batch, entry: Entry, phrase: str, before: int) -> list[Target]:
    """The corrections that an entry becomes; `before` is how many go before them."""
    if entry.list == "readings":
        return _reading(batch, entry, before)
    if entry.list not in ("step", "room", "tools", "batch"):
        tool = _TOOL.fullmatch(phrase)
        if tool:
            equipment_named(bench, tool[1])  # says which there are
        raise NotAllowed(
            f"{batch.short} is closed; a note would change it, and {phrase!r} says nothing that a"
            " correction can hold.",
            mend=f"It can hold what was done, read, or used: {_EXAMPLES}.\nAny other figure:"
            f' labbook batch correct {batch.short} ... -m "why"',
        )
    of = entry.step if entry.list == "step" else entry.list
    found = []
    for key, value in entry.data.items():
        values = {key: value}
        if isinstance(value, dict):
            values = {f"{key} {part}": one for part, one in value.items()}
        found += [Target(of, k, _stands(batch, of, k), text_of(v)) for k, v in values.items()]
    return found


def _stands(batch: Batch, of: str, key: str) -> str | None:
    """What a value is today, in the words of its file."""
    now = standing(batch)
    holder: Any = now if of == "batch" else getattr(now, of, None)
    if of not in ("batch", "room", "tools"):
        holder = next(step.done for step in now.steps if step.id == of)
    name, _, phase = key.partition(" ")
    if name == TEMPERATURES:
        held = (holder.temperatures or {}).get(phase) if holder else None
    else:
        field = key.replace(" ", "_")
        held = getattr(holder, field, None) or getattr(holder, f"{field}_", None)
    return stands_as(batch, of, key, None if held is None else text_of(held))


def _reading(batch: Batch, entry: Entry, before: int) -> list[Target]:
    """A reading that nobody had written down: one correction, and one for each thing beside it."""
    data = entry.data
    name, of = data["reading"], data.get("of")
    known = [
        one
        for one in standing(batch).readings
        if (one.reading, one.of or "") == (name, of or "") and one.struck is None
    ]
    if known:
        key = "value" if "value" in data else "seen"
        new = text_of(data[key])
        raise NotAllowed(
            f"{batch.short} has a {name}{f' of the {of}' if of else ''} already, {known[-1].id}.",
            mend="Was it misread? labbook batch correct"
            f' {batch.short} {known[-1].id}.{key}="{new}" -m "why"',
        )
    value = text_of(data["value"]) if "value" in data else data["seen"]
    unit = data.get("unit") or ""
    found = [Target("readings", reading_key(name, of), None, f"{value} {unit}".strip())]
    for key in _BESIDE:
        if data.get(key) is not None:
            found.append(Target(f"+{before + 1}", key, None, text_of(data[key])))
    return found


def _guard(batch: Batch, targets: list[Target], phrases: Sequence[str], why: str) -> None:
    """Refuses what stands already, and another figure without a reason."""
    targets[:] = [one for one in targets if one.stands != one.now]
    if not targets:
        raise NotAllowed(
            f"{batch.short} says so already; nothing was changed.",
            mend=f"labbook show {batch.short}",
        )
    other = next((one for one in targets if one.stands is not None), None)
    if other is not None and not why.strip():
        typed = "; ".join(phrases)
        what = entry_words(batch, other.of, other.key)
        raise NotAllowed(
            f"{what} of {batch.short} is {other.stands}; {other.now} in its place needs a reason.",
            mend=f'labbook note {batch.short} "{typed}" -m "why"',
        )
