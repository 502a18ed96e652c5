"""A merge of ours that was cut off: its end, or the way back to what was there before.

Git changes the files first, then the index, then says in MERGE_HEAD that it merges, then commits.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterable
from pathlib import Path

from labbook.notebook.githistory import tree_at
from labbook.notebook.gitrun import run
from labbook.notebook.gitstate import git_dir, head

_FROM_INPUT = ("--pathspec-from-file=-", "--pathspec-file-nul")
_COARSE = 2.0  # file systems round times to at most 2 seconds


def end_merge(
    top: Path,
    here: str,
    there: str,
    message: str,
    *,
    since: float,
    keep: Callable[[str, bytes], None],
) -> None:
    """Ends a merge that was cut off, so that nothing of it is half there.

    Where git had merged all and only lacked the commit, it is committed; before that, every file
    that the merge would have changed goes back to what it held. A merge that waits for a person
    stays as it is.

    Args:
        top: the top of the work tree; no git is at work in it.
        here: the commit that was merged into.
        there: the commit that was merged.
        message: of the merge's commit.
        since: seconds since the epoch when it began.
        keep: is told of a file, relative to `top`, whose content git knows nothing of, before it
            goes back.

    Raises:
        GitRefused: a hook declined the commit, or the disk is full.
    """
    for file in top.glob(".merge_file_??????*"):  # git's own, for the driver, and the driver's
        with contextlib.suppress(OSError):
            if file.stat().st_mtime >= since - _COARSE:
                file.unlink()
    if head(top) != here:
        return
    marker = git_dir(top) / "MERGE_HEAD"
    if not marker.exists():
        _take_back(top, here, there, keep)
        return
    named = marker.read_text("ascii", "replace").strip()
    if not there.startswith(named):  # another merge, of the person's own
        return
    if named != there or is_hollow(top):
        _take_back(top, here, there, keep)
        run(top, "merge", "--quit", reading=False)
    elif not run(top, "ls-files", "-u", "-z").out:
        run(top, "commit", "--quiet", "-m", message, reading=False)


def is_hollow(top: Path) -> bool:
    """Whether git says that it merges and its index holds nothing of what came.

    So it is where the disk was full when the index should have been written: a commit now would
    drop all that the other side has. A person who kept one side of each conflict has the
    conflicting files in the message, each behind a tab; git writes their heading at any failure.
    """
    said = git_dir(top) / "MERGE_MSG"
    if said.exists() and b"\t" in said.read_bytes().partition(b"Conflicts:")[2]:
        return False
    words = ("diff", "--cached", "--quiet", "--no-ext-diff", "--no-textconv", "HEAD", "--")
    return run(top, *words, ok=(0, 1)).code == 0


def is_clear_for(top: Path, here: str, there: str) -> bool:
    """Whether no file that a merge would touch is changed here and not committed.

    Else git refuses before it touches any; and what a person staged must not be taken back.
    """
    words = ("status", "--porcelain=v1", "-z", "--untracked-files=all", "--no-renames")
    out = run(top, *words, "--ignore-submodules=all").out
    changed = {os.fsdecode(entry[3:]) for entry in out.split(b"\0") if entry}
    return changed.isdisjoint(_touched(top, here, there))


def _touched(top: Path, here: str, there: str) -> list[str]:
    """The files that the other side changed."""
    base = run(top, "merge-base", here, there, ok=(0, 1)).line
    if not base:  # git merges nothing where there is no common beginning
        return []
    words = ("diff", "--name-only", "-z", "--no-renames", "--no-ext-diff", "--no-textconv")
    out = run(top, *words, base, there, "--").out
    return [os.fsdecode(path) for path in out.split(b"\0") if path]


def _take_back(top: Path, here: str, there: str, keep: Callable[[str, bytes], None]) -> None:
    ours = tree_at(top, here, "")
    touched = _touched(top, here, there)
    for path in _unknown(top, touched):
        keep(path, (top / path).read_bytes())
    back = [path for path in touched if path in ours]
    if back:
        words = ("restore", f"--source={here}", "--staged", "--worktree")
        run(top, *words, *_FROM_INPUT, stdin=_literal(back), reading=False)
    fresh = [path for path in touched if path not in ours]
    if fresh:
        aside = ("rm", "--cached", "--quiet", "--ignore-unmatch")
        run(top, *aside, *_FROM_INPUT, stdin=_literal(fresh), reading=False)
    for path in fresh:
        with contextlib.suppress(OSError):
            (top / path).unlink(missing_ok=True)


def _literal(paths: Iterable[str]) -> bytes:
    return b"".join(os.fsencode(f":(literal){path}") + b"\0" for path in paths)


def _unknown(top: Path, paths: list[str]) -> list[str]:
    """Of some files those whose content is in no object of git; an empty one lacks all of it."""
    there = [path for path in paths if "\n" not in path and (top / path).is_file()]
    there = [path for path in there if (top / path).stat().st_size]
    stdin = b"".join(os.fsencode(path) + b"\n" for path in there)
    ids = os.fsdecode(run(top, "hash-object", "--stdin-paths", stdin=stdin).out).split()
    asked = "".join(f"{ident}\n" for ident in ids).encode("ascii")
    lines = os.fsdecode(run(top, "cat-file", "--batch-check", stdin=asked).out).splitlines()
    return [p for p, line in zip(there, lines, strict=True) if line.endswith(" missing")]
