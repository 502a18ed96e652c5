"""A figure between two bounds: what is known of it, and no more.

The two are equal where a figure is known exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from labbook.model.materials import Value
from labbook.trade.exact import decimal_text, to_places


@dataclass(frozen=True, slots=True)
class Between:
    """The least and the most that a figure can be, both possible."""

    least: Fraction
    most: Fraction

    @classmethod
    def exactly(cls, value: Fraction) -> Between:
        """A figure that is known."""
        return cls(value, value)

    @property
    def exact(self) -> bool:
        """Whether the two are the same."""
        return self.least == self.most

    def __add__(self, other: Between) -> Between:
        return Between(self.least + other.least, self.most + other.most)

    def times(self, factor: Fraction) -> Between:
        """Both bounds times a factor that isn't below zero."""
        return Between(self.least * factor, self.most * factor)

    def text(self, places: int) -> str:
        """`46.2`, or `44.1 to 48.3` where the bounds differ after rounding."""
        low, high = (f"{to_places(end, places):f}" for end in (self.least, self.most))
        return low if low == high else f"{low} to {high}"

    def to_plain(self) -> dict[str, str]:
        """As JSON data, exact where decimals end."""
        return {"least": decimal_text(self.least), "most": decimal_text(self.most)}


NOTHING = Between(Fraction(), Fraction())


def share_of(part: Between, rest: Between) -> Between | None:
    """A part's percent of the part and the rest together; None where there may be nothing at all.

    The least share has the least of the part beside the most of the rest.
    """
    ends = ((part.least, rest.most), (part.most, rest.least))
    if any(one + other <= 0 for one, other in ends):
        return None
    low, high = (one / (one + other) * 100 for one, other in ends)
    return Between(low, high)


def figure_between(given: Value | None) -> Between | None:
    """A sheet's figure as bounds: one value, or a range with both ends. None for anything else."""
    if given is None:
        return None
    low, high = (given.from_, given.to) if given.value is None else (given.value, given.value)
    if low is None or high is None or low > high:
        return None
    return Between(Fraction(low), Fraction(high))
