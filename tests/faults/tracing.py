"""What strace sees of a process, and how it lets one call fail; a git that runs under it."""

from __future__ import annotations

import re
import shutil
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from tests.faults.running import PID_FILE

KINDS = {
    "write": "write",
    "pwrite64": "write",
    "ftruncate": "write",
    "openat": "open",
    "rename": "rename",
    "renameat": "rename",
    "renameat2": "rename",
    "link": "link",
    "linkat": "link",
    "unlink": "unlink",
    "unlinkat": "unlink",
    "fsync": "fsync",
    "fdatasync": "fsync",
    "mkdir": "mkdir",
    "mkdirat": "mkdir",
}
"""System calls that change what is on the disk, by what they do; `openat` where it makes a file."""

Fault = Literal["ENOSPC", "EIO", "SIGKILL"]
FAULTS: tuple[Fault, ...] = ("ENOSPC", "EIO", "SIGKILL")
Where = Literal["labbook", "git"]
WRITING = (
    *("add", "commit", "rm", "update-index", "hash-object", "commit-tree", "update-ref"),
    *("init", "config", "fetch", "merge", "push"),
)
"""What git is asked for that writes; each of them may start others."""


@dataclass(frozen=True)
class Point:
    """The n-th call of one name that a process makes, and what happens to it.

    `git` counts the gits of a command that write, from 0; labbook itself has None. `path` is what
    the call was about when it was seen, `turn` which of such calls on such a path it was: how many
    files are read before depends on how long ago they were written.
    """

    command: str
    git: int | None
    call: str
    number: int
    path: str
    fault: Fault
    turn: int = 1

    @property
    def of_index(self) -> bool:
        """Whether it is about the index, which is made anew where anything is wrong with it."""
        return "index.sqlite" in self.path

    @property
    def where(self) -> Where:
        """In whose process."""
        return "labbook" if self.git is None else "git"

    def __str__(self) -> str:
        process = "labbook" if self.git is None else f"git {self.git}"
        return f"{self.command}: {process}, {self.call} {self.number}, {self.fault}: {self.path}"


SEEING = ("-e", f"trace={','.join(KINDS)}")


def failing(point: Point) -> tuple[str, ...]:
    """The options with which strace lets one call of a process fail, or kills it there."""
    how = "signal=SIGKILL" if point.fault == "SIGKILL" else f"error={point.fault}"
    inject = f"inject={point.call}:{how}:when={point.number}"
    return ("-e", f"trace={point.call}", "-e", inject)


def git_under(folder: Path, before: Sequence[str], *, only: int | None, after: str = "") -> str:
    """A folder with a git that runs under strace where it writes.

    Args:
        folder: where to put it.
        before: strace and its options; `%` in it becomes the number of the git, from 0.
        only: the one git that is meant; None means each of them.
        after: what the shell does when that one has ended.
    """
    real = shutil.which("git")
    folder.mkdir(parents=True)
    words = " ".join(f"'{word}'" for word in before).replace("%", "'$count'")
    meant = "true" if only is None else f"[ $count = {only} ]"
    traced = f"{words} '{real}' \"$@\""
    run = f"{traced}; code=$?; {after}; exit $code" if after else f"exec {traced}"
    script = folder / "git"
    script.write_text(
        f"""#!/bin/sh
count=$(cat '{folder}/count' 2>/dev/null || echo 0)
for word; do case "$word" in {"|".join(WRITING)})
  echo $((count + 1)) > '{folder}/count'
  if {meant}; then {run}; fi
  exec '{real}' "$@";;
esac; done
exec '{real}' "$@"
""",
        encoding="utf-8",
    )
    script.chmod(0o755)
    return str(folder)


_CALL = re.compile(r"(\w+)\((.*)")


def calls(log: Path) -> Iterator[tuple[str, int, str]]:
    """The calls of a process in a log: name, number among its namesakes, what it is about."""
    counts: Counter[str] = Counter()
    for line in log.read_text(errors="replace").splitlines():
        found = _CALL.match(line)
        if found is None:
            continue
        call, rest = found[1], found[2]
        counts[call] += 1
        yield call, counts[call], rest


def changes_the_disk(call: str, rest: str) -> bool:
    if PID_FILE in rest:
        return False
    if call == "openat":
        return "O_CREAT" in rest
    to = rest.split(",")[0]
    return not re.match(r"[012]<(?!/tmp)", to) if call == "write" else True


def about(rest: str) -> str:
    """The file that a call is about, without the folders of this run."""
    quoted = re.search(r'"([^"]*)"', rest) if "AT_FDCWD" in rest or rest[:1] == '"' else None
    handle = re.search(r"<([^>]*)>", rest)
    found = quoted or handle
    name = found[1] if found else rest
    return re.sub(r"^/.*/(own|theirs|box|nb)/", "", name)


def turns(log: Path) -> Iterator[tuple[str, int, str, int]]:
    """The calls of a log, each with which of its kind on such a path it is."""
    seen: Counter[tuple[str, str]] = Counter()
    for call, number, rest in calls(log):
        key = (call, alike(about(rest)))
        seen[key] += 1
        yield call, number, rest, seen[key]


def alike(name: str) -> str:
    """A path without what differs from run to run: ids, hashes, process numbers."""
    return re.sub(
        r"[A-Z]+-[0-9]{6}-\w\w|objects/\w\w|tmp_obj_\w+|merge_file_\w+|[0-9a-f]{8,}|[0-9]+",
        "#",
        name,
    )
