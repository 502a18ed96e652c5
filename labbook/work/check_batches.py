"""Batches against history: their pin and copied lines, the day they were closed, their entries."""

from __future__ import annotations

import re
from collections.abc import Iterator

from labbook.model.batch import Batch
from labbook.model.problems import Place, Problem, Severity
from labbook.notebook.readfile import ReadFile
from labbook.work.bench import Bench
from labbook.work.check_entries import entry_problems
from labbook.work.check_pins import pin_problems
from labbook.work.closed import Change, changes_of, since_closing
from labbook.work.stories import Stage, batch_commits, stages_of


def batch_problems(bench: Bench) -> Iterator[Problem]:
    """Everything that is wrong with a batch beyond its own file."""
    commits = batch_commits(bench)
    stories = stages_of(bench, "batch.yaml", commits)
    for batch_id, batch in sorted(bench.snapshot.batches.items()):
        held = bench.snapshot.of_batch(batch_id)
        if held is None:
            continue
        story = stories.get(batch_id, [])
        pinned = list(pin_problems(bench, batch, held, story))
        yield from pinned
        named = {problem.place for problem in pinned}
        for change in changes_of(since_closing(story), batch):
            if held.place(*change.steps) not in named:  # else told already, with what it should be
                yield _changed(batch.short, batch_id, held, change)
    for batch_id, story in sorted(stories.items()):
        yield from _gone(bench, batch_id, story)
    yield from entry_problems(bench, commits)


def _changed(short: str, batch_id: str, held: ReadFile, change: Change) -> Problem:
    by = (
        f"It was changed by hand on {change.when}, in commit {change.commit[:7]}."
        if change.commit
        else "It was changed by hand and is not committed."
    )
    was, now = _short(change.was), _short(change.now)
    if change.steps[:1] == ("corrections",):
        what = f"{change.what} of {short} was {change.now}; corrections only grow. {by}"
    elif not change.now:
        what = f"{short} was closed with {change.what} {was}; it is gone. {by}"
    elif not change.was:
        what = f"{short} was closed without {change.what} {now}. {by}"
    else:
        what = f"{short} was closed with {change.what} {was}; the file now says {now}. {by}"
    return Problem(
        Severity.ERROR,
        "closed-batch-changed",
        held.place(*change.steps),
        what + " A closed batch keeps its first figures; corrections stand beside.",
        _ways(short, held.record, change),
        about=batch_id,
        commit=change.commit,
    )


def _ways(short: str, batch: Batch | None, change: Change) -> str:
    """The two ways on, as they can be pasted: a correction, or back to what it was."""
    back = f"labbook batch correct {short} --as-closed"
    entry = re.fullmatch(r"(?:weighing|reading) (\S+), ([a-z ]+)", change.what)
    done = re.fullmatch(r"step (\S+), done (.+)|(room|tools) (.+)", change.what)
    value = change.now
    if done and value:
        name = f"{done[1] or done[3]}.{done[2] or done[4]}"
        return (
            f'Right now? labbook batch correct {short} "{name}={value}" -m "..."\nA slip?    {back}'
        )
    if entry is None or not value or not change.was:
        return f"A slip? {back}"
    name = f"{entry[1]}.{entry[2]}"
    weighing = next((w for w in batch.weighings if w.id == entry[1]), None) if batch else None
    if batch and weighing and weighing.line and entry[2] == "mass":
        line = next((one for one in batch.lines if one.id == weighing.line), None)
        once = sum(1 for w in batch.weighings if w.line == weighing.line and not w.struck) == 1
        if line is not None and once:
            name = line.ingredient
    value = value.removesuffix(" g") if entry[2] == "mass" else value
    typed = f"{name}={value}"
    typed = f'"{typed}"' if " " in typed else typed
    return f'Right now? labbook batch correct {short} {typed} -m "..."\nA slip?    {back}'


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:37]}..."


def _gone(bench: Bench, batch_id: str, story: list[Stage]) -> Iterator[Problem]:
    if not story or bench.snapshot.of_batch(batch_id) is not None:
        return
    last = story[-1]
    committed = not last.blob
    when = f"in commit {last.named}" if committed else "uncommitted"
    before = f"{last.commit[:7]}^" if committed else last.commit[:7]
    yield Problem(
        Severity.ERROR,
        "batch-taken-away",
        Place(last.path),
        f"{batch_id} was in the notebook and is gone, {when}.{_moved(bench, story)}",
        f"Nothing recorded is ever lost: git show {before}:./{last.path} has it. To take a batch"
        f' out of the lists, put it back, then: labbook batch drop {batch_id} -m "..."',
        about=batch_id,
        commit=last.commit if committed else "",
    )


def _moved(bench: Bench, story: list[Stage]) -> str:
    """Where the content of a batch that is gone stands today, if its folder got another name."""
    from labbook.notebook import git
    from labbook.notebook.snapshot import read_raw

    blobs = {stage.blob for stage in story}
    last = next((stage.record for stage in reversed(story) if stage.record is not None), None)
    for path, held in bench.snapshot.files.items():
        if held.kind != "batch":
            continue
        now = held.record
        same = now is not None and last is not None and (
            (now.made, now.formula, now.lines) == (last.made, last.formula, last.lines)
        )  # fmt: skip
        # An unreadable one (its id is not the folder's) is known by its bytes.
        if same or (
            now is None and git.blob_id(bench.root, read_raw(bench.root / path), path) in blobs
        ):
            return f" What it held stands in {path} now; a batch keeps its id for ever."
    return ""
