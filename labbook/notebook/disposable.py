"""A small SQLite file beside git's own, which may be lost at any time: all of it can be made anew.

A clone can't bring one along. Where it can't be opened, read or written, nothing is kept.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import labbook
from labbook.notebook.folder import git_folder


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


class Disposable:
    """One such file; it forgets everything where it can't be kept."""

    def __init__(self, notebook: Path, kind: str, place: Path, tables: str) -> None:
        """Opens the file.

        Args:
            notebook: whose git directory holds it.
            kind: the first part of its name.
            place: what the rest of its name stands for, a folder.
            tables: SQL that makes its tables where they are not there.
        """
        self._db: sqlite3.Connection | None = None
        home = git_folder(notebook)
        if home is None:
            return
        name = hashlib.sha256(os.fsencode(place.resolve())).hexdigest()[:16]
        path = home / "labbook" / f"{kind}-{name}.sqlite"
        for _ in range(2):
            try:
                path.parent.mkdir(exist_ok=True)
                self._db = sqlite3.connect(path, timeout=2.0, isolation_level=None)
                self._db.execute("pragma synchronous = off")
                self._db.executescript(tables)
                return
            except sqlite3.OperationalError:
                self.close()
                return
            except sqlite3.DatabaseError:  # not a database: all is made anew
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

    def select(self, sql: str, values: Iterable[Any] = ()) -> list[tuple[Any, ...]]:
        """Rows; none where the file can't be read."""
        if self._db is None:
            return []
        try:
            return self._db.execute(sql, tuple(values)).fetchall()
        except sqlite3.DatabaseError:
            self.close()
            return []

    def write(self, sql: str, values: Iterable[tuple[Any, ...]]) -> None:
        """One statement for each of some values, all of them or none."""
        held = list(values)
        if self._db is None or not held:
            return
        try:
            self._db.execute("begin immediate")
            self._db.executemany(sql, held)
            self._db.execute("commit")
        except (sqlite3.DatabaseError, UnicodeEncodeError):
            self.close()
