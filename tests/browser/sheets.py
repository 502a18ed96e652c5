"""What the tests of the bench sheet's page do again and again."""

from __future__ import annotations

from pathlib import Path

from labbook.model.batch import Batch
from labbook.work.bench import Bench
from tests.browser.fingers import Fingers, waited
from tests.work.notebooks import Small


def batch_of(notebook: Small) -> Batch:
    """The open batch as the notebook has it now."""
    return Bench(notebook.root).snapshot.batches[notebook.open]


def to_do(batch: Batch) -> list[str]:
    """The lines that nothing was weighed for yet."""
    held = {w.line for w in batch.weighings}
    return [line.id for line in batch.lines if line.id not in held]


def finished(fingers: Fingers, folder: Path) -> Path:
    """The file that the page gives."""
    fingers.saves_into(folder)
    fingers.taps("#finish")
    assert fingers.sees("#f-wrong") == ""
    fingers.taps("#f-save")
    return saved(folder)


def saved(folder: Path) -> Path:
    """The sheet's file, once it is there: the browser puts an empty one in its place first."""

    def whole() -> Path | None:
        return next((file for file in folder.glob("*-sheet.txt") if file.stat().st_size), None)

    return Path(waited(whole))
