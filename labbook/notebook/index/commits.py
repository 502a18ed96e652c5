"""What git's log said of the formulas, and what each of their contents was: id, number, digest.

The log of a commit never changes, so only what came since the last time is asked for. Where the
commit known is no ancestor of the current one (another branch, a rebase), or a merge came since,
which may bring older commits between the known ones, all of it is asked for. Shallow or grafted
history, which changes under one commit, is never kept.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from labbook.notebook import git
from labbook.notebook.folder import git_folder
from labbook.notebook.git import Commit, FileChange
from labbook.notebook.index.store import Lost, Store

FOLDER = "formulas"


class Fact(NamedTuple):
    """What a formula's content in a blob is; an empty id where it could not be read as one."""

    id: str
    number: int
    digest: str


def formula_commits(store: Store) -> list[Commit]:
    """The commits that touched a formula, oldest first, as `git.changes` tells them."""
    root = store.root
    head = git.head(root)
    if head is None or _may_change(root):
        return git.changes(root, head, FOLDER) if head else []
    try:
        return _kept(store, head)
    except Lost:
        return git.changes(root, head, FOLDER)


def _kept(store: Store, head: str) -> list[Commit]:
    rows = store.rows("select head from history where book = ?", (store.book,))
    old = str(rows[0][0]) if rows else ""
    if old != head and not (old and git.extends(store.root, old, head)):
        found = git.changes(store.root, head, FOLDER)
        _keep(store, head, found, after=None)
        return found
    sql = "select data from logged where book = ? order by place"
    known = [_commit(json.loads(data)) for (data,) in store.rows(sql, (store.book,))]
    if old != head:
        new = git.changes(store.root, head, FOLDER, since=old)
        _keep(store, head, new, after=(old, len(known)))
        known += new
    return known


def _keep(store: Store, head: str, new: list[Commit], after: tuple[str, int] | None) -> None:
    """Keeps commits; another command that was quicker is left alone."""
    start = after[1] if after else 0

    def change(db: sqlite3.Connection) -> None:
        if after is None:
            db.execute("delete from logged where book = ?", (store.book,))
        else:
            now = db.execute("select head from history where book = ?", (store.book,)).fetchone()
            if now is None or now[0] != after[0]:
                return
        rows = ((store.book, start + n, _data(commit)) for n, commit in enumerate(new))
        db.executemany("insert into logged values (?,?,?)", rows)
        db.execute("insert or replace into history values (?,?)", (store.book, head))

    store.write(change)


def _data(commit: Commit) -> str:
    files = [[f.path, f.old_blob, f.new_blob, f.status] for f in commit.files]
    plain = (commit.id, commit.parents, commit.when.isoformat(), commit.author)
    return json.dumps([*plain, commit.subject, commit.body, files], separators=(",", ":"))


def _commit(data: list[object]) -> Commit:
    ident, parents, when, author, subject, body, files = data
    assert isinstance(parents, list)
    assert isinstance(files, list)
    return Commit(
        str(ident),
        tuple(parents),
        datetime.fromisoformat(str(when)),
        str(author),
        str(subject),
        str(body),
        tuple(FileChange(*one) for one in files),
    )


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


# What each content was ---------------------------------------------------------------------------


def facts(store: Store, names: str) -> dict[str, Fact]:
    """By blob id what is known, for sheets of these names, which digests follow from."""
    sql = "select blob, formula, number, digest from fact where book = ? and names = ?"
    try:
        rows = store.rows(sql, (store.book, names))
    except Lost:
        return {}
    return {blob: Fact(id_, number, digest) for blob, id_, number, digest in rows}


def keep_facts(store: Store, names: str, new: Mapping[str, Fact]) -> None:
    """Keeps what was found; what was found for sheets of other names goes."""

    def change(db: sqlite3.Connection) -> None:
        db.execute("delete from fact where book = ? and names <> ?", (store.book, names))
        rows: Iterable[tuple[object, ...]] = (
            (store.book, names, blob, *fact) for blob, fact in new.items()
        )
        db.executemany("insert or replace into fact values (?,?,?,?,?,?)", rows)

    try:
        store.write(change)
    except Lost:
        return
