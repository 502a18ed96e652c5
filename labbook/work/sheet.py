"""`batch sheet`: what to weigh and do, as Markdown that prints well."""

from __future__ import annotations

from labbook.model.results.making import BatchShown
from labbook.show.sheet import sheet_markdown
from labbook.work.batches import show_batch
from labbook.work.bench import Bench


def sheet(bench: Bench, typed: str | None) -> tuple[BatchShown, str]:
    """The bench sheet of a batch; the only open one where none is named."""
    shown = show_batch(bench, bench.the_open_batch(typed).id)
    return shown, sheet_markdown(shown)
