"""`export`: the notebook as tables in a folder, beside what the folder holds already.

A file that is there is written over only when it is of an earlier export and untouched since: its
size and hash stand in the folder's own descriptor.
"""

from __future__ import annotations

import csv
import hashlib
import json
import shutil
import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from labbook.model.errors import NotAllowed
from labbook.model.results.exporting import Exported, ExportedTable
from labbook.notebook.parquet import ParquetTable, library
from labbook.show.tables import TABLES
from labbook.show.tables.held import Held
from labbook.show.tables.package import (
    DESCRIPTOR,
    DICTIONARY,
    NAME,
    Written,
    descriptor,
    dictionary,
)
from labbook.show.tables.shape import Table, cells
from labbook.work.bench import Bench


def held_of(bench: Bench, *, private: bool = False) -> Held:
    """The notebook's records as the tables take them."""
    snapshot = bench.snapshot
    return Held(
        formulas=snapshot.formulas,
        versions=bench.history.versions,
        batches=snapshot.batches,
        trials=snapshot.trials,
        jars=snapshot.jars,
        stability=snapshot.stability,
        ingredients=snapshot.ingredients,
        lots=snapshot.lots,
        equipment=snapshot.equipment,
        private=private,
    )


def export(bench: Bench, folder: Path, *, private: bool = False, parquet: bool = False) -> Exported:
    """Writes all tables, their descriptor and their dictionary into a folder.

    Args:
        bench: the notebook.
        folder: where to; made if it isn't there.
        private: with suppliers, prices and people.
        parquet: each table as Parquet too.

    Raises:
        NotAllowed: the folder holds files of those names that aren't an export's, it can't be
            written, or Parquet is asked for and pyarrow is missing.
    """
    if parquet:
        library()
    held = held_of(bench, private=private)
    title = bench.snapshot.settings.title
    try:
        folder.mkdir(parents=True, exist_ok=True)
        own = _own_files(folder)
        _refuse_others(folder, _names(parquet=parquet), own)
        with ExitStack() as stack:
            aside = Path(tempfile.mkdtemp(prefix=".labbook-export-", dir=folder))
            stack.callback(shutil.rmtree, aside, ignore_errors=True)
            files = _written(aside, held, title, parquet=parquet)
            _put(aside, folder, files, own)
    except OSError as error:
        raise NotAllowed(
            f"{folder} can't be written: {error.strerror}.", mend="Name another folder."
        ) from error
    counts = tuple(
        ExportedTable(
            name=table.name,
            rows=files[f"{table.name}.csv"].rows,
            columns=len(table.shown(private=private)),
        )
        for table in TABLES
    )
    without = [f"{t.name}.{c.name}" for t in TABLES for c in t.columns if c.private]
    return Exported(
        folder=str(folder),
        tables=counts,
        dictionary=DICTIONARY,
        private=private,
        parquet=parquet,
        without=() if private else tuple(without),
    )


# What is in the folder already --------------------------------------------------------------------


def _names(*, parquet: bool) -> list[str]:
    endings = ("csv", "parquet") if parquet else ("csv",)
    tables = [f"{table.name}.{ending}" for table in TABLES for ending in endings]
    return [*tables, DICTIONARY, DESCRIPTOR]


def _own_files(folder: Path) -> set[str]:
    """Names in the folder that an earlier export wrote and nobody touched."""
    try:
        told: Any = json.loads((folder / DESCRIPTOR).read_text(encoding="utf-8"))
        resources = told["resources"] if told["name"] == NAME else []
        listed = {str(one["path"]): str(one["hash"]) for one in resources}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return set()
    # A descriptor can be anybody's: only names that an export gives are looked at.
    known = set(_names(parquet=True))
    own = {
        name
        for name, hash_ in listed.items()
        if name in known and _is_plain(folder / name) and f"sha256:{_hash(folder / name)}" == hash_
    }
    return {*own, DESCRIPTOR} if resources and _is_plain(folder / DESCRIPTOR) else own


def _is_plain(path: Path) -> bool:
    return path.is_file() and not path.is_symlink()


def _hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _refuse_others(folder: Path, names: list[str], own: set[str]) -> None:
    others = [name for name in names if name not in own and (folder / name).exists()]
    others += [name for name in names if name not in others and (folder / name).is_symlink()]
    if others:
        some = ", ".join(others[:3]) + (" …" if len(others) > 3 else "")
        raise NotAllowed(
            f"The folder holds {some}, which no export wrote, or which was changed since.",
            where=str(folder),
            mend="Name another folder, or take those files out of this one.",
        )


# Writing ------------------------------------------------------------------------------------------


def _written(aside: Path, held: Held, title: str, *, parquet: bool) -> dict[str, Written]:
    files: dict[str, Written] = {}
    for table in TABLES:
        rows = _table(aside, table, held, parquet=parquet)
        for ending in ("csv", "parquet") if parquet else ("csv",):
            name = f"{table.name}.{ending}"
            files[name] = _of(aside / name, rows)
    _text(aside / DICTIONARY, dictionary(title, TABLES, private=held.private))
    files[DICTIONARY] = _of(aside / DICTIONARY)
    _text(aside / DESCRIPTOR, descriptor(title, TABLES, files, private=held.private))
    files[DESCRIPTOR] = _of(aside / DESCRIPTOR)
    return files


def _table(aside: Path, table: Table, held: Held, *, parquet: bool) -> int:
    """Writes one table row by row; gives how many rows."""
    columns = table.shown(private=held.private)
    count = 0
    with ExitStack() as stack:
        path = aside / f"{table.name}.csv"
        out = stack.enter_context(path.open("w", encoding="utf-8", errors="replace", newline=""))
        writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
        writer.writerow([column.name for column in columns])
        typed = None
        if parquet:
            kinds = [(column.name, column.type) for column in columns]
            file = aside / f"{table.name}.parquet"
            typed = stack.enter_context(ParquetTable(file, kinds))
        for row in table.rows(held):
            writer.writerow(cells(table, row, columns))
            if typed is not None:
                typed.row([row.get(column.name) for column in columns])
            count += 1
    return count


def _text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", errors="replace", newline="\n")


def _of(path: Path, rows: int = 0) -> Written:
    return Written(path.name, path.stat().st_size, _hash(path), rows)


def _put(aside: Path, folder: Path, files: dict[str, Written], own: set[str]) -> None:
    """Moves the files into their places, and takes away what only the earlier export had."""
    for name in files:
        (aside / name).replace(folder / name)
    for name in own - files.keys():
        (folder / name).unlink()
