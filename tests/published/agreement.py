"""Agreement with a printed figure, and the proof that a shifted result would not agree."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

Figure = Fraction | Decimal | float
"""A result, or a tolerance; whole numbers count as one."""

WIDEST = Fraction(1, 50)
"""The widest tolerance as a share of the figure: a wider one lets slips through."""


def agrees(value: Figure, printed: str, within: Figure | str) -> bool:
    """Whether a result is the printed one within a tolerance; a hair is left for binary figures."""
    room = _exact(within)
    return abs(Fraction(value) - Fraction(printed)) <= room + room / 10**9 + Fraction(1, 10**12)


def rounding(printed: str) -> Fraction:
    """Half a unit of the last digit printed: what a rounded figure leaves open."""
    _, _, decimals = printed.partition(".")
    return Fraction(1, 2 * 10 ** len(decimals))


def holds(
    value: Figure | None,
    printed: str,
    within: Figure | str | None = None,
    *,
    source: str = "",
    wide: str = "",
) -> None:
    """Asserts agreement, and that the result moved by twice the tolerance would be refused.

    Args:
        value: the result; None agrees with nothing.
        printed: the figure with its digits.
        within: the tolerance in the same unit; None takes the rounding of the digits printed.
        source: where the figure stands; empty where a comment beside the call says it.
        wide: why a tolerance above `WIDEST` is given all the same.
    """
    assert value is not None, f"no result to compare with {printed}: {source}"
    room = rounding(printed) if within is None else _exact(within)
    assert room > 0, "a check of no tolerance has nothing to shift by; compare exactly"
    if within is not None and not wide:
        assert room <= abs(Fraction(printed)) * WIDEST, f"the tolerance is too wide: {source}"
    assert agrees(value, printed, room), f"{float(value)} is not {printed} ± {room}: {source}"
    # A hair more than twice, so that a result at the one edge doesn't land on the other.
    for way in (1, -1):
        moved = Fraction(value) + way * room * Fraction("2.001")
        assert not agrees(moved, printed, room), f"a shift to {float(moved)} goes unseen: {source}"


def refused(slip: Callable[[], Figure | None], printed: str, within: Figure | str) -> None:
    """Asserts that a reckoning with a known slip in it doesn't pass for the printed figure."""
    value = slip()
    assert value is not None
    assert not agrees(value, printed, within), "the tolerance doesn't notice the slip"


def _exact(within: Figure | str) -> Fraction:
    """A tolerance as it was written: 0.005 is not the nearest binary figure to it."""
    return Fraction(str(within))
