"""What makes git show and merge a notebook's files as labbook does.

A notebook names the drivers in `.gitattributes`; what they start stands in the settings of each
clone, with the place of the program there. Each is a few words of shell that go on as plain git
would, when the program is not found or did not answer.
"""

from __future__ import annotations

import os
import shlex
import shutil
import sys
from pathlib import Path

NAME = "labbook"
ATTRIBUTE = f"*.yaml diff={NAME} merge={NAME}"
"""The line in a notebook's `.gitattributes`."""

# The answer is a word and not the exit code alone: a Python that can't start ends with 1 as well,
# which git would take for a conflict, with one side's file in its place and the other side gone.
_MERGE = """\
[ -x "$1" ] && case $("$1" {run}git-merge "$2" "$3" "$4" "$5" "$6") in \
clean) exit 0;; conflict) exit 1;; esac; \
git merge-file --marker-size="$5" -L ours -L base -L theirs "$3" "$2" "$4" && exit 0; exit 1"""

_LINES = """\
[ -x "$1" ] && "$1" {run}git-lines "$2" || cat "$2\""""

_DIFF = """\
p=$1; shift; [ -x "$p" ] && "$p" {run}git-diff "$@" && exit 0; \
if [ $# -lt 7 ]; then echo "* Unmerged path $1"; exit 0; fi; \
a=a/$1; b=b/${{8:-$1}}; echo "diff --git $a $b"; \
[ "$2" = /dev/null ] && a=/dev/null && echo "new file mode $7"; \
[ "$5" = /dev/null ] && b=/dev/null && echo "deleted file mode $4"; \
d=$(git diff --no-index --no-ext-diff --no-textconv --no-color -- "$2" "$5" | \
sed -n "/^@@/,\\$p"); \
if [ -n "$d" ]; then printf "%s\\n" "--- $a" "+++ $b" "$d"; fi; exit 0"""


def program() -> tuple[str, str]:
    """The program as git can start it: an absolute path, and what follows it before a command."""
    name = "labbook.exe" if os.name == "nt" else "labbook"
    beside = Path(sys.executable).absolute().parent / name
    if os.access(beside, os.X_OK):
        return beside.as_posix(), ""
    if found := shutil.which("labbook"):
        return Path(found).absolute().as_posix(), ""
    return Path(sys.executable).absolute().as_posix(), "-m labbook "


def settings() -> tuple[tuple[str, str], ...]:
    """The keys of git's settings, and what each is."""
    path, run = program()
    where = shlex.quote(path)
    merge, lines, diff = (
        f"sh -c '{script.format(run=run)}' {NAME} {where}" for script in (_MERGE, _LINES, _DIFF)
    )
    return (
        (f"merge.{NAME}.name", "labbook: merges by line and entry"),
        # git puts its own in for %; a path that holds one is doubled.
        (f"merge.{NAME}.driver", f"{merge.replace('%', '%%')} %O %A %B %L %P"),
        (f"diff.{NAME}.textconv", lines),
        (f"diff.{NAME}.command", diff),
    )


def set_up(root: Path) -> None:
    """Writes the drivers into the settings of this clone.

    Raises:
        GitRefused: the settings can't be written.
    """
    from labbook.notebook import git

    git.configure(root, settings())


def own_merge() -> tuple[str, ...]:
    """Words for a git command that merges on the program's own behalf.

    They name the driver also for a clone where it was never set up, and for files that no
    `.gitattributes` gives one.
    """
    name = f"merge.{NAME}.driver"
    return ("-c", f"{name}={dict(settings())[name]}", "-c", f"merge.default={NAME}")
