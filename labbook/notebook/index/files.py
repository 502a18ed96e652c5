"""What was read of each file: refreshed where a file changed, and taken out when asked for."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from labbook.model.kinds import kind_of
from labbook.notebook.index.contents import (
    Key,
    file_hash,
    put_contents,
    take_content,
    take_contents,
)
from labbook.notebook.index.scan import UNTOLD, Group, Stat, believed, now, scan
from labbook.notebook.index.store import Lost, Store
from labbook.notebook.readfile import ReadFile, read_bytes, read_raw, unreadable

_AT_ONCE = 200
"""Files read cold before they are written down, so that neither memory nor other commands wait."""


class Known(NamedTuple):
    """What the index tells of a file without its record."""

    kind: str
    hash: str
    readable: bool
    ident: str
    """Of a formula its id, of a batch its formula's id, of jars their protocol; else empty."""


@dataclass(slots=True)
class _Changed:
    """One group whose files are not all the ones that were read: what is known and what to read."""

    name: str
    group: Group
    stats: dict[str, Stat]
    known: dict[str, Known]


def _bytes(path: str) -> bytes:
    """A path as it is kept: names need not be UTF-8, and text in SQLite has to."""
    return path.encode("utf-8", "surrogateescape")


def _path(kept: bytes) -> str:
    return kept.decode("utf-8", "surrogateescape")


