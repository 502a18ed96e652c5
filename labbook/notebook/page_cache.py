"""What was written of each page: its key, its files, and how the search finds it.

One SQLite file for each folder of a site, in the git directory, which a clone can't bring along. It
is disposable: without it every page is written again. Names of files stand in it before the files
are written, so that after a killed build it is known whose they are.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import labbook
from labbook.notebook.folder import git_folder
from labbook.notebook.site_folder import Stat

_TABLES = """
create table if not exists page (
  path text primary key, key text, files text, found text, broken text) without rowid;
create table if not exists file (path text, digest text, primary key (path, digest)) without rowid;
"""


def program_that_writes() -> str:
    """Names the program: its version, and when any of its modules last changed."""
    package = Path(labbook.__file__).parent
    newest = 0
    waiting = [package]
    while waiting:
        with os.scandir(waiting.pop()) as entries:
            for entry in entries:
                if entry.is_dir() and entry.name != "__pycache__":
                    waiting.append(Path(entry.path))
                elif entry.name.endswith((".py", ".yaml")):
                    newest = max(newest, entry.stat().st_mtime_ns)
    return f"{labbook.__version__}+{newest}"


@dataclass(frozen=True, slots=True)
class Row:
    """A page that was written: `files` by path with digest and stat; `found` and `broken` as JSON.

    `broken` lists the blocks of it that can't be shown.
    """

    key: str
    files: Mapping[str, tuple[str, Stat]]
    found: Any
    broken: Any


class PageCache:
    """What was written into one folder; a cache that forgets everything where it can't be kept."""

    def __init__(self, notebook: Path, folder: Path) -> None:
        self._db: sqlite3.Connection | None = None
        home = git_folder(notebook)
        if home is None:
            return
        name = hashlib.sha256(os.fsencode(folder.resolve())).hexdigest()[:16]
        path = home / "labbook" / f"pages-{name}.sqlite"
        for _ in range(2):
            try:
                path.parent.mkdir(exist_ok=True)
                self._db = sqlite3.connect(path, timeout=2.0, isolation_level=None)
                self._db.execute("pragma synchronous = off")
                self._db.executescript(_TABLES)
                return
            except sqlite3.OperationalError:
                self.close()
                return
            except sqlite3.DatabaseError:  # not a database: all is written again
                self.close()
                with contextlib.suppress(OSError):
                    path.unlink()
            except OSError:
                return

    def close(self) -> None:
        """Closes the file."""
        if self._db is not None:
            self._db.close()
        self._db = None

    def rows(self) -> dict[str, Row]:
        """Every page by its path."""
        if self._db is None:
            return {}
        try:
            found = self._db.execute("select path, key, files, found, broken from page").fetchall()
            return {path: _row(*rest) for path, *rest in found}
        except (sqlite3.DatabaseError, ValueError, KeyError, TypeError):
            self.close()
            return {}

    def own(self) -> dict[str, set[str]]:
        """Every file that was or may have been written, with the digests of its contents."""
        found: dict[str, set[str]] = {}
        if self._db is None:
            return found
        try:
            for path, digest in self._db.execute("select path, digest from file"):
                found.setdefault(path, set()).add(digest)
        except sqlite3.DatabaseError:
            self.close()
        return found

    def intend(self, files: Iterable[tuple[str, str]]) -> None:
        """Notes files, with the digests of their contents, before they are written."""
        self._write("insert or ignore into file values (?,?)", files)

    def keep(self, rows: Mapping[str, Row]) -> None:
        """Notes pages that were written."""
        self._write(
            "insert or replace into page values (?,?,?,?,?)",
            [
                (path, row.key, *map(json.dumps, (row.files, row.found, row.broken)))
                for path, row in rows.items()
            ],
        )

    def settle(self, pages: Iterable[str], files: Mapping[str, str]) -> None:
        """At the end: forgets every other page, and every content that no file has any more."""
        gone = self.rows_named() - set(pages)
        self._write("delete from page where path=?", [(path,) for path in gone])
        old = [
            (path, digest)
            for path, digests in self.own().items()
            for digest in digests
            if files.get(path) != digest
        ]
        self._write("delete from file where path=? and digest=?", old)

    def rows_named(self) -> set[str]:
        """The paths of the pages that it knows."""
        if self._db is None:
            return set()
        return {path for (path,) in self._db.execute("select path from page")}

    def _write(self, sql: str, values: Iterable[tuple[Any, ...]]) -> None:
        held = list(values)
        if self._db is None or not held:
            return
        try:
            self._db.execute("begin immediate")
            self._db.executemany(sql, held)
            self._db.execute("commit")
        except (sqlite3.DatabaseError, UnicodeEncodeError):
            self.close()


def _row(key: str, files: str, found: str, broken: str) -> Row:
    held = {
        path: (str(digest), (int(at[0]), int(at[1]), int(at[2])))
        for path, (digest, at) in json.loads(files).items()
    }
    return Row(key, held, json.loads(found), json.loads(broken))
