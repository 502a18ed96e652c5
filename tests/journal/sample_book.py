"""The sample notebook as records, read once; its pins filled in as the replay does."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import PurePosixPath
from typing import Any

from labbook.journal.book import Book
from labbook.model.digest import digest
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from tests.sample import last, versions


def _stems(folder: str) -> dict[str, Any]:
    return {PurePosixPath(p).stem: r for p, r in last().items() if p.startswith(f"{folder}/")}


def _of_batches(file: str) -> dict[str, Any]:
    found = {PurePosixPath(p): r for p, r in last().items() if p.endswith(f"/{file}.yaml")}
    return {path.parent.name: record for path, record in found.items()}


def _versions() -> dict[str, tuple[Version, ...]]:
    sheets = Sheets(_stems("ingredients"))
    found: dict[str, tuple[Version, ...]] = {}
    for (code, number), formula in sorted(versions().items()):
        version = Version(
            code=code,
            number=number,
            formula=formula,
            digest=digest(formula, sheets),
            blob="",
            commit="",
            path="",
            when=datetime(2026, 1, 9, tzinfo=UTC) + timedelta(days=14 * number),
        )
        found[code] = (*found.get(code, ()), version)
    return found


def _book() -> Book:
    numbered = _versions()
    known = {(v.code, v.number): v.digest for found in numbered.values() for v in found}
    batches = {}
    for id_, batch in _of_batches("batch").items():
        pin = replace(batch.formula, digest=known[batch.formula.code, batch.formula.version])
        batches[id_] = replace(batch, formula=pin)
    return Book(
        settings=last()["labbook.yaml"],
        formulas=_stems("formulas"),
        versions=numbered,
        batches=batches,
        jars=_of_batches("jars"),
        stability=_of_batches("stability"),
        ingredients=_stems("ingredients"),
        equipment=_stems("equipment"),
        entries=(),
    )


BOOK = _book()
