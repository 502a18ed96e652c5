"""Committing just the paths that a command wrote, with git's own commands.

`git add` and `git commit` honour hooks, signing, filters and identity. Nothing here rewrites
history, checks anything out, stashes, pushes or fetches.
"""

from __future__ import annotations

import contextlib
import os
import re
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from labbook.model.errors import GitRefused
from labbook.notebook.atomic import not_written
from labbook.notebook.githistory import _entries
from labbook.notebook.gitrun import Ran, Spawned, refusal, run
from labbook.notebook.gitstate import (
    Standing,
    git_dir,
    head,
    literal,
    literals,
    need_identity,
    state,
)
from labbook.notebook.lock import is_alive

LOCK_PATIENCE = 5.0  # seconds

_FINISH = {
    "merge": "Finish it (git commit) or leave it (git merge --abort)",
    "rebase": "Finish it (git rebase --continue) or leave it (git rebase --abort)",
    "cherry-pick": "Finish it (git cherry-pick --continue) or leave it (git cherry-pick --abort)",
    "revert": "Finish it (git revert --continue) or leave it (git revert --abort)",
    "bisect": "Leave it (git bisect reset)",
}
AFTER = "The entry is in your files; the next command that records commits it as well."
_IN_REBASE = (
    "Finish it: git add -u, without which git rebase --continue refuses, and then that; the entry "
    "becomes part of what is being rebased. Or leave it (git rebase --abort), which takes the "
    "entry out of the files: the next command that records writes it again."
)


class InTheMiddle(GitRefused):
    """Git is in the middle of something; its end may take a file back that holds an entry."""


def commit_paths(
    root: Path,
    paths: Sequence[str],
    message: str,
    *,
    on_spawn: Spawned | None = None,
    when: datetime | None = None,
) -> str | None:
    """Commits these paths as they are in the folder, and nothing else.

    Args:
        root: the notebook; its lock is held by the caller.
        paths: relative to it; a missing file is committed as deleted.
        message: kept byte for byte.
        on_spawn: is told 0 before each git command that writes, then its process id.
        when: the time of the commit; now, if left out.

    Returns:
        The commit's id; None when the last commit holds exactly this already.

    Raises:
        GitRefused: git is in the middle of something, knows no name, a hook or the signing program
            declined, or another git holds the index; with git's own words. The files stay.
    """
    doing = state(root)
    if doing:
        raise in_the_middle(doing, entry=True)
    known = _known(root, paths)
    if not known:
        return None
    # The paths come on standard input, which git gets only after `on_spawn` has noted its process:
    # should this one die before that, git finds nothing to do, and ends.
    stdin = b"".join(os.fsencode(literal(path)) + b"\0" for path in known)

    def writing(*words: str, env: dict[str, str] | None = None) -> Ran:
        line = (*words, "--pathspec-from-file=-", "--pathspec-file-nul")
        return run(root, *line, stdin=stdin, ok=(), reading=False, env=env, on_spawn=on_spawn)

    _patiently(root, lambda: writing("add", "-f"), "add")
    if _is_held(root, known):
        return None
    need_identity(root)
    stamp = {} if when is None else _dates(when)
    file = git_dir(root) / "labbook-message"
    try:
        file.write_bytes(message.encode("utf-8", "replace"))
    except OSError as error:
        raise not_written(file, error) from error
    words = ("commit", "--only", "--quiet", "--cleanup=verbatim", "-F", str(file))
    try:
        # Somebody's own `git commit` takes along whatever is staged in that moment, ours too.
        _patiently(
            root,
            lambda: writing(*words, env=stamp),
            "commit",
            or_=lambda: _is_held(root, known),
            message=message,
        )
    finally:
        with contextlib.suppress(OSError):  # one that is left is written over the next time
            file.unlink()
    return head(root)


def _is_held(root: Path, paths: Sequence[str]) -> bool:
    """Whether the last commit holds these paths as they are staged."""
    words = ("diff", "--cached", "--quiet", "--no-ext-diff", "--no-textconv", "--no-renames")
    return run(root, *words, *literals(paths), ok=(0, 1)).code == 0


def _message_file(root: Path) -> tuple[int, bytes]:
    """The file in which every git here keeps the message of its commit: when written, and what."""
    file = git_dir(root) / "COMMIT_EDITMSG"
    try:
        return file.stat().st_mtime_ns, file.read_bytes()
    except OSError:
        return 0, b""


def _is_robbed(message: str, before: tuple[int, bytes], after: tuple[int, bytes]) -> bool:
    """Whether that file was written in the meantime, and holds another message than ours."""
    subject = message.partition("\n")[0].encode("utf-8", "replace")
    return bool(subject) and after[0] != before[0] and subject not in after[1]


def in_the_middle(doing: str, *, entry: bool = False) -> InTheMiddle:
    """The error of a command that records, in the middle of what git is doing.

    Args:
        doing: what git calls it.
        entry: whether an entry stands in the files already.
    """
    after = f"{_FINISH[doing]}. {AFTER}" if entry else f"{_FINISH[doing]}."
    return InTheMiddle(
        f"git is in the middle of a {doing}, and an entry must not become part of it.",
        mend=_IN_REBASE if entry and doing == "rebase" else after,
    )


def _dates(when: datetime) -> dict[str, str]:
    if when.tzinfo is None:
        raise ValueError("the time of a commit needs an offset")
    stamp = f"@{int(when.timestamp())} {when:%z}"
    return {"GIT_AUTHOR_DATE": stamp, "GIT_COMMITTER_DATE": stamp}


