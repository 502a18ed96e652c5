"""What git's log said of a folder.

The log of a commit never changes, so only what came since the last time is asked for. Where the
commit known is no ancestor of the current one (another branch, a rebase), or a merge came since,
which may bring older commits between the known ones, all of it is asked for. Shallow or grafted
history, which changes under one commit, is never kept: it stands in memory, as a table that another
command replaced does.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from datetime import datetime
from itertools import groupby
from pathlib import Path
from typing import Any

from labbook.notebook import git
from labbook.notebook.folder import git_folder
from labbook.notebook.git import Commit, FileChange
from labbook.notebook.index.store import Lost, Store

FORMULAS = "formulas"
BATCHES = "batches"

_CHANGES = (
    "select l.place, l.data, c.path, c.old, c.new, c.status from logged l join change c"
    " on c.book = l.book and c.folder = l.folder and c.place = l.place"
    " where l.book = ? and l.folder = ?"
)
_ORDER = " order by l.place, c.nth"


class CommitLog:
    """The commits that touched a folder, up to the current one, which stays the same one.

    Attributes:
        head: the current commit; empty before the first one.
        store: where it stands: the index, or memory.
    """

    def __init__(self, store: Store, folder: str) -> None:
        """Catches up with git.

        Raises:
            GitRefused: git is missing, or the notebook is in no repository.
        """
        self.folder = folder
        self.store = store
        self.told = ""
        """What is known of the contents, beyond the commits."""
        self.head = git.head(store.root) or ""
        if not self.head:
            return
        if _may_change(store.root):
            self.store = Store(store.root, kept=False)
        try:
            self._catch_up()
        except Lost:
            self._catch_up()  # the index is an empty one in memory now

    # Reading ---------------------------------------------------------------------------------

    def rows(self, sql: str, values: Iterable[Any]) -> list[tuple[Any, ...]]:
        """What a select finds, as of this log's commit; its first value is the notebook's number.

        Where another command went on from there, as on another branch, the log is made anew in
        memory; so a select sees one history from first to last.
        """
        if not self.head:
            return []
        try:
            state, found = self.store.at_once(
                (_STATE, (self.store.book, self.folder)), (sql, (self.store.book, *values))
            )
            if state == [(self.head, self.told)]:
                return found
        except Lost:
            pass
        self.store = Store(self.store.root, kept=False)
        self._catch_up()
        return self.store.rows(sql, (self.store.book, *values))

    def commits(self) -> list[Commit]:
        """All of them, oldest first, as `git.changes` tells them."""
        return self._commits(_CHANGES + _ORDER)

    def touching(self, under: str) -> list[Commit]:
        """Those that touched a path or what stands under it, with just these changes."""
        within = " and (c.path = ? or (c.path >= ? and c.path < ?))"
        path = _bytes(under)
        return self._commits(_CHANGES + within + _ORDER, path, path + b"/", path + b"0")

    def _commits(self, sql: str, *values: object) -> list[Commit]:
        rows = self.rows(sql, (self.folder, *values))
        return [
            commit_of(data, (change_of(*row[2:]) for row in some))
            for (_, data), some in groupby(rows, key=lambda row: (row[0], row[1]))
        ]

    # Catching up -----------------------------------------------------------------------------

    def _catch_up(self) -> None:
        store, root = self.store, self.store.root
        known = store.rows(_STATE, (store.book, self.folder))
        old = str(known[0][0]) if known else ""
        if old == self.head:
            return
        since = old if old and git.extends(root, old, self.head) else None
        self._keep(git.changes(root, self.head, self.folder, since=since), since)

    def _keep(self, new: list[Commit], since: str | None) -> None:
        """Keeps commits; what another command kept meanwhile that was quicker is left alone."""
        book, folder = self.store.book, self.folder

        def change(db: sqlite3.Connection) -> None:
            place = 0
            if since is None:
                for table in ("logged", "change"):
                    db.execute(f"delete from {table} where book = ? and folder = ?", (book, folder))
            else:
                now = db.execute(_STATE, (book, folder)).fetchone()
                if now is None or now[0] != since:
                    return
                last = "select max(place) from logged where book = ? and folder = ?"
                place = (db.execute(last, (book, folder)).fetchone()[0] or 0) + 1
            for at, commit in enumerate(new, place):
                db.execute("insert into logged values (?,?,?,?)", (book, folder, at, _data(commit)))
                rows = (
                    (book, folder, at, n, _bytes(f.path), f.old_blob, f.new_blob, f.status)
                    for n, f in enumerate(commit.files)
                )
                db.executemany("insert into change values (?,?,?,?,?,?,?,?)", rows)
            head = (book, folder, self.head, "")
            db.execute("insert or replace into history values (?,?,?,?)", head)

        self.store.write(change)


_STATE = "select head, told from history where book = ? and folder = ?"


def _bytes(path: str) -> bytes:
    """A path as it is kept: names need not be UTF-8, and text in SQLite has to."""
    return path.encode("utf-8", "surrogateescape")


def _data(commit: Commit) -> str:
    plain = (commit.id, commit.parents, commit.when.isoformat(), commit.author)
    return json.dumps([*plain, commit.subject, commit.body], separators=(",", ":"))


def commit_of(data: str, files: Iterable[FileChange] = ()) -> Commit:
    """A commit out of the index."""
    ident, parents, when, author, subject, body = json.loads(data)
    moment = datetime.fromisoformat(when)
    return Commit(ident, tuple(parents), moment, author, subject, body, tuple(files))


def change_of(path: bytes, old: str | None, new: str | None, status: str) -> FileChange:
    """A change of a file out of the index."""
    return FileChange(path.decode("utf-8", "surrogateescape"), old, new, status)


def _may_change(root: Path) -> bool:
    """Whether one commit's history can become another: shallow, grafted or replaced."""
    folder = git_folder(root)
    if folder is None:
        return True
    named = folder / "commondir"
    common = folder / named.read_text("utf-8").strip() if named.is_file() else folder
    replaced = common / "refs" / "replace"
    packed = common / "packed-refs"
    return (
        (common / "shallow").exists()
        or (common / "info" / "grafts").exists()
        or (replaced.is_dir() and any(replaced.iterdir()))
        or (packed.is_file() and b" refs/replace/" in packed.read_bytes())
    )
