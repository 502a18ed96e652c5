"""Corrections in public: what stands after them, and which of them are told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from labbook.journal.fields import DONE, DONE_WORDS, FIGURES, WORDS
from labbook.model.batch import Batch, Correction
from labbook.trade.standing import TEMPERATURES


def standing_entries(
    entries: Iterable[Any], corrections: tuple[Correction, ...]
) -> tuple[Any, ...]:
    """Entries that are neither struck nor private, with their words as last corrected."""
    found = []
    for entry in entries:
        struck, private = getattr(entry, "struck", None), getattr(entry, "private", None)
        words: dict[str, str | None] = {}
        for one in corrections:
            if one.of != entry.id:
                continue
            if one.key == "struck":
                struck = one.now or None
            elif one.key == "private":
                private = one.now != "no"
            elif one.key in WORDS and hasattr(entry, one.key):
                words[one.key] = one.now or ""
        if not struck and not private:
            found.append(replace(entry, **words) if words else entry)
    return tuple(found)


def told_figures(
    corrections: tuple[Correction, ...], entries: Iterable[Any]
) -> tuple[Correction, ...]:
    """Corrections of the figures of public entries."""
    ids = {entry.id for entry in entries}
    return tuple(one for one in corrections if one.of in ids and one.key in FIGURES)


def told_of(batch: Batch, entries: Iterable[Any]) -> tuple[Correction, ...]:
    """The corrections of a batch that are told.

    Args:
        batch: the batch as it stands, its entries those that are public.
        entries: its public weighings, readings and lines, whose figures are told.
    """
    figures = {one.id for one in told_figures(batch.corrections, entries)}
    return tuple(one for one in batch.corrections if one.id in figures or _is_told(batch, one))


def _is_told(batch: Batch, one: Correction) -> bool:
    """Whether it is of what was done, the room, the tools, or a public reading told later.

    Of words only what had no words before: what was corrected away stays inside. How a reading was
    taken may name a person and stays inside, too.
    """
    if one.of == "readings":
        return any(reading.id == one.id for reading in batch.readings)
    if one.of not in {"room", "tools", "batch", *(step.id for step in batch.steps)}:
        return False
    key = one.key or ""
    if key == "speed" and not (one.was or "0")[0].isdigit():
        return False  # a speed in words
    if key in DONE or key.startswith(f"{TEMPERATURES} "):
        return True
    times = Counter((other.of, other.key) for other in batch.corrections)
    return key in DONE_WORDS and one.was is None and times[one.of, one.key] == 1
