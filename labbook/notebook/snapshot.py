"""Everything that a notebook holds, read at one moment.

`read_notebook` reads files that didn't change from the cache and the others cold; one bad file is
a list of problems beside the others, never the end.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.kinds import kind_of
from labbook.model.materials import Equipment, Ingredient, Lot
from labbook.model.photos import Photos
from labbook.model.problems import Place, Problem, Severity
from labbook.model.rulebook import RuleBook
from labbook.model.settings import Protocol, Settings
from labbook.model.sheets import Sheets
from labbook.notebook.cache import Cache
from labbook.notebook.folder import HEAD, record_paths
from labbook.notebook.readfile import ReadFile

UNTITLED = Settings(format=1, title="Notebook")
LARGEST = 2 * 1024 * 1024
Stat = tuple[int, int, int, int]


@dataclass(frozen=True)
class Snapshot:
    """All files of a notebook by path, and views of them by what they are."""

    root: Path
    files: Mapping[str, ReadFile]

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
    def rulebook(self) -> RuleBook:
        """The rules of the trade: the program's, and over them the notebook's own."""
        from labbook.notebook.rulebook import read_rulebook

        return read_rulebook(self.root, self._by_stem("rules"))

    @cached_property
    def batches(self) -> dict[str, Batch]:
        """Batches by full id, dropped ones too."""
        return self._by_batch("batch")

    @cached_property
    def trials(self) -> dict[str, Formula]:
        """Contents of trial batches, which are no version, by full batch id."""
        return self._by_batch("trial")

    @cached_property
    def jars(self) -> dict[str, Jars]:
        """Jars by full batch id."""
        return self._by_batch("jars")

    @cached_property
    def stability(self) -> dict[str, Stability]:
        """Looks by full batch id."""
        return self._by_batch("stability")

    @cached_property
    def photos(self) -> dict[str, Photos]:
        """Photos by full batch id."""
        return self._by_batch("photos")

    @property
    def problems(self) -> list[Problem]:
        """Problems inside single files, errors first."""
        found = [problem for held in self.files.values() for problem in held.problems]
        return sorted(found, key=lambda problem: problem.sort_key)

    def of_batch(self, batch_id: str, file: str = "batch.yaml") -> ReadFile | None:
        """A file of a batch by its full id."""
        tail = f"/{batch_id}/{file}"
        return next((held for path, held in self.files.items() if path.endswith(tail)), None)


def read_bytes(path: str, raw: bytes) -> ReadFile:
    """One file from its bytes, cold."""
    from labbook.notebook.validate import read_file

    return read_file(raw, path)


def _unreadable(path: str, kind: str, error: OSError) -> ReadFile:
    what = f"{path} can't be read: {error.strerror}."
    problem = Problem(Severity.ERROR, "unreadable-file", Place(path), what, "Look at its rights.")
    return ReadFile(path, kind, None, (problem,))


def _stat(path: Path) -> Stat:
    found = path.stat()
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


def _read_all(root: Path, wanted: list[str], cache: Cache) -> dict[str, ReadFile]:
    kinds = {path: known_kind.name for path in wanted if (known_kind := kind_of(path))}
    found: dict[str, ReadFile] = {}
    raws: dict[str, bytes] = {}
    seen: dict[str, tuple[Stat, str]] = {}
    hashes: dict[str, str] = {}
    known = cache.hashes()
    for path, kind in kinds.items():
        try:
            hashes[path] = _hash(root / path, known, seen, raws, path)
        except OSError as error:
            found[path] = _unreadable(path, kind, error)
    stored = cache.contents((kinds[path], digest) for path, digest in hashes.items())
    fresh: dict[tuple[str, str], Any] = {}
    for path, digest in hashes.items():
        key = (kinds[path], digest)
        # A file's own name matters to its problems (code, batch id): another path is read anew.
        if key in stored and stored[key]["path"] == path:
            found[path] = ReadFile.from_json(stored[key])
            continue
        try:
            found[path] = read_bytes(path, raws.get(path) or read_raw(root / path))
        except OSError as error:
            found[path] = _unreadable(path, kinds[path], error)
            continue
        fresh[key] = found[path].as_json()
    cache.remember(seen, fresh)
    return {path: found[path] for path in kinds}


def _hash(
    full: Path,
    known: Mapping[str, tuple[Stat, str]],
    seen: dict[str, tuple[Stat, str]],
    raws: dict[str, bytes],
    path: str,
) -> str:
    """The hash of a file's content, from its stat where that can be trusted."""
    stat = _stat(full)
    before = known.get(str(full))
    if before and before[0] == stat:
        return before[1]
    raws[path] = read_raw(full)
    digest = content_hash(raws[path])
    seen[str(full)] = (stat, digest)
    return digest


def read_blobs(root: Path, wanted: Mapping[str, str], kind: str) -> dict[str, ReadFile]:
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
        found = {
            blob: ReadFile.from_json(stored[key]) for blob, key in keys.items() if key in stored
        }
        raws = git.blobs(root, [blob for blob in wanted if blob not in found])
        fresh: dict[tuple[str, str], Any] = {}
        for blob, raw in raws.items():
            found[blob] = read_bytes(wanted[blob], raw)
            fresh[keys[blob]] = found[blob].as_json()
        cache.remember({}, fresh)
    finally:
        cache.close()
    return found
