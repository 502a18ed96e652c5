"""`note`: writes down what was read, done or said at the bench."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import next_entry_id
from labbook.model.results.making import Noted
from labbook.work.bench import Bench
from labbook.work.correctable import equipment_names
from labbook.work.draft import Draft
from labbook.work.phrases import recognise, split_phrases
from labbook.work.phrases_of_steps import Entry

_BATCH = re.compile(r"[0-9][a-z]|[a-z][0-9]|[a-z0-9]+-[0-9]{6}-[a-z0-9]{2}", re.I | re.ASCII)

PREFIXES = {"readings": "r", "deviations": "d", "remarks": "n", "weighings": "w"}


def guard_kept(batch: Batch) -> None:
    """Refuses to write into a dropped batch.

    Raises:
        NotAllowed: with the reason that it was dropped for.
    """
    if batch.dropped:
        raise NotAllowed(
            f"{batch.short} was dropped: {batch.dropped.why}.",
            mend=f"What it holds: labbook show {batch.short}",
        )


def guard_open(batch: Batch, doing: str) -> None:
    """Refuses to write into a closed or dropped batch.

    Raises:
        NotAllowed: with the way to correct it.
    """
    guard_kept(batch)
    if batch.state == "closed":
        raise NotAllowed(
            f"{batch.short} is closed; {doing} would change it.",
            mend=f'A correction stands beside: labbook batch correct {batch.short} ... -m "why"',
        )


def emulsion_of(bench: Bench, batch: Batch) -> str:
    """What the batch is meant to be, by the formula's file; empty where that is unknown."""
    formula = bench.snapshot.formula_of(batch)
    return formula.emulsion if formula else ""


def note(
    bench: Bench,
    typed: str | None,
    texts: Sequence[str],
    *,
    of: str = "",
    step: str = "",
    deviation: bool = False,
    known_from: str = "",
    private: bool = False,
    why: str = "",
    who: str = "",
) -> Noted:
    """Adds entries to a batch and repeats them back; to a closed one they are corrections.

    Args:
        bench: the notebook.
        typed: the batch; None takes the only open one.
        texts: phrases, several in one separated by semicolons.
        of: what a reading was taken in.
        step: the step of the method that they belong to.
        deviation: they say where the making departed from the method.
        known_from: `paper` or `memory` for what is written down later.
        private: a remark that is never published.
        why: the reason, for a closed batch; left out where nothing was written down before.
        who: the person who says so, for a closed batch.
    """
    phrases = split_phrases(texts)
    if not phrases:
        raise Unclear("There is nothing to note.", mend='Say it: labbook note "pH 5.4"')
    chosen = bench.the_open_batch(typed)
    if step and step not in {s.id for s in chosen.steps}:
        have = ", ".join(s.id for s in chosen.steps) or "none"
        raise Unclear(f"{chosen.short} has no step {step}.", mend=f"Its steps: {have}")
    if chosen.state == "closed" and not (chosen.dropped or deviation or private):
        from labbook.work.note_later import Later, note_later

        later = Later(of=of, step=step, known_from=known_from, why=why, who=who)
        return note_later(bench, chosen, phrases, later, emulsion_of(bench, chosen))
    guard_open(chosen, "a note")
    if why or who:
        raise Unclear(
            f"{chosen.short} is open; what is noted needs no reason.",
            mend="Leave -m and --who out.",
        )

    def plan() -> Any:
        fresh = bench.afresh()
        batch = fresh.snapshot.batches[chosen.id]
        guard_open(batch, "a note")
        draft = Draft(bench.root)
        path = fresh.batch_path(batch.id)
        said: list[str] = []
        remarks: list[str] = []
        used: dict[str, list[str]] = {
            key: [entry.id for entry in getattr(batch, key)] for key in PREFIXES
        }
        for phrase in phrases:
            if deviation:
                entry = Entry("deviations", _deviation(phrase, step), f"deviation: {phrase}")
            else:
                entry = recognise(
                    phrase, batch, emulsion_of(fresh, batch), of=of, step=step,
                    equipment=equipment_names(fresh),
                )  # fmt: skip
            said.append(entry.said)
            remarks.extend((*entry.remarks, *_replaced(batch, entry)))
            _write(fresh, draft, path, batch, entry, used, known_from, private=private)
        result = Noted(id=batch.id, short=batch.short, what=tuple(said), remarks=tuple(remarks))
        return draft.plan(f"{batch.short}: {'; '.join(said)}", result)

    result: Noted = bench.record(plan, command="note").result
    return result


