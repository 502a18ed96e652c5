"""All that the program asks of git, in one place; the rest never sees git's output.

Each function takes the notebook's folder. `labbook.notebook.gitrun` is the only module that starts
git; hooks, signing and identity are the person's own, history is only ever added to.
"""

from __future__ import annotations

from labbook.notebook.gitcommit import (
    InTheMiddle,
    clear_dead_locks,
    clear_left_locks,
    commit_paths,
)
from labbook.notebook.githistory import (
    Commit,
    FileChange,
    blob_at,
    blob_id,
    blobs,
    changes,
    dirty,
    extends,
    staged_files,
    tree_at,
    was_committed,
)
from labbook.notebook.gitmerge import end_merge, is_clear_for, is_hollow
from labbook.notebook.gitrun import available, sealed
from labbook.notebook.gitstate import (
    Standing,
    branch,
    branches_elsewhere,
    common_dir,
    configure,
    git_dir,
    head,
    identity,
    must_stand,
    need_identity,
    prefix,
    resolve,
    revision_on,
    set_identity,
    standing,
    start,
    state,
    toplevel,
)

__all__ = [
    "Commit",
    "FileChange",
    "InTheMiddle",
    "Standing",
    "available",
    "blob_at",
    "blob_id",
    "blobs",
    "branch",
    "branches_elsewhere",
    "changes",
    "clear_dead_locks",
    "clear_left_locks",
    "commit_paths",
    "common_dir",
    "configure",
    "dirty",
    "end_merge",
    "extends",
    "git_dir",
    "head",
    "identity",
    "is_clear_for",
    "is_hollow",
    "must_stand",
    "need_identity",
    "prefix",
    "resolve",
    "revision_on",
    "sealed",
    "set_identity",
    "staged_files",
    "standing",
    "start",
    "state",
    "toplevel",
    "tree_at",
    "was_committed",
]
