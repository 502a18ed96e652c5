"""A branch that holds a site and nothing else, written without a work tree or an index.

`git fast-import` makes its commits: they bear a neutral name and a fixed message, follow each other
alone, and share no history with the notebook. Nothing is pushed.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from labbook.model.errors import NotAllowed, Unclear
from labbook.notebook.gitrun import refusal, run

AUTHOR = "labbook"
MAIL = "labbook@journal.invalid"
"""A name that says nothing of the maker; the address is reserved for none (RFC 2606)."""

MESSAGE = "The journal as it is published"
_PAGE = re.compile(
    r"(?:[A-Za-z0-9_-]+/)*[A-Za-z0-9_-]+\.(?:html|md|css|svg|js|json|jpg|xml)", re.ASCII
)


@dataclass(frozen=True, slots=True)
class Branch:
    """A branch of pages: its name, its last commit ("" before the first), its files by path."""

    name: str
    tip: str
    files: Mapping[str, str]

    @property
    def ref(self) -> str:
        """Its full name."""
        return f"refs/heads/{self.name}"


def pages_branch(root: Path, name: str) -> Branch:
    """The branch of that name, if it may be written.

    Raises:
        Unclear: git takes no branch of that name.
        NotAllowed: it is checked out somewhere, or holds or held anything but a journal's pages.
    """
    if run(root, "check-ref-format", "--branch", name, ok=()).line != name:
        raise Unclear(f"{name} is no name of a branch.", mend="Like: --branch pages")
    ref = f"refs/heads/{name}"
    _must_be_free(root, name)
    symbolic = run(root, "symbolic-ref", "--quiet", ref, ok=(0, 1))
    if symbolic.code == 0:
        raise NotAllowed(f"{name} is only another name for {symbolic.line}.", mend=_ANOTHER)
    tip = run(root, "rev-parse", "--verify", "--quiet", f"{ref}^{{commit}}", ok=(0, 1)).line
    if tip:
        _must_be_ours(root, name, tip)
    return Branch(name, tip, _files(root, tip) if tip else {})


_ANOTHER = "Name a branch of its own for the pages: labbook journal build --branch pages"


def _must_be_free(root: Path, name: str) -> None:
    trees = run(root, "worktree", "list", "--porcelain").out.split(b"\n")
    if f"branch refs/heads/{name}".encode() in trees:
        raise NotAllowed(
            f"{name} is checked out; the pages would change under the files that stand there.",
            mend=f"Go to another branch there first. {_ANOTHER}",
        )


_SIGNED = "\n".join((AUTHOR, MAIL, AUTHOR, MAIL, MESSAGE))
_WHOLE = {"GIT_NO_REPLACE_OBJECTS": "1"}


def _must_be_ours(root: Path, name: str, tip: str) -> None:
    """Makes sure that a branch is a chain of our own commits, with pages alone in each of them."""

    def asked(*words: str) -> Iterator[str]:
        out = run(root, *words, tip, "--", env=_WHOLE).out
        yield from (one.decode("utf-8", "replace") for one in out.split(b"\0") if one)

    parents = run(root, "rev-list", "--parents", tip, "--", env=_WHOLE).out
    if any(line.count(b" ") > 1 for line in parents.splitlines()):
        raise _not_ours(name, "another branch was merged into it")
    for said in asked("log", "-z", "--format=%an%n%ae%n%cn%n%ce%n%B"):
        if said.rstrip("\n") != _SIGNED:
            raise _not_ours(name, f"its history has a commit of {said.partition(chr(10))[0]!r}")
    shape = ("--format=", "--name-only", "--no-renames", "--root", "--no-ext-diff")
    for path in asked("log", "-z", *shape):
        if not _PAGE.fullmatch(path):
            raise _not_ours(name, f"its history has other files, such as {path!r}")


def _not_ours(name: str, why: str) -> NotAllowed:
    return NotAllowed(f"{name} is no branch of pages: {why}. It is left alone.", mend=_ANOTHER)


def _files(root: Path, tip: str) -> dict[str, str]:
    """Every file of a commit with its id; empty for what is no plain file."""
    found = {}
    out = run(root, "ls-tree", "-r", "-z", "--full-tree", tip, env=_WHOLE).out
    for entry in out.split(b"\0")[:-1]:
        head, _, path = entry.partition(b"\t")
        mode, _, blob = head.decode("ascii").split(" ")
        found[path.decode("utf-8", "replace")] = blob if mode == "100644" else ""
    return found


def folder_name(branch: Branch) -> str:
    """A folder's name for a branch, whatever signs its name has."""
    return hashlib.sha256(branch.name.encode("utf-8", "surrogateescape")).hexdigest()[:16]


def page_at(root: Path, branch: Branch, path: str) -> bytes | None:
    """The bytes of a file of the branch; None where it has none of that name."""
    blob = branch.files.get(path)
    return run(root, "cat-file", "blob", blob, env=_WHOLE).out if blob else None


def commit_pages(
    root: Path, branch: Branch, files: Mapping[str, Path], when: datetime
) -> str | None:
    """Makes the branch hold exactly these files.

    Args:
        root: the notebook.
        branch: as `pages_branch` found it; another commit on it since is an error.
        files: where the bytes of each path are read.
        when: the time of the commit; told without the zone that somebody lives in.

    Returns:
        The new commit; None where the branch holds just that already.

    Raises:
        GitRefused: git declined; the branch is as it was.
    """
    form = run(root, "rev-parse", "--show-object-format").line
    new = {path: one for path, one in files.items() if _id(one, form) != branch.files.get(path)}
    old = sorted(branch.files.keys() - files.keys())
    if branch.tip and not new and not old:
        return None
    strange = next((path for path in files if not _PAGE.fullmatch(path)), None)
    if strange is not None:
        raise NotAllowed(f"{strange} is no page.")
    stamp = f"{AUTHOR} <{MAIL}> {int(when.astimezone(UTC).timestamp())} +0000"
    head = [f"commit {branch.ref}", f"author {stamp}", f"committer {stamp}"]
    stream = ["\n".join(head).encode(), b"\n", _data(MESSAGE.encode())]
    stream += [f"from {branch.tip}\n".encode()] if branch.tip else []
    stream += [f"D {path}\n".encode() for path in old]
    for path in sorted(new):
        stream += [f"M 100644 inline {path}\n".encode(), _data(new[path].read_bytes())]
    stream.append(b"done\n")
    env = {
        f"GIT_{role}_{key}": value
        for role in ("AUTHOR", "COMMITTER")
        for key, value in (("NAME", AUTHOR), ("EMAIL", MAIL))
    }
    words = ("fast-import", "--quiet", "--done", "--date-format=raw")
    ran = run(root, *words, stdin=b"".join(stream), ok=(), reading=False, env=env)
    if ran.code:
        raise refusal("fast-import", ran, what=f"git did not take the pages; {branch.name} stands.")
    return run(root, "rev-parse", "--verify", f"{branch.ref}^{{commit}}").line


def _data(raw: bytes) -> bytes:
    return b"data %d\n%b\n" % (len(raw), raw)


def _id(file: Path, form: str) -> str:
    """The id that git gives a file's bytes."""
    raw = file.read_bytes()
    return hashlib.new(form, b"blob %d\0%b" % (len(raw), raw), usedforsecurity=False).hexdigest()
