"""What history tells of the files of a batch: each committed stage, oldest first.

Taking a recording back (`undo`) is a step of the program's own: what was undone and the undoing
are both left out, so that the story goes on from what stood before.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from labbook.work.bench import Bench

if TYPE_CHECKING:
    from labbook.notebook.git import Commit

_UNDOES = re.compile(r"^Undoes: ([0-9a-f]{7,64})$", re.MULTILINE)

KINDS = {f"{kind}.yaml": kind for kind in ("batch", "jars", "stability", "photos", "reactions")}
"""The files of a batch, and what each is."""


@dataclass(frozen=True, slots=True)
class Stage:
    """A file as it stood in a commit.

    `blob` is empty where the commit took the file away; `record` is None there, and where the
    content can't be read.
    """

    commit: str
    when: str
    subject: str
    path: str
    blob: str
    record: Any | None

    @property
    def named(self) -> str:
        """The commit as a person reads it: short id and day."""
        return f"{self.commit[:7]} of {self.when}"


def batch_commits(bench: Bench) -> list[Commit]:
    """The commits that touched a batch, oldest first; none before the first commit."""
    from labbook.notebook import git

    return git.changes(bench.root, None, "batches") if git.head(bench.root) else []


def stages_of(
    bench: Bench, file: str = "batch.yaml", commits: Sequence[Commit] | None = None
) -> dict[str, list[Stage]]:
    """The committed stages of one file of every batch, oldest first, by full batch id."""
    from labbook.notebook.snapshot import read_blobs

    known = batch_commits(bench) if commits is None else commits
    tail = f"/{file}"
    wanted = {
        change.new_blob: change.path
        for commit in known
        for change in commit.files
        if change.new_blob and change.path.endswith(tail)
    }
    held = read_blobs(bench.root, wanted, KINDS[file])
    found: dict[str, list[Stage]] = {}
    for commit in known:
        undone = undone_by(commit)
        for change in commit.files:
            if not change.path.endswith(tail):
                continue
            blob = change.new_blob or ""
            stage = Stage(
                commit.id,
                commit.when.date().isoformat(),
                commit.subject,
                change.path,
                blob,
                held[blob].record if blob in held else None,
            )
            _add(found.setdefault(change.path.split("/")[-2], []), stage, undone)
    return found


def undone_by(commit: Commit) -> str:
    """The commit that one takes back; empty for most."""
    match = _UNDOES.search(commit.body)
    return match[1] if match else ""


def _add(story: list[Stage], stage: Stage, undone: str) -> None:
    """Goes on with a story. An undoing takes the last stage away, if it really restores."""
    if story and (story[-1].commit, story[-1].blob) == (stage.commit, stage.blob):
        return  # a merge lists its result once for each side
    before = story[-2].blob if len(story) > 1 else ""
    if undone and story and story[-1].commit == undone and stage.blob == before:
        story.pop()
        return
    story.append(stage)


def since(stages: Sequence[Stage], holds: Any) -> Stage | None:
    """The stage from which on something held without a break; None where the last one lacks it.

    Args:
        stages: the story of a file.
        holds: takes a record and says whether it does.
    """
    found = None
    for stage in reversed(stages):
        if stage.record is None or not holds(stage.record):
            break
        found = stage
    return found


def flat(value: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """JSON data of a record as paths and texts; entries of lists stand under their id."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from flat(item, (*path, key))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        named = all(isinstance(item, dict) and "id" in item for item in value)
        for index, item in enumerate(value):
            yield from flat(item, (*path, item["id"] if named else str(index)))
    else:
        yield path, " ".join(map(str, value)) if isinstance(value, list) else str(value)
