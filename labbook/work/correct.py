"""`batch correct` and `batch drop`: what may still happen to a closed batch."""

from __future__ import annotations

import re
from dataclasses import fields
from typing import Any

from labbook.model.batch import Batch, Weighing
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import next_entry_id
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.results.making import Corrected
from labbook.model.sheets import fold
from labbook.show.making import entry_words
from labbook.work.bench import Bench
from labbook.work.draft import Draft

_ENTRY = re.compile(r"([a-z][a-z0-9-]*)\.([a-z ]+)")


def correct(bench: Bench, typed: str, what: str, why: str, *, who: str = "") -> Corrected:
    """Writes a correction of a closed batch beside the first figure.

    Args:
        bench: the notebook.
        typed: the batch.
        what: `sunflower-oil=12.40` for a weighing, or `r2.value=5.2` for any entry's key.
        why: the reason.
        who: the person, where that matters.
    """
    if not why.strip():
        raise Unclear("A correction needs its reason.", mend='Add it: -m "..."')
    batch = bench.batch(typed)
    if batch.state != "closed":
        raise NotAllowed(
            f"{batch.short} is open; nothing has to be corrected yet.",
            mend=f"Weigh it again, the first figure is struck: labbook weigh {batch.short}",
        )
    name, equals, value = what.partition("=")
    if not equals or not value.strip():
        raise Unclear(
            f"{what!r} says nothing to correct.",
            mend=f"labbook batch correct {batch.short} sunflower-oil=12.40 -m ...",
        )

    def plan() -> Any:
        fresh = bench.afresh()
        now = as_closed_record(fresh, batch.id)
        entry, key, was, new = _target(fresh, now, name.strip(), value.strip())
        held = fresh.snapshot.batches[batch.id].corrections  # what was edited in takes an id too
        corrections = [c.id for c in (*now.corrections, *held)]
        before = next(
            (c.now for c in reversed(now.corrections) if (c.of, c.key) == (entry, key)), was
        )
        data: dict[str, Any] = {
            "id": next_entry_id("c", corrections),
            "of": entry,
            "key": key,
            "was": before,
            "now": new,
            "why": why,
            **({"who": who} if who else {}),
            "time": bench.now,
        }
        draft = Draft(bench.root)
        put_back(fresh, draft, batch.id)  # a figure changed by hand becomes a correction
        draft.append(fresh.batch_path(batch.id), "corrections", data)
        said = entry_words(now, entry, key)
        result = Corrected(short=batch.short, what=said, was=before or "", now=new, why=why)
        return draft.plan(f"Correct {batch.short}: {said} {before} → {new}\n\n{why}", result)

    result: Corrected = bench.record(plan, command="batch correct").result
    return result


def _target(bench: Bench, batch: Batch, name: str, value: str) -> tuple[str, str, str, str]:
    """The entry and key that a name means, with the old and the new value as text."""
    match = _ENTRY.fullmatch(name)
    if match:
        return _entry_key(batch, match[1], match[2], value)
    line_names = {line.id: line for line in batch.lines}
    wanted = fold(bench.snapshot.sheets.id_of(name))
    lines = [line.id for line in batch.lines if fold(line.sheet) == wanted or line.id == name]
    found = [
        w
        for w in batch.weighings
        if not w.struck and (w.line in lines or (w.ingredient and fold(w.ingredient) == wanted))
    ]
    if not lines and not found:
        have = ", ".join(line.ingredient for line in line_names.values())
        raise UnknownName(f"{batch.short} has no {name}.", mend=f"It has: {have}")
    if not found:
        raise NotAllowed(
            f"No weight of {name} was recorded in {batch.short}; nothing can be corrected.",
            mend=f"What is known from memory stands as a remark: labbook batch show {batch.short}",
        )
    if len(found) > 1:
        some = ", ".join(f"{w.id} ({w.mass})" for w in found)
        raise Unclear(
            f"{name} was weighed {len(found)} times in {batch.short}: {some}.",
            mend=f"Name the entry: labbook batch correct {batch.short} {found[0].id}.mass={value}",
        )
    return _entry_key(batch, found[0].id, "mass", value)


def _entry_key(batch: Batch, id_: str, key: str, value: str) -> tuple[str, str, str, str]:
    lists = (batch.weighings, batch.readings, batch.deviations, batch.remarks, batch.steps)
    entry: Any = next((e for group in lists for e in group if e.id == id_), None)
    if entry is None:
        raise UnknownName(f"{batch.short} has no entry {id_}.", mend=f"labbook show {batch.short}")
    field = key.replace(" ", "_")
    if field in ("id", "time") or not hasattr(entry, field):
        have = ", ".join(f.rstrip("_").replace("_", " ") for f in _correctable(entry))
        raise UnknownName(f"{id_} has no {key!r} that could be corrected.", mend=f"It has: {have}")
    old = getattr(entry, field)
    new = value
    if isinstance(entry, Weighing) and field == "mass":
        new = str(mass_of(value))
    else:
        new = _checked(entry, field, key, new)
    return id_, key, "" if old is None else str(old), new


