"""Results of the trade's calculations: the emulsifiers' balance, grams on a balance, premixes."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from labbook.model.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class HLBPart:
    """An ingredient in what an oil phase asks for or the emulsifiers give.

    `percent` is of the formula; `low` and `high` are its HLB, None where its sheet doesn't say.
    """

    ingredient: str
    percent: str
    low: Decimal | None = None
    high: Decimal | None = None
    source: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class HLBRange:
    """A range of HLB by mass over `parts`; `known` is how many percent of them have a figure.

    `enough` tells whether that is so much that the range speaks for all.
    """

    parts: tuple[HLBPart, ...]
    low: Decimal | None = None
    high: Decimal | None = None
    known: Decimal | None = None
    enough: bool = False

    @property
    def unknown(self) -> tuple[str, ...]:
        """The ingredients without a figure."""
        return tuple(part.ingredient for part in self.parts if part.low is None)


@dataclass(frozen=True, slots=True, kw_only=True)
class HLBShare:
    """One of two emulsifiers for one target: its share of the two, and what that is.

    `percent` is of the formula, `mass` in g at the formula's batch size; empty where not known.
    """

    ingredient: str
    hlb: Decimal
    share: Decimal
    percent: str = ""
    mass: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class HLBSolved:
    """Two emulsifiers mixed to have the HLB of a target."""

    target: Decimal
    first: HLBShare
    second: HLBShare


@dataclass(frozen=True, slots=True, kw_only=True)
class HLBShown:
    """`formula hlb`: what the oil phase asks for, what the emulsifiers give, and a pair solved.

    Where the scale doesn't apply, `why_not` says why and there is no figure. `need` is the target
    typed by a person; else the range of the oil phase counts. `out_of_reach` says why a pair of the
    formula's own has no solution. `emulsifier` is the percent of the formula that the pair has.
    """

    name: str
    title: str
    emulsion: str
    why_not: str = ""
    required: HLBRange | None = None
    given: HLBRange | None = None
    need: Decimal | None = None
    emulsifier: str = ""
    size: Quantity | None = None
    solved: tuple[HLBSolved, ...] = ()
    out_of_reach: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaledLine:
    """A line in grams.

    `uncertainty` is the standard uncertainty that weighing lends its percent, in percent of the
    formula; `good_to` is half a division as a share of the line, in percent.
    """

    phase: str
    ingredient: str
    percent: str
    qs: bool = False
    adjust: str = ""
    role: str = ""
    mass: str = ""
    uncertainty: Decimal | None = None
    good_to: Decimal | None = None
    too_small: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PremixShown:
    """A premix for a line too small for the balance, masses in g as the balance shows them.

    `strength` is the percent of the ingredient in it. `weigh` of it goes into the batch, and
    `carrier_left` is what is then weighed of the line that lent the carrier (`carrier_before`
    without a premix); `carrier_phase` is empty where it is the ingredient's own. `good_to` is how
    well the ingredient is then known, in percent, and `finer` the step in g of a balance that needs
    no premix.
    """

    ingredient: str
    carrier: str
    carrier_phase: str
    strength: Decimal
    ingredient_mass: Decimal
    carrier_mass: Decimal
    weigh: Decimal
    holds: Decimal
    carrier_before: Decimal
    carrier_left: Decimal
    good_to: Decimal
    dispersed: bool
    finer: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Scaled:
    """A formula in grams on a balance.

    `fine_from` is the batch size from which every line is large enough for the balance, None where
    it is so already or no line asks for it. `strict` tells that the pharmacopoeia's rule
    judged, by which nothing below `minimum` g is weighed on this balance.
    """

    name: str
    title: str
    size: Quantity
    readability: Decimal
    balance: str
    lines: tuple[ScaledLine, ...]
    total: str
    strict: bool = False
    minimum: str = ""
    limiting: str = ""
    fine_from: Quantity | None = None
    warnings: tuple[str, ...] = ()
    premixes: tuple[PremixShown, ...] = ()
    findings: tuple[str, ...] = ()
