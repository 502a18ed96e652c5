"""Opening the index, and writing to it among other processes.

Whatever is odd about the file makes it start afresh; without a git directory it stands in memory
and everything is read cold. A command that may not write (another one does, a read-only disk)
goes on with tables of its own over the stored ones. Rows of one notebook and one program carry
their number, so that two notebooks in a repository, or two versions of the program, never see each
other's.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import labbook
from labbook.notebook.folder import git_folder

SCHEMA = 9
"""Raised with every change of a table; a file with another number is made anew."""

_BOOK = (
    "(id integer primary key autoincrement, prefix text, program text, files integer default 0,"
    " batches integer default -1, unique (prefix, program))"
)
_CONTENT = (
    "(kind text, hash text, program text, data text, places text,"
    " primary key (kind, hash, program)) without rowid"
)
_OWN = {
    "groups": "book integer, name text, paths blob, stats blob, primary key (book, name)",
    "file": "book integer, path blob, folder text, kind text, hash text, readable integer,"
    " ident text, primary key (book, path)",
    "batch": "book integer, inputs text, place integer, id text, formula text, made text,"
    " dropped integer, state text, watch text, failed integer, asks text, suspect text,"
    " label text, names text, primary key (book, id)",
    "answer": "book integer, about text, asked text, files integer, data text,"
    " primary key (book, about)",
    "history": "book integer, folder text, head text, told text, primary key (book, folder)",
    "logged": "book integer, folder text, place integer, data text,"
    " primary key (book, folder, place)",
    "change": "book integer, folder text, place integer, nth integer, path blob, old text,"
    " new text, status text, primary key (book, folder, place, nth)",
    "naming": "book integer, uses text, pairs text, primary key (book, uses)",
    "fact": "book integer, blob text, formula text, number integer, digest text, uses text,"
    " primary key (book, blob)",
}
_TABLES = {
    "book": _BOOK,
    "content": _CONTENT,
    "blob": "(kind text, blob text, hash text, primary key (kind, blob)) without rowid",
    **{name: f"({columns}) without rowid" for name, columns in _OWN.items()},
}
_INDEXES = {
    "fact_formula": "fact (formula, book)",
    "change_new": "change (book, new)",
}
_WAIT = 2.0  # seconds that another command may hold the file
_ROOMS = ("model", "trade", "evidence", "notebook", "show", "work")

_INHERITED: list[sqlite3.Connection] = []


class Lost(Exception):
    """The index was not what it should be, and stands empty in memory now; to be read anew."""


def program_stamp() -> str:
    """Names the program that fills the index: its version, and its modules as they stand."""
    package = Path(labbook.__file__).parent
    count = total = 0
    waiting = [str(package / room) for room in _ROOMS]
    while waiting:
        with os.scandir(waiting.pop()) as entries:
            for entry in entries:
                if entry.name.endswith(".py"):
                    count += 1
                    total += entry.stat().st_mtime_ns
                elif "." not in entry.name and entry.name != "__pycache__":
                    waiting.append(entry.path)
    return f"{labbook.__version__}+{count}.{total}"


class Store:
    """The opened index of one notebook."""

    def __init__(self, root: Path, *, kept: bool = True) -> None:
        """Opens it, or makes an empty one in memory that nobody else sees (`kept` is False)."""
        self.root = root
        self.program = program_stamp()
        self.apart = False
        """Whether this command writes to tables of its own, over the stored ones."""
        folder = git_folder(root) if kept else None
        self._path = folder / "labbook" / "index.sqlite" if folder else None
        self.prefix = _prefix(root)
        try:
            self._db = self._opened()
            self.book = self._numbered()
        except (sqlite3.DatabaseError, OSError):
            self._in_memory()

    # Opening ---------------------------------------------------------------------------------

    def _opened(self) -> sqlite3.Connection:
        if self._path is None:
            return _with_tables(_connect(":memory:"))
        self._path.parent.mkdir(exist_ok=True)
        for _ in range(2):
            db = _connect(str(self._path))
            try:
                return _with_tables(db)
            except sqlite3.OperationalError:  # locked or read-only, which is no fault of the file
                db.close()
                raise
            except sqlite3.DatabaseError:
                db.close()
                self._unlink()
        return _with_tables(_connect(":memory:"))

    def _unlink(self) -> None:
        if self._path is not None:
            with contextlib.suppress(OSError):
                self._path.unlink()

    def _in_memory(self) -> None:
        self._path = None
        self._db = _with_tables(_connect(":memory:"))
        self.apart = False
        self.book = self._numbered()

    def _numbered(self) -> int:
        """The number of this notebook as this program reads it; rows of other programs go."""
        sql = "select id from book where prefix = ? and program = ?"
        found = self._db.execute(sql, (self.prefix, self.program)).fetchone()
        if found is None:
            self._db.execute("begin immediate")
            self._db.execute("delete from book where program <> ?", (self.program,))
            for table in _OWN:
                self._db.execute(f"delete from {table} where book not in (select id from book)")
            self._db.execute("delete from content where program <> ?", (self.program,))
            self._db.execute(
                "insert or ignore into book (prefix, program) values (?, ?)",
                (self.prefix, self.program),
            )
            self._db.execute("commit")
            found = self._db.execute(sql, (self.prefix, self.program)).fetchone()
        return int(found[0])

    def reopen(self) -> None:
        """For a copy of the process, which may neither use nor close what this one opened."""
        if self._path is None:
            return
        _INHERITED.append(self._db)
        self.apart = False
        try:
            self._db = self._opened()
        except (sqlite3.DatabaseError, OSError):
            self._in_memory()

    def __del__(self) -> None:
        # What was taken out loads its parts late; the file closes with the last of them.
        if hasattr(self, "_db"):
            self._db.close()

    # Reading and writing ---------------------------------------------------------------------

    def rows(self, sql: str, values: Iterable[Any] = ()) -> list[tuple[Any, ...]]:
        """The rows that a select gives.

        Raises:
            Lost: the file is damaged; from now on the index is an empty one in memory.
        """
        try:
            return self._db.execute(sql, tuple(values)).fetchall()
        except sqlite3.DatabaseError as error:
            self._lose(error)
            raise Lost from error

    def at_once(self, *selects: tuple[str, Iterable[Any]]) -> list[list[tuple[Any, ...]]]:
        """The rows of several selects, between which no other command can write.

        Raises:
            Lost: as for `rows`.
        """
        try:
            self._db.execute("begin")
            try:
                return [self._db.execute(sql, tuple(of)).fetchall() for sql, of in selects]
            finally:
                self._db.execute("commit")
        except sqlite3.DatabaseError as error:
            self._lose(error)
            raise Lost from error

    def write(self, change: Callable[[sqlite3.Connection], None]) -> None:
        """Makes a change as a whole, in tables of this command's own where it may not write.

        Raises:
            Lost: as for `rows`.
        """
        try:
            self._change(change)
        except sqlite3.OperationalError as error:
            if self.apart:
                self._lose(error)
                raise Lost from error
            self._set_apart()
            self._change(change)
        except sqlite3.DatabaseError as error:
            self._lose(error)
            raise Lost from error

    def _change(self, change: Callable[[sqlite3.Connection], None]) -> None:
        self._db.execute("begin" if self.apart else "begin immediate")
        try:
            change(self._db)
            self._db.execute("commit")
        except BaseException:
            with contextlib.suppress(sqlite3.DatabaseError):
                self._db.execute("rollback")
            raise

    def _set_apart(self) -> None:
        """Copies of the small tables, which a name finds before the stored ones."""
        self.apart = True
        try:
            for table, columns in _TABLES.items():
                self._db.execute(f"create temp table {table} {columns}")
                if table in _OWN or table == "book":
                    mine = f"{'id' if table == 'book' else 'book'} = ?"
                    copied = f"insert into temp.{table} select * from main.{table} where {mine}"
                    self._db.execute(copied, (self.book,))
            for name, columns in _INDEXES.items():
                self._db.execute(f"create index temp.{name} on {columns}")
        except sqlite3.DatabaseError as error:
            self._lose(error)
            raise Lost from error

    def _lose(self, error: sqlite3.DatabaseError) -> None:
        with contextlib.suppress(sqlite3.DatabaseError):
            self._db.close()
        if not isinstance(error, sqlite3.OperationalError):
            self._unlink()
        self._in_memory()


def _connect(path: str) -> sqlite3.Connection:
    return sqlite3.connect(path, timeout=_WAIT, isolation_level=None, check_same_thread=False)


def _with_tables(db: sqlite3.Connection) -> sqlite3.Connection:
    version = db.execute("pragma user_version").fetchone()[0]
    if version != SCHEMA:
        if db.execute("select count(*) from sqlite_master").fetchone()[0]:
            db.close()
            raise sqlite3.DatabaseError("tables of another schema")
        made = [f"create table if not exists {n} {c};" for n, c in _TABLES.items()]
        made += [f"create index if not exists {n} on {c};" for n, c in _INDEXES.items()]
        script = f"begin immediate;{''.join(made)}pragma user_version={SCHEMA};commit;"
        db.executescript(script)
    return db


def _prefix(root: Path) -> str:
    """Where the notebook stands in its repository; moving the whole changes nothing."""
    for folder in (root, *root.parents):
        if (folder / ".git").exists():
            return ascii(root.relative_to(folder).as_posix())
    return ""
