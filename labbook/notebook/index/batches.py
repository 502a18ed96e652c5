"""A row for each batch: what lists and calendars ask of all batches, reckoned when a file changed.

What a row says follows from the batch's files, the formula that judges it and the protocol that
watches it. Their hashes stand beside it, so that a change reckons just its own batches anew; where
nothing changed at all, which the files tell, not even hashes are compared.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from typing import NamedTuple

from labbook.notebook.folder import BATCH_FILES
from labbook.notebook.index.files import Files, Known
from labbook.notebook.index.store import Lost

NEVER = ""
"""Of `BatchRow.watch`: nothing is ever due; dropped, or without jars."""
UNWATCHED = "without protocol"
OPEN = "open"
"""Something is due, or will be."""


class BatchRow(NamedTuple):
    """One batch as the index tells of it.

    `made` sorts, `label` is JSON, `watch` one of the words above, or the day from which on nothing
    falls due any more; `failed` tells of the jar that speaks for it, `asks` of which failed batch a
    trial or repeat was made. `suspect` is a day after which nothing was seen that may be a failure,
    empty where never anything was; `names` are those of packs, sheets, equipment and batches in its
    files, each with a line's end before and after it.
    """

    id: str
    formula: str
    made: str
    dropped: bool
    state: str
    watch: str
    failed: bool
    asks: str
    suspect: str
    label: str
    names: str = ""


_TOLD = BatchRow._fields[:-1]  # the names are long, and asked for one at a time

Reckon = Callable[[str], tuple[BatchRow, bool]]
"""Makes the row of a batch by its id; False where it follows from other files than its own."""


def batch_rows(files: Files, reckon: Reckon) -> list[BatchRow]:
    """The row of every readable batch, in the order of their folders."""
    try:
        _refresh(files, reckon)
        sql = f"select {', '.join(_TOLD)} from batch where book = ? order by place"
        rows = files.store.rows(sql, (files.store.book,))
    except Lost:
        return [reckon(id_)[0] for id_ in _batches(files.known)]
    return [BatchRow(*row) for row in rows]


def batches_naming(files: Files, name: str) -> list[str]:
    """The full ids of batches that may name something in their files, in the order of folders.

    Their rows have to be read already. Where nothing is known, all are told.
    """
    sql = "select id from batch where book = ? and instr(names, ?) order by place"
    try:
        rows = files.store.rows(sql, (files.store.book, f"\n{name}\n"))
    except Lost:
        return list(_batches(files.known))
    return [str(row[0]) for row in rows]


def _refresh(files: Files, reckon: Reckon) -> None:
    store = files.store
    counts = store.rows("select files, batches from book where id = ?", (store.book,))
    if counts and counts[0][0] == counts[0][1]:
        return
    wanted = _inputs(files.known)
    kept = dict(store.rows("select id, inputs from batch where book = ?", (store.book,)))
    places = {id_: place for place, id_ in enumerate(wanted)}
    fresh = []
    for id_, inputs in wanted.items():
        if kept.get(id_) != inputs:
            row, own = reckon(id_)
            fresh.append((store.book, inputs if own else "", places[id_], *row))
    gone = [(store.book, id_) for id_ in kept if id_ not in wanted]

    def change(db: sqlite3.Connection) -> None:
        db.executemany("delete from batch where book = ? and id = ?", gone)
        db.executemany("insert or replace into batch values (?,?,?,?,?,?,?,?,?,?,?,?,?,?)", fresh)
        if gone or len(wanted) != len(kept):
            moved = [(place, store.book, id_) for id_, place in places.items()]
            db.executemany("update batch set place = ? where book = ? and id = ?", moved)
        db.execute("update book set batches = ? where id = ?", (counts[0][0], store.book))

    store.write(change)


def _batches(known: dict[str, Known]) -> dict[str, str]:
    """Path of each readable batch, by its folder's name."""
    return {
        path.split("/")[-2]: path
        for path, one in known.items()
        if one.kind == "batch" and one.readable
    }


def _inputs(known: dict[str, Known]) -> dict[str, str]:
    """What each batch's row follows from: the hashes of its files, formula and protocols."""
    formulas: dict[str, str] = {}
    for path, one in known.items():
        if one.kind == "formula" and one.readable:
            formulas.setdefault(one.ident, f"{path} {one.hash}")
    around = _joined(one for one in known.values() if one.kind in ("notebook", "protocol"))
    found = {}
    for id_, path in _batches(known).items():
        folder = path.removesuffix(BATCH_FILES[0])
        own = _joined(known[folder + f] for f in BATCH_FILES if folder + f in known)
        found[id_] = f"{own} {formulas.get(known[path].ident, '')} {around}"
    return found


def _joined(files: Iterable[Known]) -> str:
    return "+".join(one.hash for one in files)