def _known(root: Path, paths: Sequence[str]) -> list[str]:
    """The paths that git can say something about: in the folder, the index or the last commit."""
    wanted = list(dict.fromkeys(paths))
    gone = [path for path in wanted if not _there(root / path)]
    if not gone:
        return wanted
    index = run(root, "ls-files", "-s", "-z", *literals(gone))
    tracked = {path for _, path in _entries(index.out)}
    if head(root) is not None:
        tree = run(root, "ls-tree", "-r", "-z", "HEAD", *literals(gone)[1:])
        tracked |= {path for _, path in _entries(tree.out)}
    return [path for path in wanted if path not in gone or path in tracked]


def _there(path: Path) -> bool:
    return path.is_symlink() or path.exists()


_COARSE = 2.0  # file systems round times to at most 2 seconds
_LEFT_AFTER = 1.0
_LOCK_FILE = re.compile(r"'([^'\n]*\.lock)'")


def _lock_named(ran: Ran) -> Path | None:
    """The lock file that git failed at; its name stands in the message in any language."""
    found = _LOCK_FILE.search(ran.err) if ran.code else None
    return Path(found[1]) if found else None


_FATAL = 128
_NOTHING_DONE = 1
"""With that git ends where it has nothing to commit; killed or broken, it ends otherwise."""


def _patiently(
    root: Path,
    attempt: Callable[[], Ran],
    verb: str,
    *,
    or_: Callable[[], bool] = lambda: False,
    message: str = "",
) -> None:
    """Tries again while another git stands in the way, 5 seconds in all.

    It holds the index, moves the branch, or writes its message over ours (git reads it back from
    a file that all share). `or_` tells, where git refused in peace, that what was wanted is so
    all the same.
    """
    until = time.monotonic() + LOCK_PATIENCE
    pause = 0.05
    while True:
        before, held = head(root), _message_file(root) if message else (0, b"")
        ran = attempt()
        # Fatal, and the branch moved: another git's commit came first, which says so in any
        # language.
        overtaken = ran.code == _FATAL and head(root) != before
        robbed = ran.code == _NOTHING_DONE and _is_robbed(message, held, _message_file(root))
        met = _lock_named(ran) is not None or overtaken or (robbed and not or_())
        if not met or time.monotonic() + pause >= until:
            break
        time.sleep(pause)
        pause = min(pause * 2, 1.0)
    if ran.code == 0 or (ran.code == _NOTHING_DONE and or_()):
        return
    lock = _lock_named(ran)
    if lock is not None and lock.exists():
        raise refusal(
            verb,
            ran,
            what="Another git command is at work in this notebook, or one was cut off.",
            mend=f"Close other programs that use git here. Is there none, delete {lock}. {AFTER}",
        )
    raise refusal(
        verb,
        ran,
        what="git did not take the entry; a hook, the signing program or git itself declined:",
        mend=f"Mend what git names. {AFTER}",
    )


def _locks_of_branches(place: Standing) -> list[Path]:
    return [place.own / "HEAD.lock", *(place.common / "refs" / "heads").rglob("*.lock")]


def clear_left_locks(place: Standing, since: float) -> None:
    """Removes locks of branches that a git of our own, ended by now, could not take away.

    Git says nothing where the disk refuses that, and every later commit would fail. It holds such
    a lock for milliseconds, so one that stands on for a second was left.

    Args:
        place: the repository.
        since: seconds since the epoch when that git was started; older locks are somebody else's.
    """

    def standing_now() -> dict[Path, tuple[int, int]]:
        found = {}
        for file in _locks_of_branches(place):
            with contextlib.suppress(OSError):
                seen = file.stat()
                if seen.st_mtime >= since - _COARSE:
                    found[file] = (seen.st_ino, seen.st_mtime_ns)
        return found

    first = standing_now()
    if not first:
        return
    time.sleep(_LEFT_AFTER)
    for file, seen in standing_now().items():
        if first.get(file) == seen:
            with contextlib.suppress(OSError):
                file.unlink()


def clear_dead_locks(place: Standing, since: float, until: float) -> list[str]:
    """Removes lock files that git commands of our own left when they were killed.

    Args:
        place: the repository.
        since: seconds since the epoch when the entry began; older locks are somebody else's.
        until: latest time at which one of our commands, all dead now, can have taken a lock.

    Returns:
        The names of the removed files.
    """
    names = [*place.own.glob("*.lock"), *place.common.glob("*.lock")]
    names += (place.common / "refs").rglob("*.lock")
    # Left behind, it would end all housekeeping without a word; gc has a lock of its own besides.
    names.append(place.common / "objects" / "maintenance.lock")
    names = [file for file in dict.fromkeys(names) if not file.name.startswith("next-index-")]
    # The index of `git commit --only`, named after its process.
    for file in place.own.glob("next-index-*.lock"):
        number = file.stem.removeprefix("next-index-")
        if number.isdecimal() and not is_alive(int(number)):
            names.append(file)
    removed: list[str] = []
    for file in names:
        try:
            taken = file.stat().st_mtime
            if since - _COARSE <= taken <= until:
                file.unlink()
                removed.append(file.name)
        except OSError:
            continue  # not there; or, on Windows, held open by a command that is alive after all
    return removed
