"""The notebook as a question about failures sees it: few of its batches are ever read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from labbook.evidence.book import Book
from labbook.model.formula import Formula
from labbook.notebook.index.batches import batches_naming
from labbook.notebook.index.files import Files
from labbook.work.bench import Bench
from labbook.work.diff import pinned_content


def book_of(bench: Bench) -> Book:
    """All that a question needs; contents that history doesn't hold are left out."""
    snapshot = bench.snapshot
    return _BenchBook(
        bench=bench,
        batches=snapshot.batches,
        jars=snapshot.jars,
        stability=snapshot.stability,
        contents=_Contents(bench),
        formulas=snapshot.formulas,
        sheets=snapshot.sheets,
        lots=snapshot.lots,
        equipment=snapshot.equipment,
        rules=snapshot.rulebook,
        today=bench.today,
    )


@dataclass(frozen=True, kw_only=True)
class _BenchBook(Book):
    """A book that asks the index which batches to read."""

    bench: Bench

    def made_of(self, formula_id: str) -> Iterable[str]:
        return self.bench.snapshot.batches_of.get(formula_id, ())

    def suspects(self) -> Iterable[tuple[date, str]]:
        told = ((row.suspect, row.id) for row in self.bench.rows if row.suspect)
        return [(date.fromisoformat(day), id_) for day, id_ in told]

    def may_name(self, lot: str) -> Iterable[str]:
        bench = self.bench
        files = bench.snapshot.files
        if not isinstance(files, Files):
            return bench.snapshot.batches
        known = {row.id for row in bench.rows}
        return [id_ for id_ in batches_naming(files, lot) if id_ in known]


class _Contents(Mapping[str, Formula]):
    """The content that each batch was made from, by full id; a trial's lies beside it."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._found: dict[str, Formula | None] = {}

    def __getitem__(self, id_: str) -> Formula:
        if id_ not in self._found:
            self._found[id_] = pinned_content(self._bench, self._bench.snapshot.batches[id_])
        found = self._found[id_]
        if found is None:
            raise KeyError(id_)
        return found

    def __iter__(self) -> Iterator[str]:
        return (id_ for id_ in self._bench.snapshot.batches if id_ in self)

    def __len__(self) -> int:
        return sum(1 for _ in self)
