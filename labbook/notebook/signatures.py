"""Which commits carry a signature, and whether the person asked git for one.

Whose a signature is, and whether it holds, is for git and the person's keys to say
(`git log --show-signature`); here only that there is one.
"""

from __future__ import annotations

import os
from pathlib import Path

from labbook.notebook.gitrun import run
from labbook.notebook.gitstate import head


def wanted(root: Path) -> bool:
    """Whether git is set to sign every commit made here (`commit.gpgSign`)."""
    ran = run(root, "config", "--type=bool", "--get", "commit.gpgSign", ok=())
    return ran.code == 0 and ran.line == "true"


def unsigned(root: Path, folder: str = ".") -> tuple[str, ...]:
    """Ids of the commits that touched the notebook and carry no signature, newest first."""
    if head(root) is None:
        return ()
    # The raw head of each commit: reading it starts no program that checks signatures.
    ran = run(root, "rev-list", "--header", "--end-of-options", "HEAD", "--", folder)
    found = []
    for commit in ran.out.split(b"\0"):
        lines = commit.lstrip(b"\n").split(b"\n\n", 1)[0].split(b"\n")
        if lines[0] and not any(line.startswith(b"gpgsig") for line in lines[1:]):
            found.append(os.fsdecode(lines[0]))
    return tuple(found)