class Files(Mapping[str, ReadFile]):
    """The record files of a notebook at one moment, each read or taken out when asked for."""

    def __init__(self, store: Store) -> None:
        """Finds what changed, and reads that.

        Raises:
            Lost: the index was damaged; to be made anew.
        """
        self.store = store
        self.root = store.root
        self._held: dict[str, ReadFile] = {}
        self._groups = scan(self.root)
        self.changed = False
        """Whether any file differs from what the index held."""
        self._refresh()

    # The mapping -----------------------------------------------------------------------------

    @cached_property
    def paths(self) -> list[str]:
        """All paths in a fixed order."""
        return [path for group in self._groups.values() for path in group.paths]

    @cached_property
    def known(self) -> dict[str, Known]:
        """What is known of each file without its record, in the order of paths."""
        sql = "select path, kind, hash, readable, ident from file where book = ?"
        try:
            rows = self.store.rows(sql, (self.store.book,))
        except Lost:
            return Files(self.store).known
        stored = {_path(row[0]): Known(row[1], row[2], bool(row[3]), row[4]) for row in rows}
        return {path: stored[path] for path in self.paths if path in stored}

    def __getitem__(self, path: str) -> ReadFile:
        held = self._held.get(path)
        if held is None:
            held = self._held[path] = self._taken(path, self.known[path])
        return held

    def __contains__(self, path: object) -> bool:
        return path in self.known

    def __iter__(self) -> Iterator[str]:
        return iter(self.known)

    def __len__(self) -> int:
        return len(self.known)

    def _taken(self, path: str, known: Known) -> ReadFile:
        """A file out of the index; cold where the index has it no more."""
        found = take_content(self.store, known.kind, known.hash) if known.hash else None
        if found is not None:
            return found
        try:
            raw = read_raw(self.root / path)
        except OSError as error:
            return unreadable(path, known.kind, error)
        found = read_bytes(path, raw)
        put_contents(self.store, {(known.kind, file_hash(path, raw)): found})
        return found

    def fetch(self, paths: Iterable[str]) -> None:
        """Takes several records out at once."""
        wanted = {}
        for path in paths:
            known = self.known[path]
            if path not in self._held and known.hash:
                wanted[path] = (known.kind, known.hash)
        found = take_contents(self.store, wanted.values())
        self._held |= {path: found[key] for path, key in wanted.items() if key in found}

    def reopen(self) -> None:
        """For a copy of the process, which may not use the file that this one opened."""
        self.store.reopen()

    def forget(self) -> None:
        """Lets go of the records that were taken out: they are taken out again when asked for."""
        self._held = {path: held for path, held in self._held.items() if not self.known[path].hash}

    # Refreshing ------------------------------------------------------------------------------

    def _refresh(self) -> None:
        sql = "select name, paths, stats from groups where book = ?"
        stored = {n: (p, s) for n, p, s in self.store.rows(sql, (self.store.book,))}
        changed = [
            (name, group)
            for name, group in self._groups.items()
            if stored.get(name) != (_bytes("\0".join(group.paths)), group.stats.tobytes())
        ]
        gone = [name for name in stored if name not in self._groups]
        if not changed and not gone:
            return
        self.changed = True
        done = [self._read(self._told(name, group, stored.get(name))) for name, group in changed]
        self.store.write(lambda db: self._keep(db, done, gone))

    def _told(self, name: str, group: Group, stored: tuple[bytes, bytes] | None) -> _Changed:
        before = Group()
        if stored is not None:
            before.paths = _path(stored[0]).split("\0") if stored[0] else []
            before.stats.frombytes(stored[1])
        sql = "select path, kind, hash, readable, ident from file where book = ? and folder = ?"
        rows = self.store.rows(sql, (self.store.book, name))
        known = {_path(row[0]): Known(row[1], row[2], bool(row[3]), row[4]) for row in rows}
        return _Changed(name, group, dict(before.by_path()), known)

    def _read(self, this: _Changed) -> _Changed:
        """The group with every file known and each stat as it may be believed."""
        known: dict[str, Known] = {}
        stats: dict[str, Stat] = {}
        fresh: dict[Key, ReadFile] = {}
        for path, stat in this.group.by_path():
            before = this.known.get(path)
            if before is not None and stat != UNTOLD and this.stats.get(path) == stat:
                known[path], stats[path] = before, stat
                continue
            at = now()
            known[path] = self._known(path, before, fresh)
            stats[path] = believed(stat, at) if known[path].hash else UNTOLD
            if len(fresh) >= _AT_ONCE:
                self._put(fresh)
        self._put(fresh)
        return _Changed(this.name, this.group, stats, known)

    def _put(self, fresh: dict[Key, ReadFile]) -> None:
        put_contents(self.store, fresh)
        fresh.clear()

    def _known(self, path: str, before: Known | None, fresh: dict[Key, ReadFile]) -> Known:
        """A file whose stat is new: perhaps its content isn't."""
        kind = kind_of(path)
        name = kind.name if kind else ""
        try:
            raw = read_raw(self.root / path)
        except OSError as error:
            self._held[path] = unreadable(path, name, error)
            return Known(name, "", False, "")
        digest = file_hash(path, raw)
        if before is not None and before.hash == digest:
            return before
        held = read_bytes(path, raw)
        fresh[(name, digest)] = held
        return known_of(held, digest)

    def _keep(self, db: sqlite3.Connection, done: list[_Changed], gone: list[str]) -> None:
        book = self.store.book
        for name in [*gone, *(one.name for one in done)]:
            db.execute("delete from file where book = ? and folder = ?", (book, name))
            db.execute("delete from groups where book = ? and name = ?", (book, name))
        for one in done:
            rows = ((book, _bytes(path), one.name, *known) for path, known in one.known.items())
            db.executemany("insert or replace into file values (?,?,?,?,?,?,?)", rows)
            flat = Group()
            for path in one.group.paths:
                flat.stats.extend(one.stats[path])
            paths, stats = _bytes("\0".join(one.group.paths)), flat.stats.tobytes()
            db.execute("insert into groups values (?,?,?,?)", (book, one.name, paths, stats))
        db.execute("update book set files = files + 1 where id = ?", (book,))


def known_of(held: ReadFile, digest: str = "") -> Known:
    """What the index tells of a file as read."""
    return Known(held.kind, digest, held.record is not None, _ident(held.kind, held.record))


def _ident(kind: str, record: Any) -> str:
    if record is None:
        return ""
    if kind == "formula":
        return str(record.id)
    if kind == "batch":
        return str(record.formula.id)
    return str(record.protocol or "") if kind == "jars" else ""
