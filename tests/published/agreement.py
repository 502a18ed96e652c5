"""Agreement with a printed figure, and the proof that a shifted result would not agree."""

from fractions import Fraction
from typing import SupportsFloat


def agrees(value: SupportsFloat, printed: str | float, within: float) -> bool:
    """Whether a result is the printed one within a tolerance; a hair is left for binary figures."""
    return abs(float(value) - float(printed)) <= within * (1 + 1e-9) + 1e-12


def rounding(printed: str) -> float:
    """Half a unit of the last digit printed: what a rounded figure leaves open."""
    _, _, decimals = printed.partition(".")
    return float(Fraction(1, 2 * 10 ** len(decimals)))


def holds(value: SupportsFloat, printed: str, source: str, within: float | None = None) -> None:
    """Asserts agreement, and that the result moved by twice the tolerance would be refused.

    Args:
        value: the result.
        printed: the figure with its digits.
        source: where it stands.
        within: the tolerance; None takes the rounding of the digits printed.
    """
    room = rounding(printed) if within is None else within
    assert room > 0, "a check of no tolerance has nothing to shift by; compare exactly"
    assert agrees(value, printed, room), f"{float(value)} is not {printed} ± {room}: {source}"
    # A hair more than twice, so that a result at the one edge doesn't land on the other.
    for moved in (float(value) + 2.001 * room, float(value) - 2.001 * room):
        assert not agrees(moved, printed, room), f"a shift to {moved} goes unseen: {source}"
