"""What each commit did to each record: the steps that `check --history` walks, oldest first.

The whole of history is read with one `git log --raw` and the contents with `git cat-file --batch`,
kind by kind; what was read before comes from the cache.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from labbook.model.kinds import kind_of
from labbook.model.problems import Place, Problem, Severity
from labbook.work.bench import Bench
from labbook.work.stories import undone_by

if TYPE_CHECKING:
    from labbook.notebook.git import Commit, FileChange
    from labbook.notebook.readfile import ReadFile

KINDS = ("formula", "trial", "batch", "jars", "stability", "photos")
"""The kinds whose past is looked at."""

AT_ONCE = 500
"""How many contents are read between two words on how far it is."""

Progress = Callable[[int, int], None]
"""Is told how many contents were read, and of how many."""


@dataclass(frozen=True, slots=True)
class Step:
    """One record in one commit, against one parent: a merge has a step for each that differs.

    `old` and `new` are the records; None where the file isn't there or can't be read, which the
    blobs tell apart. `undoes` marks an `undo` that really restores what stood before.
    """

    commit: Commit
    path: str
    kind: str
    old_blob: str
    new_blob: str
    old: Any | None
    new: Any | None
    undoes: bool = False

    @property
    def merges(self) -> bool:
        """Whether the commit has several parents."""
        return len(self.commit.parents) > 1

    @property
    def named(self) -> str:
        """The commit as a person reads it: short id and day."""
        return f"{self.commit.id[:7]} of {self.commit.when.date().isoformat()}"


@dataclass(frozen=True, slots=True)
class Past:
    """All of it: the commits, the steps in their order, and what can't be read.

    `records` are the readable contents by blob id; `unread` are paths by the blob id of contents
    that can't be read as what stands at that path.
    """

    commits: Sequence[Commit]
    steps: Sequence[Step]
    records: dict[str, Any]
    unread: dict[str, str]


def read_past(bench: Bench, progress: Progress) -> Past:
    """Walks all commits that the current one goes back to."""
    from labbook.notebook import git

    commits = git.changes(bench.root, None, "") if git.head(bench.root) else []
    wanted = _wanted(commits)
    held = _read(bench, wanted, progress)
    records = {blob: one.record for blob, one in held.items() if one.record is not None}
    paths = {blob: path for contents in wanted.values() for blob, path in contents.items()}
    unread = {blob: paths[blob] for blob in paths if blob not in records}
    return Past(commits, _steps(commits, records), records, unread)


def _kind(path: str) -> str:
    kind = kind_of(path)
    return kind.name if kind and kind.name in KINDS else ""


def _wanted(commits: Sequence[Commit]) -> dict[str, dict[str, str]]:
    """Blob id to path, by kind; the first path counts, which is where it was written."""
    found: dict[str, dict[str, str]] = {kind: {} for kind in KINDS}
    for commit in commits:
        for change in commit.files:
            if (kind := _kind(change.path)) and change.new_blob:
                found[kind].setdefault(change.new_blob, change.path)
    return found


def _read(
    bench: Bench, wanted: dict[str, dict[str, str]], progress: Progress
) -> dict[str, ReadFile]:
    from labbook.notebook.snapshot import read_blobs

    total = sum(len(contents) for contents in wanted.values())
    found: dict[str, ReadFile] = {}
    for kind, contents in wanted.items():
        ids = list(contents)
        for start in range(0, len(ids), AT_ONCE):
            some = {blob: contents[blob] for blob in ids[start : start + AT_ONCE]}
            found |= read_blobs(bench.root, some, kind)
            progress(len(found), total)
    return found


def _steps(commits: Sequence[Commit], records: dict[str, Any]) -> list[Step]:
    before: dict[tuple[str, str], str] = {}
    found = []
    for commit in commits:
        undone = undone_by(commit)
        for change in commit.files:
            kind = _kind(change.path)
            if not kind:
                continue
            before[commit.id, change.path] = change.old_blob or ""
            back = bool(undone) and before.get((undone, change.path)) == (change.new_blob or "")
            found.append(_step(commit, change, kind, records, undoes=back))
    return found


def _step(
    commit: Commit, change: FileChange, kind: str, records: dict[str, Any], *, undoes: bool
) -> Step:
    old, new = change.old_blob or "", change.new_blob or ""
    return Step(
        commit=commit,
        path=change.path,
        kind=kind,
        old_blob=old,
        new_blob=new,
        old=records.get(old),
        new=records.get(new),
        undoes=undoes,
    )


def about(step: Step) -> str:
    """The batch or formula that a step is of."""
    parts = step.path.split("/")
    return parts[2] if parts[0] == "batches" else parts[-1].removesuffix(".yaml")


def problem(severity: Severity, rule: str, step: Step, what: str, mend: str = "") -> Problem:
    """A finding about a commit, in the file as it stood then."""
    see = mend or f"See: git show {step.commit.id[:7]} -- {step.path}"
    return Problem(
        severity, rule, Place(step.path), what, see, about=about(step),
        commit=step.commit.id,
    )  # fmt: skip
