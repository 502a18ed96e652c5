"""What may be said of the chances: cleared, told apart, a word and a round figure.

A reckoned chance is not yet one to say aloud. In notebooks invented from worlds other than the
reckoning assumes, what it holds for nine in ten was true in as few as four of ten, so `held`
counts chances down to what they kept there before `word` and `figure` say them.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from labbook.evidence.causes.posterior import Reckoning
from labbook.evidence.causes.types import Rate

__all__ = ["cleared", "figure", "held", "not_told_apart", "word"]

CLEARED = 0.05
LEAST_INTACT = 2

WORDS = (
    (9 / 10, "very likely"),
    (6 / 10, "likely"),
    (2 / 10, "possible"),
    (1 / 15, "unlikely"),
    (0.0, "nearly cleared"),
)
FIGURES = (
    (1, 100), (1, 50), (1, 30), (1, 20), (1, 15), (1, 12), (1, 10), (1, 8), (1, 6), (1, 5), (1, 4),
    (1, 3), (2, 5), (1, 2), (3, 5), (2, 3), (3, 4), (4, 5), (7, 8), (9, 10), (19, 20), (49, 50),
    (99, 100),
)  # fmt: skip
OPEN = 0.05
"""With more than this for something outside the notebook nothing is called likely: where causes act
in half the cases and 2 or 3 in 10 fail without one, reckoned nine in ten was true in four."""
HELD_OPEN = (
    (0.0, 0.0), (1 / 15, 1 / 15), (0.3, 0.2), (0.6, 0.25), (0.9, 0.4), (1.0, 0.55),
)  # fmt: skip
"""Reckoned chances and about the least share in which they were true, over the worlds of
tests/benchmarks/calibration.py in which recorded causes exist. Below 1 in 15 they held."""
HELD = (
    *HELD_OPEN[:3], (0.6, 0.33), (0.8, 0.45), (0.9, 0.6), (0.95, 0.64), (0.98, 0.7), (0.99, 0.77),
    (1.0, 0.88),
)  # fmt: skip
"""The same where something outside the notebook is all but excluded."""
HELD_TRIED = (*HELD[:7], (0.98, 0.9), (1.0, 0.97))
"""The same after two sessions that speak for the suspect."""
SESSIONS = 2
"""So many sessions in which the batch with just this one change failed and its control held make a
"very likely" possible: they alone rule out what changed along and isn't recorded."""
_CLOSE = 1e-9
"""A chance that is 9 in 10 but for the last bits of a float is 9 in 10."""


def held(probability: float, outside: float, sessions: int = 0) -> float:
    """The chance that may be said aloud for a reckoned one.

    `outside`: the chance reckoned for something that isn't recorded; `sessions`: in how many
    sessions the batch that differs from its control in just this suspect failed while the control
    held. Rises with the reckoned chance. Below 6 in 10 while something outside has more than 1 in
    20; below 9 in 10 without two such sessions. Raises ValueError outside 0 to 1.
    """
    word(probability)
    word(outside)
    if outside > OPEN:
        knots: tuple[tuple[float, float], ...] = HELD_OPEN
    elif sessions < SESSIONS:
        knots = HELD
    else:
        knots = HELD_TRIED
    at = min(1.0, max(0.0, probability))
    (a, low), (b, high) = next((one, other) for one, other in pairwise(knots) if at <= other[0])
    return low + (high - low) * (at - a) / (b - a)


def word(probability: float) -> str:
    """The word for a chance: very likely from 9 in 10, likely from 6, possible from 2.

    Below that unlikely, and nearly cleared below 1 in 15. Raises ValueError outside 0 to 1.
    """
    if not -_CLOSE <= probability <= 1 + _CLOSE:
        raise ValueError(f"{probability} is no chance; a chance lies between 0 and 1")
    return next(name for least, name in WORDS if probability >= least - _CLOSE or not least)


def figure(probability: float) -> str:
    """The nearest plain fraction as text, such as "3 in 4".

    Never one that would call for another word: 0.88 is "7 in 8" and not "9 in 10". "under 1 in 100"
    and "over 99 in 100" beyond the ends.
    """
    name = word(probability)
    if probability < 1 / 100 - _CLOSE:
        return "under 1 in 100"
    if probability > 99 / 100 + _CLOSE:
        return "over 99 in 100"
    fitting = [(a, b) for a, b in FIGURES if word(a / b) == name]
    a, b = min(fitting, key=lambda x: (abs(x[0] / x[1] - probability), x))
    return f"{a} in {b}"


def cleared(reckoning: Reckoning) -> tuple[bool, ...]:
    """Per suspect: is it cleared.

    At most 0.05 if true causes nearly always act and also if they act in about half the cases, with
    at least two intact rows on its failed side.
    """
    intact = [
        sum(1 for row in reckoning.rows if not row.failed and row.sides[i] is True)
        for i in range(len(reckoning.suspects))
    ]
    possible = [n >= LEAST_INTACT for n in intact]
    if not any(possible):
        return tuple(possible)
    rates: tuple[Rate, ...] = ("always", "sometimes")
    under = [reckoning.again(rate=rate) for rate in rates]
    out = set(reckoning.left_out)
    return tuple(
        ok and i not in out and all(r.marginals[i] <= CLEARED for r in under)
        for i, ok in enumerate(possible)
    )


def not_told_apart(
    reckoning: Reckoning, among: Iterable[int] | None = None
) -> tuple[tuple[int, int], ...]:
    """Pairs of suspects of which neither is told apart from the other, likelier one first."""
    chances = reckoning.marginals
    order = sorted(range(len(chances)) if among is None else among, key=lambda i: (-chances[i], i))
    return tuple(
        (i, j)
        for at, i in enumerate(order)
        for j in order[at + 1 :]
        if not reckoning.told_apart(i, j) and not reckoning.told_apart(j, i)
    )
