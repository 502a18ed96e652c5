"""Closed batches through history: what each held when it was closed, and what changed since.

A closed batch changes by corrections only. Taking a recording back (`undo`) is a step of the
program's own and starts the story afresh.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from labbook.model.batch import Batch
from labbook.model.codec import to_json
from labbook.work.bench import Bench

FREE = frozenset({"corrections", "dropped", "public"})
"""Fields that a closed batch may still gain or change."""

_LISTS = ("weighings", "readings", "deviations", "remarks", "steps", "lines", "corrections")


@dataclass(frozen=True, slots=True)
class Stage:
    """A batch file as it stood in a commit; the working file has an empty commit."""

    commit: str
    when: str
    subject: str
    blob: str
    record: Batch | None
    undoes: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """A value of a closed batch that is no longer what it was when it was closed.

    `steps` is the path of keys to it in the file of today (to its place where it was taken out).
    """

    steps: tuple[str | int, ...]
    what: str
    was: str
    now: str
    commit: str
    when: str


def stages_of(bench: Bench) -> dict[str, list[Stage]]:
    """The committed stages of every batch file, oldest first, by full batch id."""
    from labbook.notebook import git
    from labbook.notebook.snapshot import read_blobs

    commits = git.changes(bench.root, None, "batches") if git.head(bench.root) else []
    found: dict[str, list[Stage]] = {}
    wanted = {
        change.new_blob: change.path
        for commit in commits
        for change in commit.files
        if change.new_blob and change.path.endswith("/batch.yaml")
    }
    held = read_blobs(bench.root, wanted, "batch")
    for commit in commits:
        undoes = bool(re.search(r"^Undoes: ", commit.body, re.MULTILINE))
        for change in commit.files:
            if not change.path.endswith("/batch.yaml"):
                continue
            batch_id = change.path.split("/")[-2]
            record = held[change.new_blob].record if change.new_blob in held else None
            stage = Stage(
                commit.id,
                commit.when.date().isoformat(),
                commit.subject,
                change.new_blob or "",
                record if isinstance(record, Batch) else None,
                undoes,
            )
            stages = found.setdefault(batch_id, [])
            if not stages or (stages[-1].commit, stages[-1].blob) != (stage.commit, stage.blob):
                stages.append(stage)
    return found


def since_closing(stages: list[Stage]) -> list[Stage]:
    """The stages from the one that closed the batch on; empty while it is open."""
    start = None
    for index, stage in enumerate(stages):
        if stage.undoes:
            start = None
        if stage.record is not None and stage.record.state == "closed" and start is None:
            start = index
    return [] if start is None else stages[start:]


def _guarded(record: Batch) -> dict[tuple[str, ...], str]:
    """The guarded content as flat JSON data: entries of lists under their id."""
    data = {key: value for key, value in to_json(record).items() if key not in FREE}
    return dict(_flat(data, ()))


def _flat(value: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from _flat(item, (*path, key))
    elif (
        isinstance(value, list) and value and all(isinstance(i, dict) and "id" in i for i in value)
    ):
        for item in value:
            yield from _flat(item, (*path, item["id"]))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for index, item in enumerate(value):
            yield from _flat(item, (*path, str(index)))
    else:
        yield path, " ".join(value) if isinstance(value, list) else str(value)


def changes_of(stages: list[Stage], now: Batch | None) -> list[Change]:
    """What is different today from the batch as it was closed, with the commit that did it.

    Args:
        stages: the stages since closing.
        now: the batch as its file says today; None where the file is gone or unreadable.
    """
    if not stages or stages[0].record is None or now is None:
        return []
    closed = _guarded(stages[0].record)
    today = _guarded(now)
    found = []
    for path in sorted(closed.keys() | today.keys()):
        was, is_ = closed.get(path, ""), today.get(path, "")
        if was == is_:
            continue
        commit, when = _who_changed(stages, path, was)
        found.append(Change(_steps(now, path), _words(path), was, is_, commit, when))
    found.extend(_lost_corrections(stages, now))
    return found


def _who_changed(stages: list[Stage], path: tuple[str, ...], was: str) -> tuple[str, str]:
    """The last commit in which the value left what it was at closing; empty: not committed."""
    commit, when, before = "", "", was
    for stage in stages[1:]:
        if stage.record is None:
            continue
        value = _guarded(stage.record).get(path, "")
        if value != before:
            commit, when = (stage.commit, stage.when) if value != was else ("", "")
        before = value
    return commit, when


def _lost_corrections(stages: list[Stage], now: Batch) -> Iterator[Change]:
    present = {c.id: c for c in now.corrections}
    seen: dict[str, str] = {}
    for stage in stages:
        for correction in stage.record.corrections if stage.record else ():
            kept = present.get(correction.id)
            if correction.id in seen or kept == correction:
                continue
            seen[correction.id] = stage.commit
            commit, when = next(
                (
                    (later.commit, later.when)
                    for later in stages[stages.index(stage) + 1 :]
                    if later.record is not None and correction not in later.record.corrections
                ),
                ("", ""),
            )
            told = "changed" if kept else "taken out"
            yield Change(
                ("corrections",),
                f"correction {correction.id}",
                correction.now or "",
                told,
                commit,
                when,
            )


def _steps(record: Batch, path: tuple[str, ...]) -> tuple[str | int, ...]:
    """The path of keys in the file: ids become positions, field names become keys."""
    steps: list[str | int] = []
    holder: Any = record
    for part in path:
        if isinstance(holder, tuple):
            index = next(
                (i for i, e in enumerate(holder) if getattr(e, "id", str(i)) == part), None
            )
            if index is None:
                break
            steps.append(index)
            holder = holder[index]
            continue
        steps.append(part.rstrip("_").replace("_", " "))
        holder = holder.get(part) if isinstance(holder, dict) else getattr(holder, part, None)
    return tuple(steps)


def _words(path: tuple[str, ...]) -> str:
    shown = [part.rstrip("_").replace("_", " ") for part in path]
    if len(shown) > 2 and path[0] in _LISTS:
        return f"{shown[0].removesuffix('s')} {path[1]}, {' '.join(shown[2:])}"
    return " ".join(shown)


def last_sound(stages: list[Stage]) -> Stage | None:
    """The newest stage whose guarded content is still that of the closing."""
    if not stages or stages[0].record is None:
        return None
    closed = _guarded(stages[0].record)
    for stage in reversed(stages):
        if stage.record is not None and _guarded(stage.record) == closed:
            return stage
    return None
