"""Everything that a notebook holds, read at one moment.

Of a large notebook a command needs little: records are taken out of the index one by one, when
they are asked for. One bad file is a list of problems beside the others, never the end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.materials import Equipment, Ingredient, Lot
from labbook.model.photos import Photos
from labbook.model.problems import Problem
from labbook.model.reactions import Reactions
from labbook.model.rulebook import RuleBook
from labbook.model.settings import Protocol, Settings
from labbook.model.sheets import Sheets
from labbook.notebook.cache import read_blobs
from labbook.notebook.folder import HEAD
from labbook.notebook.readfile import ReadFile, read_bytes, read_raw

if TYPE_CHECKING:
    from labbook.notebook.index.files import Known

__all__ = ["Records", "Snapshot", "read_blobs", "read_bytes", "read_notebook", "read_raw"]

UNTITLED = Settings(format=1, title="Notebook")
Record = TypeVar("Record", covariant=True)


class Records(Mapping[str, Record]):
    """Records by name, each taken from its file when asked for; files without one are left out."""

    def __init__(self, files: Mapping[str, ReadFile], paths: Mapping[str, str]) -> None:
        self._files = files
        self._paths = paths

    def __getitem__(self, name: str) -> Record:
        record: Record = cast("Record", self._files[self._paths[name]].record)
        return record

    def __contains__(self, name: object) -> bool:
        return name in self._paths

    def __iter__(self) -> Iterator[str]:
        return iter(self._paths)

    def __len__(self) -> int:
        return len(self._paths)


@dataclass(frozen=True)
class Snapshot:
    """All files of a notebook by path, and views of them by what they are."""

    root: Path
    files: Mapping[str, ReadFile]

    @cached_property
    def known(self) -> Mapping[str, Known]:
        """What each file is, without its record where the index tells it."""
        from labbook.notebook.index.files import Files, known_of

        if isinstance(self.files, Files):
            return self.files.known
        return {path: known_of(held) for path, held in self.files.items()}

    def _by_stem(self, kind: str) -> Records[Any]:
        return self._records(kind, lambda path: Path(path).stem)

    def _by_batch(self, kind: str) -> Records[Any]:
        return self._records(kind, lambda path: path.split("/")[-2])

    def _records(self, kind: str, named: Callable[[str], str]) -> Records[Any]:
        paths = {
            named(path): path
            for path, known in self.known.items()
            if known.kind == kind and known.readable
        }
        return Records(self.files, paths)

    @cached_property
    def formula_ids(self) -> tuple[tuple[str, str], ...]:
        """Permanent id and code of each formula, by code."""
        return tuple(
            (known.ident, Path(path).stem)
            for path, known in self.known.items()
            if known.kind == "formula" and known.readable
        )

    @cached_property
    def _code_of(self) -> dict[str, str]:
        return dict(reversed(self.formula_ids))

    @cached_property
    def batches_of(self) -> Mapping[str, tuple[str, ...]]:
        """The full ids of the batches of each formula, by its permanent id, dropped ones too."""
        found: dict[str, list[str]] = {}
        for path, known in self.known.items():
            if known.kind == "batch" and known.readable:
                found.setdefault(known.ident, []).append(path.split("/")[-2])
        return {id_: tuple(batches) for id_, batches in found.items()}

    def formula_of(self, batch: Batch) -> Formula | None:
        """The formula that a batch was made of, as it stands today; its id tells which."""
        code = self._code_of.get(batch.formula.id)
        return self.formulas[code] if code is not None else None

    @cached_property
    def settings(self) -> Settings:
        """`labbook.yaml`, or a bare head where that file can't be read."""
        held = self.files.get(HEAD)
        return held.record if held and held.record else UNTITLED

    @cached_property
    def formulas(self) -> Mapping[str, Formula]:
        """Formulas by code (the name of the file)."""
        return self._by_stem("formula")

    @cached_property
    def ingredients(self) -> Mapping[str, Ingredient]:
        """Ingredient sheets by name."""
        return self._by_stem("ingredient")

    @cached_property
    def sheets(self) -> Sheets:
        """The sheets, to be found by any of their names."""
        return Sheets(self.ingredients)

    @cached_property
    def lots(self) -> Mapping[str, Lot]:
        """Lots by name."""
        return self._by_stem("lot")

    @cached_property
    def equipment(self) -> Mapping[str, Equipment]:
        """Equipment by name."""
        return self._by_stem("equipment")

    @cached_property
    def protocols(self) -> Mapping[str, Protocol]:
        """Protocols by name."""
        return self._by_stem("protocol")

    @cached_property
    def rulebook(self) -> RuleBook:
        """The rules of the trade: the program's, and over them the notebook's own."""
        from labbook.notebook.rulebook import read_rulebook

        return read_rulebook(self.root, self._by_stem("rules"))

    @cached_property
    def batches(self) -> Mapping[str, Batch]:
        """Batches by full id, dropped ones too."""
        return self._by_batch("batch")

    @cached_property
    def trials(self) -> Mapping[str, Formula]:
        """Contents of trial batches, which are no version, by full batch id."""
        return self._by_batch("trial")

    @cached_property
    def jars(self) -> Mapping[str, Jars]:
        """Jars by full batch id."""
        return self._by_batch("jars")

    @cached_property
    def stability(self) -> Mapping[str, Stability]:
        """Looks by full batch id."""
        return self._by_batch("stability")

    @cached_property
    def reactions(self) -> Mapping[str, Reactions]:
        """Reactions and complaints by full batch id; private."""
        return self._by_batch("reactions")

    @cached_property
    def photos(self) -> Mapping[str, Photos]:
        """Photos by full batch id."""
        return self._by_batch("photos")

    @property
    def problems(self) -> list[Problem]:
        """Problems inside single files, errors first."""
        found = [problem for held in self.files.values() for problem in held.problems]
        return sorted(found, key=lambda problem: problem.sort_key)

    @cached_property
    def batch_folders(self) -> Mapping[str, str]:
        """The folder of each batch by its full id, readable or not, like `batches/2026/ID`."""
        folders = (path.rpartition("/")[0] for path in self.known if path.startswith("batches/"))
        return {folder.rpartition("/")[2]: folder for folder in folders}

    def of_batch(self, batch_id: str, file: str = "batch.yaml") -> ReadFile | None:
        """A file of a batch by its full id."""
        folder = self.batch_folders.get(batch_id)
        return None if folder is None else self.files.get(f"{folder}/{file}")


def read_notebook(root: Path) -> Snapshot:
    """The notebook at a root: what changed since it was last read is read now."""
    from labbook.notebook.index.files import Files
    from labbook.notebook.index.store import Lost, Store

    store = Store(root)
    try:
        return Snapshot(root, Files(store))
    except Lost:  # the index was damaged; in its place stands an empty one in memory
        return Snapshot(root, Files(store))
