"""Pieces that several screens share."""

from __future__ import annotations

from collections.abc import Iterable

from labbook.model.results.common import BatchLabel, Next
from labbook.show.layout import Screen


def plural(count: int, one: str, many: str = "") -> str:
    """`1 batch`, `3 batches`."""
    return f"{count} {one}" if count == 1 else f"{count} {many or one + 's'}"


def counted(versions: int, batches: int) -> str:
    """`5 versions, 8 batches`."""
    return f"{plural(versions, 'version')}, {plural(batches, 'batch', 'batches')}"


def then(screen: Screen, commands: Iterable[Next | str]) -> None:
    """The last group of a screen, after a blank line."""
    found = [c if isinstance(c, Next) else Next(c) for c in commands][:3]
    if found:
        screen.blank()
        screen.then([(c.command, c.gloss) for c in found])


def batch_words(label: BatchLabel) -> str:
    """What a batch is doing, in a few words."""
    if label.dropped:
        return f"dropped: {label.dropped}"
    if label.state == "open" and not label.lines:
        return "open"
    if label.state == "open":
        return f"open, {label.weighed} of {plural(label.lines, 'ingredient')} weighed"
    return label.outcome or "closed"