def _checked(entry: Any, field: str, key: str, typed: str) -> str:
    """A new value as its file would take it: of the kind that this key has.

    Raises:
        Unclear: it is of another kind.
    """
    from typing import get_args, get_type_hints

    from labbook.model.fields import Parsed

    kinds = [get_type_hints(type(entry), include_extras=True)[field]]
    while kinds:
        kind = kinds.pop()
        for part in get_args(kind):
            if isinstance(part, Parsed):
                dotted = re.sub(r"^(-?[0-9]+),([0-9]+)", r"\1.\2", typed)
                value = dotted if re.fullmatch(r"-?[0-9]+[.,][0-9]+.*", typed) else typed
                try:
                    part.parse(value)
                except ValueError as error:
                    raise Unclear(
                        f"{key} of {entry.id} can't be that: {error}.",
                        mend="The value is written as it would stand in the file.",
                    ) from error
                return value
            kinds.append(part)
    raise UnknownName(
        f"{entry.id} {key} is no single value.", mend="Correct what stands in it, one by one."
    )


def _correctable(entry: Any) -> list[str]:
    return [
        field.name
        for field in fields(entry)
        if field.name not in ("id", "time") and getattr(entry, field.name) is not None
    ]


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


def drop(bench: Bench, typed: str, why: str) -> Corrected:
    """Takes a batch out of every list; its records stay."""
    if not why.strip():
        raise Unclear("Dropping a batch needs its reason.", mend='Add it: -m "..."')
    batch = bench.batch(typed)
    if batch.dropped:
        raise NotAllowed(f"{batch.short} was dropped already: {batch.dropped.why}.")

    def plan() -> Any:
        draft = Draft(bench.root)
        data = {"time": bench.now, "why": why}
        draft.put(bench.batch_path(batch.id), ("dropped",), data)
        result = Corrected(short=batch.short, what="dropped", was="", now="", why=why)
        return draft.plan(f"Drop {batch.short}\n\n{why}", result)

    result: Corrected = bench.record(plan, command="batch drop").result
    return result


def as_it_was_closed(bench: Bench, typed: str) -> Corrected:
    """Puts a closed batch back to its first figures, keeping every correction.

    For a slip of the hand in the file; what the file said meanwhile stays in history.
    """
    batch = bench.batch(typed)

    def plan() -> Any:
        fresh = bench.afresh()
        draft = Draft(bench.root)
        if not put_back(fresh, draft, batch.id):
            raise NotAllowed(f"{batch.short} is as it was closed; nothing was changed.")
        result = Corrected(
            short=batch.short, what="the file", was="edited by hand", now="as it was closed",
            why="a slip",
        )  # fmt: skip
        return draft.plan(f"{batch.short}: back to what it was closed with", result)

    result: Corrected = bench.record(plan, command="batch correct --as-closed").result
    return result


def put_back(bench: Bench, draft: Draft, batch_id: str) -> bool:
    """Drafts the text of the last sound stage of a closed batch, with all corrections.

    Returns whether anything had to be put back.
    """
    from labbook.notebook import edit, git
    from labbook.notebook.emit import data_of
    from labbook.notebook.nodes import decode
    from labbook.work.closed import changes_of, last_sound, since_closing
    from labbook.work.stories import stages_of

    stages = since_closing(stages_of(bench).get(batch_id, []))
    now = bench.snapshot.batches[batch_id]
    if not changes_of(stages, now):
        return False
    sound = last_sound(stages)
    if sound is None or sound.record is None:
        raise NotAllowed(f"History doesn't hold {batch_id} as it was closed.")
    path = bench.batch_path(batch_id)
    text = decode(git.blobs(bench.root, [sound.blob])[sound.blob], path)
    kept = {c.id: c for c in sound.record.corrections}
    later = [c for stage in stages if stage.record for c in stage.record.corrections]
    for correction in [*later, *now.corrections]:
        if correction.id not in kept:
            kept[correction.id] = correction
            text = edit.append(text, ("corrections",), data_of(correction))
    if now.dropped and now.dropped != sound.record.dropped:
        text = edit.put(text, ("dropped",), data_of(now.dropped))
    if now.public and now.public != sound.record.public:
        text = edit.put(text, ("public",), now.public)
    draft.create(path, text, replace=True)
    return True


def as_closed_record(bench: Bench, batch_id: str) -> Batch:
    """The batch with the figures it was closed with, whatever its file was edited to."""
    from labbook.work.closed import last_sound, since_closing
    from labbook.work.stories import stages_of

    sound = last_sound(since_closing(stages_of(bench).get(batch_id, [])))
    return sound.record if sound and sound.record else bench.snapshot.batches[batch_id]
