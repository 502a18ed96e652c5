"""What each content of a formula in history was: its id, number and digest.

Where no name of an ingredient means another sheet than before, what was found once holds for ever.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from itertools import islice
from typing import Any, NamedTuple

from labbook.model.digest import digest
from labbook.model.formula import Formula
from labbook.model.sheets import Sheets
from labbook.notebook.cache import read_blobs
from labbook.notebook.git import Commit, FileChange
from labbook.notebook.index.commits import FORMULAS, CommitLog, change_of, commit_of
from labbook.notebook.index.store import Store

_AT_ONCE = 500
"""Contents read at once where all of history is: enough for git, and few for memory."""

_UNTOLD = (
    "with blobs as ("
    " select new as blob, path, place from change where book = ?1 and folder = ?2"
    " union all select old, path, place from change where book = ?1 and folder = ?2)"
    " select blob, path, min(place) from blobs where blob is not null"
    " and cast(path as text) like '%.yaml'"
    " and not exists (select 1 from fact where fact.book = ?1 and fact.blob = blobs.blob)"
    " group by blob order by min(place)"
)
_FACT = "c.path, c.old, c.new, c.status, f.number, f.digest, o.number"
_OLD = "left join fact o on o.book = f.book and o.blob = c.old and o.formula = f.formula"
_STEPS = (
    "select {} from fact f"
    " cross join change c on c.book = f.book and c.new = f.blob and c.folder = 'formulas'"
    f" {_OLD} {{}} where +f.book = ?1 and f.formula = ?2 order by c.place, c.nth"
)
_ALL_STEPS = (
    f"select f.formula, c.place, {_FACT} from change c"
    f" cross join fact f on f.book = c.book and f.blob = c.new and f.formula <> '' {_OLD}"
    " where c.book = ? and c.folder = 'formulas' order by c.place, c.nth"
)
# A cross join is taken in the order it is written in; the sign keeps a select to the narrow index.
_LOGGED = "join logged l on l.book = c.book and l.folder = c.folder and l.place = c.place"

_ALL_TOLD = (
    "select f.formula, c.place, c.path, c.new, f.number, f.digest, l.data from change c"
    " cross join fact f on f.book = c.book and f.blob = c.new and f.formula <> ''"
    f" {_LOGGED} where c.book = ? and c.folder = 'formulas' order by c.place, c.nth"
)


class Step(NamedTuple):
    """One content of a formula that a commit brought.

    `before` is the number that the formula's content had in the file before; None where that held
    another formula or none.
    """

    place: int
    change: FileChange
    number: int
    digest: str
    before: int | None


class FormulaLog(CommitLog):
    """The commits that touched a formula, and what each content was."""

    def __init__(self, store: Store, sheets: Sheets) -> None:
        """Catches up with git, and reads the contents that the index lacks.

        Args:
            store: the index.
            sheets: ingredient sheets of today; contents are compared through them.
        """
        self._sheets = sheets
        self._index = store
        super().__init__(store, FORMULAS)

    def numbered(self) -> list[str]:
        """The id of every formula that ever had a number, in the order of the first ones."""
        sql = (
            "select f.formula from fact f join change c"
            " on c.book = f.book and c.new = f.blob and c.folder = 'formulas'"
            " where f.book = ? and f.formula <> '' and f.number <> 0"
            " group by f.formula order by min(c.place * 1000000 + c.nth)"
        )
        return [str(row[0]) for row in self.rows(sql, ())]

    def formula_in(self, blob: str) -> str:
        """The id of the formula whose content stands in a blob; empty where none does."""
        rows = self.rows("select formula from fact where book = ? and blob = ?", (blob,))
        return str(rows[0][0]) if rows else ""

    def steps(self, formula: str) -> list[Step]:
        """The contents of a formula in the order of their commits; of a merge for each parent."""
        rows = self.rows(_STEPS.format(f"c.place, {_FACT}", ""), (formula,))
        return [Step(place, change_of(*row[:4]), *row[4:]) for place, *row in rows]

    def all_steps(self) -> dict[str, list[Step]]:
        """The same of all formulas, by their ids."""
        found: dict[str, list[Step]] = {}
        for formula, place, *row in self.rows(_ALL_STEPS, ()):
            found.setdefault(formula, []).append(Step(place, change_of(*row[:4]), *row[4:]))
        return found

    def digests(self) -> dict[str, str]:
        """The digests of contents by the hash that they have as files, as far as it is known."""
        sql = (
            "select b.hash, f.digest from fact f join blob b on b.kind = 'formula'"
            " and b.blob = f.blob where f.book = ? and f.formula <> ''"
        )
        return dict(self.rows(sql, ()))

    def told_steps(self, formula: str) -> list[tuple[Commit, Step]]:
        """The same with the commit of each, which has just that change."""
        rows = self.rows(_STEPS.format(f"l.data, l.place, {_FACT}", _LOGGED), (formula,))
        steps = ((data, Step(at, change_of(*row[:4]), *row[4:])) for data, at, *row in rows)
        return [(commit_of(data, (step.change,)), step) for data, step in steps]

    def stamps(self) -> dict[str, str]:
        """By the id of each formula a text that changes with any content, commit or place of it."""
        found: dict[str, Any] = {}
        for formula, *row in self.rows(_ALL_TOLD, ()):
            found.setdefault(formula, hashlib.sha256()).update(repr(row).encode("utf-8"))
        return {formula: told.hexdigest() for formula, told in found.items()}

    # What contents were ----------------------------------------------------------------------

    def _catch_up(self) -> None:
        super()._catch_up()
        store, told = self.store, names_stamp(self._sheets)
        where = "where book = ? and folder = ?"
        key = (store.book, self.folder)
        self.told = str(store.rows(f"select told from history {where}", key)[0][0])
        if self.told == told:
            return
        if store is not self._index:
            _copy(self._index, store)
        if self._tell():
            sql = f"update history set told = ? {where}"
            store.write(lambda db: _only(db.execute(sql, (told, *key))))
            self.told = told

    def _tell(self) -> bool:
        """Finds out what each content was; whether git had them all.

        A clone in part lacks some, which may still come.
        """
        stores = {id(store): store for store in (self._index, self.store)}.values()
        for store in stores:
            _forget(store, self._sheets)
        rows = self.store.rows(_UNTOLD, (self.store.book, self.folder))
        untold = iter([(blob, path.decode("utf-8", "surrogateescape")) for blob, path, _ in rows])
        whole = True
        while some := dict(islice(untold, _AT_ONCE)):
            held = read_blobs(self.store.root, some, "formula", store=self._index)
            whole = whole and len(held) == len(some)
            found = [_fact(blob, one.record, self._sheets) for blob, one in held.items()]
            for store in stores:
                _put(store, found)
        return whole


_Found = tuple[str, str, int, str, str]


def _fact(blob: str, formula: object, sheets: Sheets) -> _Found:
    if not isinstance(formula, Formula):
        return (blob, "", 0, "", "[]")
    content = digest(formula, sheets)
    return (blob, formula.id, formula.version, content, json.dumps(_pairs(formula, sheets)))


def _pairs(formula: Formula, sheets: Sheets) -> list[tuple[str, str]]:
    names = {line.ingredient for _, line in formula.lines}
    return [(name, sheets.id_of(name)) for name in sorted(names)]


def _put(store: Store, found: list[_Found]) -> None:
    keys = {pairs: hashlib.sha256(pairs.encode("ascii")).hexdigest()[:16] for *_, pairs in found}
    namings = [(store.book, key, pairs) for pairs, key in keys.items()]
    rows = [(store.book, *fact, keys[pairs]) for *fact, pairs in found]

    def change(db: sqlite3.Connection) -> None:
        db.executemany("insert or replace into naming values (?,?,?)", namings)
        db.executemany("insert or replace into fact values (?,?,?,?,?,?)", rows)

    store.write(change)


def _copy(known: Store, store: Store) -> None:
    """Hands on what the index knows to a store in memory."""
    join = "join naming n on n.book = f.book and n.uses = f.uses"
    sql = f"select blob, formula, number, digest, pairs from fact f {join} where f.book = ?"
    _put(store, [(b, f, n, d, p) for b, f, n, d, p in known.rows(sql, (known.book,))])


def _forget(store: Store, sheets: Sheets) -> None:
    """Forgets what names of ingredients told that mean another sheet now."""
    rows = store.rows("select uses, pairs from naming where book = ?", (store.book,))
    other = [
        (store.book, uses)
        for uses, pairs in rows
        if any(sheets.id_of(name) != id_ for name, id_ in json.loads(pairs))
    ]

    def change(db: sqlite3.Connection) -> None:
        for table in ("fact", "naming"):
            db.executemany(f"delete from {table} where book = ? and uses = ?", other)

    if other:
        store.write(change)


def _only(_: object) -> None:
    """For a statement whose rows nobody wants."""


def names_stamp(sheets: Sheets) -> str:
    """Stands for the names by which ingredients are found, which digests follow from."""
    names = [(file, sheet.id, sheet.also) for file, sheet in sheets.by_file.items()]
    return hashlib.sha256(repr(names).encode("utf-8", "surrogateescape")).hexdigest()
