"""Everything that a notebook holds, read at one moment.

`read_notebook` reads files that didn't change from the cache and the others cold; one bad file is
a list of problems beside the others, never the end.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from labbook.model.batch import Batch, Jars, Stability
from labbook.model.codec import from_json, to_json
from labbook.model.formula import Formula
from labbook.model.kinds import KINDS, kind_of
from labbook.model.materials import Equipment, Ingredient, Lot
from labbook.model.problems import Place, Problem, Severity
from labbook.model.settings import Protocol, Settings
from labbook.model.sheets import Sheets
from labbook.notebook.cache import Cache
from labbook.notebook.folder import HEAD, record_paths

if TYPE_CHECKING:
    from labbook.notebook.validate import ReadFile

UNTITLED = Settings(format=1, title="Notebook")
LARGEST = 2 * 1024 * 1024
Stat = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Held:
    """One file as read: its record (None when it can't be one), problems, and places of keys."""

    path: str
    kind: str
    record: Any
    problems: tuple[Problem, ...]
    places: Mapping[str, tuple[int, int]]

    def place(self, *steps: str | int) -> Place:
        """Where a key stands, or the nearest one above it."""
        parts = [str(step) for step in steps]
        while parts:
            if (found := self.places.get("/".join(parts))) is not None:
                return Place(self.path, *found)
            parts.pop()
        return Place(self.path)


@dataclass(frozen=True)
class Snapshot:
    """All files of a notebook by path, and views of them by what they are."""

    root: Path
    files: Mapping[str, Held]

    def _by_stem(self, kind: str) -> dict[str, Any]:
        return {
            Path(path).stem: held.record
            for path, held in self.files.items()
            if held.kind == kind and held.record is not None
        }

    def _by_batch(self, kind: str) -> dict[str, Any]:
        return {
            Path(path).parent.name: held.record
            for path, held in self.files.items()
            if held.kind == kind and held.record is not None
        }

    @cached_property
    def settings(self) -> Settings:
        """`labbook.yaml`, or a bare head where that file can't be read."""
        held = self.files.get(HEAD)
        return held.record if held and held.record else UNTITLED

    @cached_property
    def formulas(self) -> dict[str, Formula]:
        """Formulas by code (the name of the file)."""
        return self._by_stem("formula")

    @cached_property
    def ingredients(self) -> dict[str, Ingredient]:
        """Ingredient sheets by name."""
        return self._by_stem("ingredient")

    @cached_property
    def sheets(self) -> Sheets:
        """The sheets, to be found by any of their names."""
        return Sheets(self.ingredients)

    @cached_property
    def lots(self) -> dict[str, Lot]:
        """Lots by name."""
        return self._by_stem("lot")

    @cached_property
    def equipment(self) -> dict[str, Equipment]:
        """Equipment by name."""
        return self._by_stem("equipment")

    @cached_property
    def protocols(self) -> dict[str, Protocol]:
        """Protocols by name."""
        return self._by_stem("protocol")

    @cached_property
    def batches(self) -> dict[str, Batch]:
        """Batches by full id, dropped ones too."""
        return self._by_batch("batch")

    @cached_property
    def jars(self) -> dict[str, Jars]:
        """Jars by full batch id."""
        return self._by_batch("jars")

    @cached_property
    def stability(self) -> dict[str, Stability]:
        """Looks by full batch id."""
        return self._by_batch("stability")

    @property
    def problems(self) -> list[Problem]:
        """Problems inside single files, errors first."""
        found = [problem for held in self.files.values() for problem in held.problems]
        return sorted(found, key=lambda problem: problem.sort_key)

    def of_batch(self, batch_id: str, file: str = "batch.yaml") -> Held | None:
        """A file of a batch by its full id."""
        tail = f"/{batch_id}/{file}"
        return next((held for path, held in self.files.items() if path.endswith(tail)), None)


def _held(read: ReadFile) -> Held:
    return Held(read.path, read.kind, read.record, read.problems, read.places)


def read_bytes(path: str, raw: bytes) -> Held:
    """One file from its bytes, cold."""
    from labbook.notebook.validate import read_file

    return _held(read_file(raw, path))


def held_to_json(held: Held) -> Any:
    """A file as read, for the cache."""
    problems = [
        [p.severity.value, p.rule, p.place.line, p.place.column, p.what, p.mend, p.source, p.about]
        for p in held.problems
    ]
    record = None if held.record is None else to_json(held.record)
    return {
        "record": record,
        "problems": problems,
        "places": {k: list(v) for k, v in held.places.items()},
    }


def held_from_json(path: str, kind: str, data: Any) -> Held:
    """A file as read before, from the cache."""
    problems = tuple(
        Problem(Severity(s), rule, Place(path, line, column), what, mend, source, about)
        for s, rule, line, column, what, mend, source, about in data["problems"]
    )
    stored = data["record"]
    record = None if stored is None else from_json(KINDS[kind].record, stored)
    places = {k: (v[0], v[1]) for k, v in data["places"].items()}
    return Held(path, kind, record, problems, places)


def _unreadable(path: str, kind: str, error: OSError) -> Held:
    what = f"{path} can't be read: {error.strerror}."
    problem = Problem(Severity.ERROR, "unreadable-file", Place(path), what, "Look at its rights.")
    return Held(path, kind, None, (problem,), {})


def _stat(path: Path) -> Stat:
    found = os.stat(path)
    return (found.st_mtime_ns, found.st_ctime_ns, found.st_size, found.st_ino)


def content_hash(raw: bytes) -> str:
    """The hash under which the cache keeps a working file's content."""
    return hashlib.sha256(raw).hexdigest()


def read_raw(path: Path) -> bytes:
    """The bytes of a file, one more than the largest allowed at most, so that size is seen."""
    with path.open("rb") as file:
        return file.read(LARGEST + 1)


def read_notebook(root: Path, paths: Iterable[str] | None = None) -> Snapshot:
    """The notebook at a root; `paths` limits it to some record files."""
    wanted = list(record_paths(root) if paths is None else paths)
    cache = Cache(root)
    try:
        return Snapshot(root, _read_all(root, wanted, cache))
    finally:
        cache.close()


def _read_all(root: Path, wanted: list[str], cache: Cache) -> dict[str, Held]:
    known = cache.hashes()
    hashes: dict[str, str] = {}
    raws: dict[str, bytes] = {}
    seen: dict[str, tuple[Stat, str]] = {}
    files: dict[str, Held | None] = dict.fromkeys(wanted)
    kinds = {path: kind.name for path in wanted if (kind := kind_of(path))}
    for path, kind in kinds.items():
        full = root / path
        key = str(full)
        try:
            stat = _stat(full)
            before = known.get(key)
            if before and before[0] == stat:
                hashes[path] = before[1]
                continue
            raws[path] = read_raw(full)
        except OSError as error:
            files[path] = _unreadable(path, kind, error)
            continue
        hashes[path] = content_hash(raws[path])
        seen[key] = (stat, hashes[path])
    stored = cache.contents((kinds[path], digest) for path, digest in hashes.items())
    fresh: dict[tuple[str, str], Any] = {}
    for path, digest in hashes.items():
        kind = kinds[path]
        # A file's own name matters to its problems (code, batch id), so the key holds the path too.
        data = stored.get((kind, digest))
        if data is not None and data.get("path") == path:
            files[path] = held_from_json(path, kind, data)
            continue
        try:
            raw = raws[path] if path in raws else read_raw(root / path)
        except OSError as error:
            files[path] = _unreadable(path, kind, error)
            continue
        files[path] = read_bytes(path, raw)
        fresh[(kind, digest)] = {"path": path, **held_to_json(files[path])}
    cache.remember(seen, fresh)
    return {path: held for path, held in files.items() if held is not None}


def read_blobs(root: Path, wanted: Mapping[str, str], kind: str) -> dict[str, Held]:
    """Contents out of history, from the cache where they were read before.

    Args:
        root: the notebook.
        wanted: blob id to the path that it stood at.
        kind: the kind of file that they all are.
    """
    from labbook.notebook import git

    cache = Cache(root)
    try:
        keys = {blob: (kind, f"git:{blob}") for blob in wanted}
        stored = cache.contents(keys.values())
        held = {
            blob: held_from_json(wanted[blob], kind, stored[key])
            for blob, key in keys.items()
            if key in stored
        }
        raws = git.blobs(root, [blob for blob in wanted if blob not in held])
        fresh: dict[tuple[str, str], Any] = {}
        for blob, raw in raws.items():
            held[blob] = read_bytes(wanted[blob], raw)
            fresh[keys[blob]] = held_to_json(held[blob])
        cache.remember({}, fresh)
    finally:
        cache.close()
    return held
