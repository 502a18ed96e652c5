"""What git keeps: commits that touched a folder, contents by blob id, trees, the index."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from labbook.model.errors import GitRefused
from labbook.notebook.gitrun import run
from labbook.notebook.gitstate import head, literal, literals, must_stand

_FILE_MODES = ("100644", "100755")  # a link or a repository inside is no record


@dataclass(frozen=True, slots=True)
class FileChange:
    """One file in one commit, against one of its parents.

    `path` is relative to the notebook; a blob is None where there is no plain file; `status` is
    git's letter: A added, D deleted, M modified, T another type.
    """

    path: str
    old_blob: str | None
    new_blob: str | None
    status: str


@dataclass(frozen=True, slots=True)
class Commit:
    """A commit that touched a folder; of a merge, `files` holds the changes to each parent."""

    id: str
    parents: tuple[str, ...]
    when: datetime
    author: str
    subject: str
    body: str
    files: tuple[FileChange, ...]


@dataclass(slots=True)
class _Draft:
    fields: list[str]
    files: list[FileChange] = field(default_factory=list)

    def commit(self) -> Commit:
        ident, parents, when, author, subject, body = self.fields
        return Commit(
            ident,
            tuple(parents.split()),
            datetime.fromisoformat(when),
            author,
            subject,
            body,
            tuple(self.files),
        )


# A commit begins with a byte that can't begin a change or a path's place in the stream; fields
# end with NUL, the one byte that neither messages nor paths can hold.
_BEGIN = b"\x01"
_FORM = "--format=tformat:%x01%H%x00%P%x00%aI%x00%an%x00%s%x00%b"
_FIELDS = 6


def changes(
    root: Path, revision: str | None, folder: str, *, since: str | None = None
) -> list[Commit]:
    """The commits that touched a folder or file, oldest first, parents before children.

    Args:
        root: the notebook.
        revision: where history ends; None is the current commit.
        folder: relative to the notebook; "" is all of it.
        since: a commit whose history is left out.
    """
    end = revision or head(root)
    if end is None:
        return []
    span = [end] if since is None else [end, f"^{since}"]
    ran = run(
        root,
        *("-c", "i18n.logOutputEncoding=UTF-8"),
        *("log", "-z", "-m", "--raw", "--root", "--no-renames", "--no-abbrev", "--no-ext-diff"),
        *("--no-color", "--no-show-signature", "--no-mailmap", "--no-notes", "--full-history"),
        *("--topo-order", "--reverse", "--relative", "--ignore-submodules=all", _FORM),
        *("--end-of-options", *span, "--", literal(folder or ".")),
    )
    return _parse_log(ran.out)


def extends(root: Path, old: str, new: str) -> bool:
    """Whether a revision is an older one and commits in one line after it, without a merge."""
    ran = run(root, "merge-base", "--is-ancestor", old, new, ok=(0, 1, 128))
    if ran.code:
        return False
    return run(root, "rev-list", "--count", "--min-parents=2", f"{old}..{new}").line == "0"


def _parse_log(out: bytes) -> list[Commit]:
    tokens = iter(out.split(b"\0"))
    drafts: dict[str, _Draft] = {}
    current: _Draft | None = None
    for token in tokens:
        if token.startswith(_BEGIN):
            rest = [next(tokens) for _ in range(_FIELDS - 1)]
            fields = [part.decode("utf-8", "replace") for part in (token[1:], *rest)]
            # -m shows a merge once for each parent: the sides are joined in one commit.
            current = drafts.setdefault(fields[0], _Draft(fields))
        elif (raw := token.lstrip(b"\n")).startswith(b":") and current is not None:
            change = _change(raw.decode("ascii"), os.fsdecode(next(tokens)))
            if change is not None:
                current.files.append(change)
    return [draft.commit() for draft in drafts.values()]


def _change(raw: str, path: str) -> FileChange | None:
    old_mode, new_mode, old, new, status = raw[1:].split(" ")
    old_blob = old if old_mode in _FILE_MODES else None
    new_blob = new if new_mode in _FILE_MODES else None
    if old_blob is None and new_blob is None:
        return None
    return FileChange(path, old_blob, new_blob, status[:1])


def blobs(root: Path, ids: Iterable[str]) -> dict[str, bytes]:
    """The stored contents for blob ids, in one git command; ids that git lacks are left out."""
    wanted = list(dict.fromkeys(ids))
    if not wanted:
        return {}
    ran = run(root, "cat-file", "--batch", stdin="".join(f"{i}\n" for i in wanted).encode("ascii"))
    found: dict[str, bytes] = {}
    start = 0
    for name in wanted:
        end = ran.out.index(b"\n", start)
        words = ran.out[start:end].split(b" ")
        start = end + 1
        if len(words) == 3:
            size = int(words[2])
            if words[1] == b"blob":
                found[name] = ran.out[start : start + size]
            start += size + 1
    return found


def _entries(out: bytes) -> Iterator[tuple[list[str], str]]:
    """The words before the tab and the path of each entry of `ls-tree -z` or `ls-files -s -z`."""
    for entry in out.split(b"\0"):
        if entry:
            words, _, path = entry.partition(b"\t")
            yield words.decode("ascii").split(), os.fsdecode(path)


def tree_at(root: Path, revision: str, folder: str) -> dict[str, str]:
    """Path to blob id of all files under a folder in a revision; "" is the whole notebook."""
    where = literals([folder.rstrip("/")]) if folder else ["--"]
    ran = run(root, "ls-tree", "-r", "-z", "--end-of-options", revision, *where[1:])
    return {path: words[2] for words, path in _entries(ran.out) if words[0] in _FILE_MODES}


def blob_at(root: Path, revision: str, path: str) -> tuple[str, bytes] | None:
    """Blob id and stored bytes of a file in a revision; None if it isn't in there."""
    ident = tree_at(root, revision, path).get(path)
    if ident is None:
        return None
    found = blobs(root, [ident])
    if ident not in found:
        raise GitRefused(
            f"git lacks the content of {path} at {revision[:12]}: the repository is damaged or "
            "was cloned in part.",
            where=path,
            mend="git fsck says what is missing; git fetch --refetch brings it from a remote.",
        )
    return ident, found[ident]


