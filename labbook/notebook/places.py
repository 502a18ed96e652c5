"""Where a key or entry stands in a file, by its steps from the top."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from labbook.model.fields import key_of
from labbook.model.problems import Place


def nearest_place(
    path: str, places: Mapping[str, tuple[int, int]], steps: Iterable[str | int]
) -> Place:
    """The place of a key or entry by its steps, or of the nearest thing around it."""
    wanted = [key_of(step) if isinstance(step, str) else str(step) for step in steps]
    exact = list(map(str, steps))
    for names in (exact, wanted):
        if found := places.get("/".join(names)):
            return Place(path, *found)
    for end in range(len(wanted) - 1, -1, -1):
        if found := places.get("/".join(wanted[:end])):
            return Place(path, *found)
    return Place(path)
