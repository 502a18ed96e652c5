"""The balance of emulsifiers (HLB): what an oil phase asks for, what a blend gives.

HLB is a scale of nonionic emulsifiers for oil-in-water, from lists that disagree by 1.5 to 3 units
for the same oil. So what an oil phase asks for is a range, and a place to begin trials from, not
their result. Outside nonionic oil-in-water systems the scale doesn't apply: `applies` says why,
and nothing here gives a number then.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from labbook.model.errors import NotAllowed
from labbook.model.materials import Value

GRIFFIN_USES: tuple[tuple[str, int, int], ...] = (
    ("antifoam", 1, 3),
    ("water-in-oil emulsifier", 3, 6),
    ("wetting agent", 7, 9),
    ("oil-in-water emulsifier", 8, 16),
    ("detergent", 13, 16),
    ("solubiliser", 16, 18),
)
"""What an emulsifier of an HLB is for, from and to. After Griffin 1949 and 1954, as given in
en.wikipedia.org/wiki/Hydrophilic-lipophilic_balance; many trade pages say 8 to 18 for oil-in-water.
"""

DAVIES_GROUPS: Mapping[str, Fraction] = {
    "-SO4Na": Fraction("38.7"),
    "-COOK": Fraction("21.1"),
    "-COONa": Fraction("19.1"),
    "tertiary amine": Fraction("9.4"),
    "ester, sorbitan ring": Fraction("6.8"),
    "ester, free": Fraction("2.4"),
    "-COOH": Fraction("2.1"),
    "-OH, free": Fraction("1.9"),
    "-O-": Fraction("1.3"),
    "-OH, sorbitan ring": Fraction("0.5"),
}
"""Group numbers of Davies 1957, from profilpelajar.com/en/Hydrophilic-lipophilic_balance.
One encyclopaedia prints 38.6 for -SO4Na, which misses the published 40 of sodium lauryl sulfate.
"""

DAVIES_CARBON = Fraction("0.475")
"""What each CH, CH2, CH3 and =CH- takes away. Same source."""


# Of one emulsifier ------------------------------------------------------------------------------


def griffin(hydrophile: Fraction, whole: Fraction) -> Fraction:
    """HLB = 20 · Mh ÷ M of a nonionic emulsifier. Source: Griffin 1954.

    Args:
        hydrophile: the mass of its hydrophilic part: of its ethylene oxide, in an ethoxylate.
        whole: the mass of all of it, in the same unit.

    Raises:
        ValueError: a part that is below nothing or more than the whole.
    """
    if whole <= 0 or not 0 <= hydrophile <= whole:
        raise ValueError("the hydrophilic part is between nothing and all of the molecule")
    return 20 * hydrophile / whole


def from_saponification(saponification: Fraction, acid: Fraction) -> Fraction:
    """HLB = 20 · (1 − S ÷ A) of an ester of a polyol and fatty acids.

    Args:
        saponification: the ester's saponification number, mg KOH per g.
        acid: the acid number of the fatty acids in it, mg KOH per g.

    Raises:
        ValueError: numbers that no ester has. Source: Griffin 1954.
    """
    if acid <= 0 or not 0 <= saponification <= acid:
        raise ValueError("a saponification number is between 0 and the acid number of the acids")
    return 20 * (1 - saponification / acid)


def davies(groups: Mapping[str, int], carbons: int) -> Fraction:
    """HLB = 7 + sum of the group numbers − 0.475 · n, for ionic emulsifiers too. Davies 1957.

    Args:
        groups: how many of each hydrophilic group of `DAVIES_GROUPS` the molecule has.
        carbons: how many CH, CH2, CH3 and =CH- it has outside those groups.

    Raises:
        KeyError: a group that the table doesn't have.
        ValueError: a number below zero.
    """
    if carbons < 0 or any(count < 0 for count in groups.values()):
        raise ValueError("a molecule has no groups below zero")
    polar = sum((DAVIES_GROUPS[name] * count for name, count in groups.items()), Fraction())
    return 7 + polar - DAVIES_CARBON * carbons


def uses_of(hlb: Fraction) -> tuple[str, ...]:
    """What Griffin's table says an emulsifier of that HLB is for; empty between its ranges."""
    return tuple(use for use, low, high in GRIFFIN_USES if low <= hlb <= high)


# Of several -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Span:
    """A range of HLB; low and high are equal where one figure is known."""

    low: Fraction
    high: Fraction

    def holds(self, hlb: Fraction) -> bool:
        """Whether a figure lies in the range."""
        return self.low <= hlb <= self.high


def span_of(given: Value | None) -> Span | None:
    """A sheet's figure as a range; None where it gives none, or an open end."""
    if given is None:
        return None
    low, high = (given.from_, given.to) if given.value is None else (given.value, given.value)
    return None if low is None or high is None else Span(Fraction(low), Fraction(high))


def mixed(parts: Iterable[tuple[Fraction, Fraction]]) -> Fraction:
    """The HLB of a mixture: the mean of (mass, HLB), weighted by mass. Source: Griffin 1954.

    Raises:
        ValueError: the masses add up to nothing.
    """
    known = tuple(parts)
    whole = sum((mass for mass, _ in known), Fraction())
    if whole <= 0:
        raise ValueError("the masses add up to nothing, so there is no mean")
    return sum((mass * hlb for mass, hlb in known), Fraction()) / whole


def mixed_span(parts: Sequence[tuple[Fraction, Span]]) -> Span:
    """The range of a mixture of which each part has a range.

    Raises:
        ValueError: the masses add up to nothing.
    """
    return Span(
        mixed((mass, span.low) for mass, span in parts),
        mixed((mass, span.high) for mass, span in parts),
    )


def share_for(target: Fraction, one: Fraction, other: Fraction) -> Fraction:
    """The share (0 to 1) of the first of two emulsifiers whose mixture has the target's HLB.

    Of two with the same HLB, which give it in any ratio, one half.

    Raises:
        NotAllowed: the pair can't reach it; the message has the range that it reaches.
    """
    low, high = min(one, other), max(one, other)
    if not low <= target <= high:
        side = "below" if target < low else "above"
        raise NotAllowed(
            f"An HLB of {hlb_text(target)} is not reachable with this pair: it gives"
            f" {hlb_text(low)} to {hlb_text(high)}, and the target lies {side}.",
            mend=f"Take one with a {'lower' if target < low else 'higher'} HLB into the pair.",
        )
    return Fraction(1, 2) if one == other else (target - other) / (one - other)


def hlb_text(value: Fraction) -> str:
    """An HLB as it is printed: one decimal, more says nothing."""
    return f"{float(round(value, 1)):.1f}"