def blob_id(root: Path, data: bytes, path: str) -> str:
    """The id under which git would store these bytes at this path, its filters applied."""
    return run(root, "hash-object", "--stdin", f"--path={path}", stdin=data).line


def was_committed(root: Path, path: str, data: bytes) -> bool:
    """Whether a commit up to the current one gave a file just these bytes."""
    if head(root) is None:
        return False
    words = ("log", "-1", "--format=%H", "--no-textconv", "--no-ext-diff")
    found = run(root, *words, f"--find-object={blob_id(root, data, path)}", *literals([path]))
    return bool(found.line)


def dirty(root: Path, paths: Iterable[str]) -> set[str]:
    """Which of some files differ from the current commit, in the folder or in the index."""
    wanted = list(paths)
    if not wanted:
        return set()
    begin = must_stand(root).prefix
    ran = run(
        root,
        *("status", "--porcelain=v1", "-z", "--untracked-files=all", "--ignored=matching"),
        *("--no-renames", "--ignore-submodules=all", *literals(wanted)),
    )
    found = {os.fsdecode(entry[3:]) for entry in ran.out.split(b"\0") if entry}
    return {path.removeprefix(begin) for path in found} & set(wanted)


def _index_variables(root: Path) -> dict[str, str]:
    """The index that a running `git commit` made for its hooks, if it belongs to this repository.

    `git commit -a` and `git commit -- FILE` hand hooks a temporary one inside the git directory
    (golangci/golangci-lint#6513).
    """
    named = os.environ.get("GIT_INDEX_FILE", "")
    if not named:
        return {}
    place = must_stand(root)
    file = (place.top / named).resolve()
    inside = any(file.is_relative_to(folder.resolve()) for folder in (place.own, place.common))
    return {"GIT_INDEX_FILE": str(file)} if inside else {}


def staged_files(root: Path) -> dict[str, bytes]:
    """The notebook's files as they stand in the index, the one of a running commit included."""
    ran = run(root, "ls-files", "-s", "-z", env=_index_variables(root))
    # Stages 1 to 3 are the sides of an unfinished merge: there is no one content yet.
    ids = {
        path: words[1]
        for words, path in _entries(ran.out)
        if words[0] in _FILE_MODES and words[2] == "0"
    }
    contents = blobs(root, ids.values())
    return {path: contents[ident] for path, ident in ids.items() if ident in contents}
