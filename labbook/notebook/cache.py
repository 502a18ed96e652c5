"""What was read before: one SQLite file in the git directory, which a clone can't bring along.

It is disposable. `seen` knows the hash of a working file by its stat, `content` the record and the
problems by kind, hash and the program that read it. Anything odd about the file makes it start
afresh; without a git directory, or where it can't be written, everything is simply read cold.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import labbook
from labbook.notebook.folder import git_folder

_TABLES = """
create table if not exists seen (
  path text primary key, mtime integer, ctime integer, size integer, inode integer,
  read_at integer, hash text) without rowid;
create table if not exists content (
  kind text, hash text, program text, data text, primary key (kind, hash, program)) without rowid;
"""
_RACY_NS = 2_000_000_000  # the coarsest time stamps of common file systems
_BATCH = 500  # below SQLite's limit of variables in one statement


def program_stamp() -> str:
    """Names the program that reads: its version and when its reading modules last changed."""
    package = Path(labbook.__file__).parent
    newest = 0
    for room in ("model", "notebook"):
        with os.scandir(package / room) as entries:
            newest = max(newest, *(e.stat().st_mtime_ns for e in entries if e.name.endswith(".py")))
    return f"{labbook.__version__}+{newest}"


class Cache:
    """The opened index of one notebook, or a cache that forgets everything."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.program = program_stamp()
        self._db: sqlite3.Connection | None = None
        folder = git_folder(root)
        if folder is None:
            return
        path = folder / "labbook" / "index.sqlite"
        for _ in range(2):
            try:
                path.parent.mkdir(exist_ok=True)
                self._db = sqlite3.connect(path, timeout=2.0, isolation_level=None)
                self._db.execute("pragma synchronous = off")
                self._db.executescript(_TABLES)
                return
            except sqlite3.OperationalError:
                self._forget()
                return
            except sqlite3.DatabaseError:  # not a database: rebuilt from the files
                self._forget()
                with contextlib.suppress(OSError):
                    path.unlink()
            except OSError:
                return

    def _forget(self) -> None:
        if self._db is not None:
            self._db.close()
        self._db = None

    def close(self) -> None:
        """Closes the file."""
        self._forget()

    def _rows(self, sql: str, values: Iterable[Any] = ()) -> list[tuple[Any, ...]]:
        if self._db is None:
            return []
        try:
            return self._db.execute(sql, tuple(values)).fetchall()
        except sqlite3.DatabaseError:
            self._forget()
            return []

    def hashes(self) -> dict[str, tuple[tuple[int, int, int, int], str]]:
        """Path to (stat, hash) of each file whose hash holds while its stat is the same."""
        rows = self._rows(
            "select path, mtime, ctime, size, inode, hash from seen where read_at - mtime > ?",
            (_RACY_NS,),
        )
        return {row[0]: ((row[1], row[2], row[3], row[4]), row[5]) for row in rows}

    def contents(self, keys: Iterable[tuple[str, str]]) -> dict[tuple[str, str], Any]:
        """What was read for each (kind, hash) that this program read before."""
        wanted: dict[str, list[str]] = {}
        for kind, digest in keys:
            wanted.setdefault(kind, []).append(digest)
        found: dict[tuple[str, str], Any] = {}
        for kind, hashes in wanted.items():
            for start in range(0, len(hashes), _BATCH):
                some = hashes[start : start + _BATCH]
                marks = ",".join("?" * len(some))
                sql = "select hash, data from content where kind=? and program=?"
                sql += f" and hash in ({marks})"
                for digest, data in self._rows(sql, (kind, self.program, *some)):
                    with contextlib.suppress(ValueError):
                        found[(kind, digest)] = json.loads(data)
        return found

    def remember(
        self,
        seen: Mapping[str, tuple[tuple[int, int, int, int], str]],
        contents: Mapping[tuple[str, str], Any],
    ) -> None:
        """Keeps what was just read; failing to is no fault, the next command reads again."""
        if self._db is None or not (seen or contents):
            return
        now = time.time_ns()
        try:
            self._db.execute("begin immediate")
            self._db.executemany(
                "insert or replace into seen values (?,?,?,?,?,?,?)",
                [(path, *stat, now, digest) for path, (stat, digest) in seen.items()],
            )
            self._db.executemany(
                "insert or replace into content values (?,?,?,?)",
                [(k, h, self.program, json.dumps(d)) for (k, h), d in contents.items()],
            )
            self._db.execute("delete from content where program <> ?", (self.program,))
            self._db.execute("commit")
        except UnicodeEncodeError:  # a path that this console's encoding can't spell
            self._db.execute("rollback")
        except sqlite3.DatabaseError:
            self._forget()
