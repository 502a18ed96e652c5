"""`batch correct` and `batch drop`: what may still happen to a closed batch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed, Unclear
from labbook.model.ids import next_entry_id
from labbook.model.results.making import Corrected
from labbook.show.corrected import entry_words
from labbook.work.bench import Bench
from labbook.work.correctable import Target, guard_said, target_of
from labbook.work.draft import Draft


def correct(bench: Bench, typed: str, what: str, why: str, *, who: str = "") -> Corrected:
    """Writes a correction of a closed batch beside the first figure.

    Args:
        bench: the notebook.
        typed: the batch.
        what: `sunflower-oil=12.40` for a weighing, `s3.speed=9000 rpm` or `s3.B=58 °C` for what was
            done in a step, `mixer=whisk`, `room.temperature=20 °C`, `session=...`, or
            `r2.value=5.2` for any entry's key. A value of `-` takes it away.
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
        one = target_of(fresh, now, name.strip(), value.strip())
        said = entry_words(now, one.of, one.key)
        draft = Draft(bench.root)
        if not put_back(fresh, draft, batch.id):  # a figure changed by hand becomes a correction
            guard_said(now, said, one)
        append_corrections(fresh, draft, now, [one], why=why, who=who)
        result = Corrected(
            short=batch.short, what=said, was=one.stands or "", now=one.now or "", why=why
        )
        change = f"{one.stands or 'nothing'} → {one.now or 'unknown'}"
        return draft.plan(f"Correct {batch.short}: {said} {change}\n\n{why}", result)

    result: Corrected = bench.record(plan, command="batch correct").result
    return result


def append_corrections(
    bench: Bench,
    draft: Draft,
    now: Batch,
    targets: Sequence[Target],
    *,
    why: str,
    who: str = "",
    known_from: str = "",
) -> None:
    """Drafts corrections of a closed batch behind those that it has.

    Args:
        bench: the notebook, read afresh.
        draft: where to.
        now: the batch as it was closed, with its corrections.
        targets: what changes; an `of` of `+1` is the first of these corrections itself.
        why: the reason.
        who: the person, empty where it doesn't matter.
        known_from: `paper` or `memory` for what is told from it.
    """
    from labbook.notebook.emit import Word

    held = bench.snapshot.batches[now.id].corrections  # what was edited in takes an id too
    used = [one.id for one in (*now.corrections, *held)]
    fresh: list[str] = []
    for one in targets:
        fresh.append(next_entry_id("c", [*used, *fresh]))
        of = fresh[int(one.of) - 1] if one.of.startswith("+") else one.of
        data: dict[str, Any] = {"id": fresh[-1], "of": of, "key": one.key}
        data |= {"was": one.stands} if one.stands is not None else {}
        data |= {"now": one.now} if one.now is not None else {}
        data |= {"why": why} | ({"who": who} if who else {}) | {"time": bench.now}
        data |= {"known from": Word(known_from)} if known_from else {}
        draft.append(bench.batch_path(now.id), "corrections", data)


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
