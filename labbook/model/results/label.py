"""The draft of an ingredient list."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelEntry:
    """One name of the list.

    `percent` is by weight at the time of addition, None where a line has none. `ingredients` are
    the notebook's names that were merged. `any_order` marks what may stand in any order after the
    others, `colourant` what may stand last; `named` tells whether a sheet gives the label name.
    """

    name: str
    percent: Fraction | None
    ingredients: tuple[str, ...]
    any_order: bool = False
    colourant: bool = False
    named: bool = True
    allergen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Allergen:
    """A part that a label may have to name.

    `percent` of the product, None where a sheet doesn't say how much; `over` is None then, unless
    what is known is over the threshold by itself.
    """

    name: str
    percent: Fraction | None
    over: bool | None
    ingredients: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelDraft:
    """A draft of the ingredient list for a region; it is never more than a draft.

    `threshold` is the percent at which order starts to be free, `strict` whether it must stay
    below it. `ties` are names of equal weight. `unknown_first` are fragrances, extracts and
    materials without a sheet whose allergens nobody has written down, `unknown_other` the rest of
    those. `gaps` are sentences on what the sheets leave open.
    """

    name: str
    title: str
    region: str
    use: str
    use_assumed: bool
    made: str
    entries: tuple[LabelEntry, ...]
    threshold: Fraction
    strict: bool
    order_source: str
    ties: tuple[tuple[str, ...], ...]
    allergen_threshold: Fraction
    allergen_source: str
    allergens: tuple[Allergen, ...]
    unknown_first: tuple[str, ...]
    unknown_other: tuple[str, ...]
    gaps: tuple[str, ...]
    findings: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The list on one line, as it would stand on a label."""
        return ", ".join(e.name if e.named else f"[{e.name}]" for e in self.entries)
