"""The whole notebook for the journal's filter, each record taken out of its file when needed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from labbook.journal import publish
from labbook.journal.book import Book
from labbook.model.rulebook import RuleBook
from labbook.notebook.entries import read_entries
from labbook.notebook.folder import BATCH_FILES
from labbook.notebook.index.files import Files, Known
from labbook.work.bench import Bench
from labbook.work.label import starter_sheet


def book_of(bench: Bench) -> Book:
    """The whole notebook, private parts too, for the filter."""
    snapshot = bench.snapshot
    public = any(publish.is_public(formula) for formula in snapshot.formulas.values())
    return NotebookBook(
        bench=bench,
        settings=snapshot.settings,
        formulas=snapshot.formulas,
        versions=bench.history.versions if public else {},
        batches=snapshot.batches,
        jars=snapshot.jars,
        stability=snapshot.stability,
        ingredients=snapshot.ingredients,
        equipment=snapshot.equipment,
        entries=read_entries(bench.root),
        trials=snapshot.trials,
        rules=snapshot.rulebook if public else RuleBook(),
        photos=snapshot.photos,
        starter=starter_sheet,
    )


@dataclass(frozen=True, kw_only=True)
class NotebookBook(Book):
    """The records of a notebook's files; what changed is told by the hashes of the files."""

    bench: Bench

    @cached_property
    def _known(self) -> Mapping[str, Known]:
        return self.bench.snapshot.known

    @cached_property
    def code_of(self) -> Mapping[str, str]:
        """Code by the permanent id of a formula, out of the index."""
        return dict(reversed(self.bench.snapshot.formula_ids))

    @cached_property
    def made_of(self) -> Mapping[str, tuple[str, ...]]:
        """The batches of each formula, out of the index."""
        return self.bench.snapshot.batches_of

    def stamp(self, formula_id: str) -> str:
        """The hashes of the files, and what history says of the versions."""
        return "\n".join(self._hashes(formula_id))

    def _hashes(self, formula_id: str) -> Iterator[str]:
        code = self.code_of.get(formula_id)
        if code is not None:
            yield _told(self.versions, code)
        for path in self._paths(formula_id):
            yield f"{path} {self._hash(path)}"

    def _hash(self, path: str) -> str:
        known = self._known.get(path)
        return (known and known.hash) or repr(self.bench.snapshot.files[path].record)

    def reopen(self) -> None:
        """Opens the index anew."""
        files = self.bench.snapshot.files
        if isinstance(files, Files):
            files.reopen()

    def turn_to(self, formula_ids: Iterable[str]) -> None:
        """Lets go of all records, and takes the named ones out of the index at once."""
        files = self.bench.snapshot.files
        if hasattr(self.versions, "forget"):
            self.versions.forget()
        if isinstance(files, Files):
            files.forget()
            files.fetch(path for id_ in formula_ids for path in self._paths(id_))

    def _paths(self, formula_id: str) -> Iterator[str]:
        """The files of a formula and its batches."""
        code = self.code_of.get(formula_id)
        if code is not None:
            yield f"formulas/{code}.yaml"
        for id_ in self.made_of.get(formula_id, ()):
            folder = self.bench.snapshot.batch_folders[id_]
            found = (f"{folder}/{file}" for file in BATCH_FILES)
            yield from (path for path in found if path in self._known)


def _told(versions: Mapping[str, Any], code: str) -> str:
    """What history says of the versions of a formula, as short as it can be said."""
    stamp = getattr(versions, "stamp", None)
    return str(stamp(code)) if stamp else repr(versions.get(code, ()))