def _deviation(phrase: str, step: str) -> dict[str, Any]:
    return {"text": phrase, "step": step} if step else {"text": phrase}


def _replaced(batch: Batch, entry: Entry) -> list[str]:
    """What an entry takes the place of in a step or the room, in words: nothing goes unsaid."""
    holder: Any = getattr(batch, entry.list) if entry.list in ("room", "tools") else None
    if entry.list == "step":
        holder = next(s.done for s in batch.steps if s.id == entry.step)
    told = []
    for key, value in entry.data.items() if holder else ():
        before = getattr(holder, {"with": "with_"}.get(key, key.replace(" ", "_")), None)
        if isinstance(value, dict):
            pairs = [(f"phase {k} ", (before or {}).get(k), v) for k, v in value.items()]
        else:
            pairs = [("", before, value)]
        told += [f"{name}{old}" for name, old, new in pairs if old is not None and old != new]
    if not told:
        return []
    return [f"It takes the place of {', '.join(told)}, which stays in history."]


def _write(
    bench: Bench,
    draft: Draft,
    path: str,
    batch: Batch,
    entry: Entry,
    used: dict[str, list[str]],
    known_from: str,
    *,
    private: bool,
) -> None:
    from labbook.notebook.emit import Word

    if entry.list in ("room", "tools"):
        for key, value in entry.data.items():
            name = Word(value) if entry.list == "tools" else value
            draft.put(path, (entry.list, key), name)
        return
    if entry.list == "step":
        index = [s.id for s in batch.steps].index(entry.step)
        data: dict[str, Any] = dict(entry.data)
        if known_from or batch.known_from:
            data["known from"] = Word(known_from or batch.known_from or "")
        for key, value in data.items():
            if isinstance(value, dict):
                for phase, temperature in value.items():
                    draft.put(path, ("steps", index, "done", key, phase), temperature)
            else:
                draft.put(path, ("steps", index, "done", key), value)
        return
    data = dict(entry.data)
    if entry.list == "readings":
        tools = batch.tools
        if data["reading"] == "pH" and tools and tools.meter:
            data["with"] = tools.meter
    known = known_from or batch.known_from
    if known:
        data["known from"] = Word(known)
    else:
        data["time"] = bench.now
    if private and entry.list == "remarks":
        data["private"] = True
    id_ = next_entry_id(PREFIXES[entry.list], used[entry.list])
    used[entry.list].append(id_)
    draft.append(path, entry.list, {"id": id_, **data})


def is_batch_id(word: str) -> bool:
    """Whether a word reads like a batch's id, long or short."""
    return _BATCH.fullmatch(word) is not None


def split_batch(bench: Bench, words: Sequence[str]) -> tuple[str | None, list[str]]:
    """A batch named before or after what is noted, and the rest.

    Words without a space in any of them are one phrase that was typed without quotation marks.

    Raises:
        UnknownName: the first word reads like a batch that the notebook doesn't hold.
    """
    from labbook.model.ids import matching_batches

    left = list(words)
    named: str | None = None
    if left and matching_batches(left[0], bench.snapshot.batches):
        named = left.pop(0)
    elif len(left) > 1 and matching_batches(left[-1], bench.snapshot.batches):
        named = left.pop()
    elif len(left) > 1 and _BATCH.fullmatch(left[0]):
        raise UnknownName(
            f"The notebook has no batch {left[0]}.",
            mend="See all: labbook batch list. If it is no batch, put it all between one pair of"
            " quotation marks.",
        )
    if len(left) > 1 and not any(" " in word.strip() for word in left):
        left = [" ".join(left)]
    return named, left
