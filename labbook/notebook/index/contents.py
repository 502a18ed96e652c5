"""What was read of each content: its record and problems as JSON, by kind, hash and program."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from labbook.notebook.index.store import Lost, Store
from labbook.notebook.readfile import ReadFile

Key = tuple[str, str]
"""The kind of a content, and its hash."""
_AT_ONCE = 500  # below SQLite's limit of variables in one statement


class _Places(Mapping[str, tuple[int, int]]):
    """Where each key stands; as large as the record itself, and asked for by `check` alone."""

    def __init__(self, load: Callable[[], str]) -> None:
        self._load = load
        self._found: dict[str, tuple[int, int]] | None = None

    @property
    def _all(self) -> dict[str, tuple[int, int]]:
        if self._found is None:
            flat = json.loads(self._load() or "{}")
            self._found = {key: (line, column) for key, (line, column) in flat.items()}
        return self._found

    def __getitem__(self, key: str) -> tuple[int, int]:
        return self._all[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)


def put_contents(store: Store, fresh: Mapping[Key, ReadFile]) -> None:
    """Keeps what was read cold."""
    if not fresh:
        return
    rows = []
    for (kind, digest), held in fresh.items():
        data: dict[str, Any] = held.as_json()
        places = json.dumps(data.pop("places"), separators=(",", ":"))
        rows.append((kind, digest, store.program, json.dumps(data, separators=(",", ":")), places))

    def change(db: sqlite3.Connection) -> None:
        db.executemany("insert or replace into content values (?,?,?,?,?)", rows)

    store.write(change)


def take_contents(store: Store, keys: Iterable[Key]) -> dict[Key, ReadFile]:
    """What this program read before of some contents."""
    wanted: dict[str, list[str]] = {}
    for kind, digest in keys:
        wanted.setdefault(kind, []).append(digest)
    found: dict[Key, ReadFile] = {}
    for kind, hashes in wanted.items():
        for start in range(0, len(hashes), _AT_ONCE):
            some = hashes[start : start + _AT_ONCE]
            which = f"kind = ? and program = ? and hash in ({','.join('?' * len(some))})"
            for digest, data in _select(store, "hash, data", which, (kind, store.program, *some)):
                found[(kind, digest)] = _made(store, (kind, digest), data)
    return found


def take_content(store: Store, kind: str, digest: str) -> ReadFile | None:
    """What this program read before of one content; None where it didn't."""
    return take_contents(store, [(kind, digest)]).get((kind, digest))


def _select(store: Store, columns: str, which: str, values: tuple[str, ...]) -> list[Any]:
    tables = ("temp.content", "main.content") if store.apart else ("main.content",)
    found: list[Any] = []
    for table in tables:
        try:
            found += store.rows(f"select {columns} from {table} where {which}", values)
        except Lost:
            return []  # nothing is known any more; whoever asked reads cold
    return found


def _made(store: Store, key: Key, data: str) -> ReadFile:
    kind, digest = key
    which = "kind = ? and program = ? and hash = ?"

    def load() -> str:
        rows = _select(store, "places", which, (kind, store.program, digest))
        return str(rows[0][0]) if rows else ""

    return ReadFile.from_json(json.loads(data), _Places(load))
