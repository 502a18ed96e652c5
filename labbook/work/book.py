"""The notebook as a question about failures sees it."""

from __future__ import annotations

from labbook.evidence.book import Book
from labbook.model.errors import GitRefused
from labbook.model.formula import Formula
from labbook.work.bench import Bench


def book_of(bench: Bench) -> Book:
    """All that a question needs, read once; contents that history doesn't hold are left out."""
    snapshot = bench.snapshot
    return Book(
        batches=snapshot.batches,
        jars=snapshot.jars,
        stability=snapshot.stability,
        contents=contents_of(bench),
        formulas=snapshot.formulas,
        sheets=snapshot.sheets,
        lots=snapshot.lots,
        equipment=snapshot.equipment,
        rules=snapshot.rulebook,
        today=bench.today,
    )


def contents_of(bench: Bench) -> dict[str, Formula]:
    """The content that each batch was made from, by full id; a trial's lies beside it."""
    known: dict[tuple[str, str], Formula] = {}
    try:
        for versions in bench.history.versions.values():
            for version in versions:
                known[version.formula.id, version.digest] = version.formula
                known[version.formula.id, version.blob] = version.formula
    except GitRefused:  # without git the copied lines of the batches still tell
        known = {}
    found: dict[str, Formula] = {}
    for id_, batch in bench.snapshot.batches.items():
        pin = batch.formula
        content = known.get((pin.id, pin.digest)) or known.get((pin.id, pin.blob))
        if pin.trial_of is not None:
            content = bench.snapshot.trials.get(id_)
        if content is not None:
            found[id_] = content
    return found
