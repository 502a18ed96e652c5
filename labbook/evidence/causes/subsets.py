"""Sums over all subsets or supersets of every set at once, in k · 2^k additions."""

from __future__ import annotations

from operator import add

__all__ = ["single_sums", "subset_sums", "superset_sums"]


def superset_sums(values: list[float]) -> None:
    """Replace each set's value, at its mask, by the sum over the sets that hold it."""
    step = 1
    while step < len(values):
        for start in range(0, len(values), 2 * step):
            low, high = slice(start, start + step), slice(start + step, start + 2 * step)
            values[low] = map(add, values[low], values[high])
        step *= 2


def subset_sums(values: list[float]) -> None:
    """Replace each set's value, at its mask, by the sum over the sets within it."""
    step = 1
    while step < len(values):
        for start in range(0, len(values), 2 * step):
            low, high = slice(start, start + step), slice(start + step, start + 2 * step)
            values[high] = map(add, values[low], values[high])
        step *= 2


def single_sums(values: list[float]) -> list[float]:
    """Per element the sum over the sets that hold it, in about 2^(k+1) additions."""
    found: list[float] = []
    while len(values) > 1:
        half = len(values) // 2
        low, high = values[:half], values[half:]
        found.append(sum(high))
        values = list(map(add, low, high))
    return found[::-1]
