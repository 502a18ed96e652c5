"""What was read of each content: its record and problems as JSON, by kind, hash and program.

Contents out of history are kept under the same hash as the file that holds them, without places.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from labbook.notebook.index.store import Lost, Store
from labbook.notebook.readfile import ReadFile

Key = tuple[str, str]
"""The kind of a content, and its hash."""
_AT_ONCE = 500  # below SQLite's limit of variables in one statement


def file_hash(path: str, raw: bytes) -> str:
    """The hash of a content at its path: a file's own name matters to its problems."""
    return hashlib.sha256(path.encode("utf-8", "surrogateescape") + b"\0" + raw).hexdigest()


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


def put_contents(store: Store, fresh: Mapping[Key, ReadFile], *, instead: bool = True) -> None:
    """Keeps what was read cold, in place of what is kept already or (`instead` is False) not."""
    if not fresh:
        return
    rows = []
    for (kind, digest), held in fresh.items():
        data: dict[str, Any] = held.as_json()
        places = json.dumps(data.pop("places"), separators=(",", ":"))
        rows.append((kind, digest, store.program, json.dumps(data, separators=(",", ":")), places))

    def change(db: sqlite3.Connection) -> None:
        how = "replace" if instead else "ignore"
        db.executemany(f"insert or {how} into content values (?,?,?,?,?)", rows)

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
            which = f"kind = ? and program = ? and hash in ({_marks(some)})"
            values = (kind, store.program, *some)
            for digest, data in _select(store, "content", "hash, data", which, values):
                found[(kind, digest)] = _made(store, (kind, digest), data)
    return found


def take_content(store: Store, kind: str, digest: str) -> ReadFile | None:
    """What this program read before of one content; None where it didn't."""
    return take_contents(store, [(kind, digest)]).get((kind, digest))


def blob_hashes(store: Store, kind: str, blobs: Iterable[str]) -> dict[str, str]:
    """The hashes of contents in git that were read before, by blob id."""
    wanted = list(blobs)
    found: dict[str, str] = {}
    for start in range(0, len(wanted), _AT_ONCE):
        some = wanted[start : start + _AT_ONCE]
        which = f"kind = ? and blob in ({_marks(some)})"
        found.update(_select(store, "blob", "blob, hash", which, (kind, *some)))
    return found


def put_blobs(store: Store, kind: str, hashes: Mapping[str, str]) -> None:
    """Keeps under which hash each blob's content stands."""
    if not hashes:
        return
    rows = [(kind, blob, digest) for blob, digest in hashes.items()]

    def change(db: sqlite3.Connection) -> None:
        db.executemany("insert or replace into blob values (?,?,?)", rows)

    store.write(change)


def _marks(values: list[str]) -> str:
    return ",".join("?" * len(values))


def _select(
    store: Store, table: str, columns: str, which: str, values: tuple[str, ...]
) -> list[Any]:
    found: list[Any] = []
    for schema in ("temp", "main") if store.apart else ("main",):
        try:
            found += store.rows(f"select {columns} from {schema}.{table} where {which}", values)
        except Lost:
            return []  # nothing is known any more; whoever asked reads cold
    return found


def _made(store: Store, key: Key, data: str) -> ReadFile:
    kind, digest = key
    which = "kind = ? and program = ? and hash = ?"

    def load() -> str:
        rows = _select(store, "content", "places", which, (kind, store.program, digest))
        return str(rows[0][0]) if rows else ""

    return ReadFile.from_json(json.loads(data), _Places(load))
