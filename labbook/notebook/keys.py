"""Keys and words that a file may hold, and the nearest one to a slip of the fingers."""

from __future__ import annotations

from collections.abc import Iterable

CLOSE = 2  # letters


def distance(one: str, other: str) -> int:
    """How many letters are wrong, missing, too many, or swapped with their neighbour.

    The distance of Damerau and Levenshtein in its restricted form (no letter is touched twice).
    """
    before: list[int] = []
    last = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        row = [i]
        for j, b in enumerate(other, 1):
            cost = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        before, last = last, row
    return last[-1]


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word within two letters, if these are less than half of it; else None."""
    best: tuple[int, str] | None = None
    for candidate in known:
        if abs(len(candidate) - len(word)) > CLOSE:
            continue
        far = distance(word, candidate)
        if far <= CLOSE and 2 * far < len(candidate) and (best is None or far < best[0]):
            best = (far, candidate)
    return best[1] if best else None
