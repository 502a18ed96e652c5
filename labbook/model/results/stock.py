"""What is left of lots and of batches that others are made from; computed, never stored."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from labbook.model.moments import Moment


@dataclass(frozen=True, slots=True, kw_only=True)
class LotStock:
    """What is left of one lot; masses in g.

    `size` is None where none is written, and then `left` is unknown. `left` below zero means that
    more was weighed out than the pack held. `unread` counts weighings whose corrected mass can't be
    read: then no more than `left` is there. `days` are those until it expires, below zero since
    then; `open_days` those since it was opened. `used_up` is the day on which the maker said so.
    """

    name: str
    lot: str
    size: Fraction | None
    used: Fraction
    left: Fraction | None
    unread: int = 0
    expires: Moment | None = None
    days: int | None = None
    expiring: bool = False
    opened: Moment | None = None
    open_days: int | None = None
    opened_long: bool = False
    used_up: Moment | None = None
    batches: tuple[str, ...] = ()

    @property
    def expired(self) -> bool:
        """Whether the day on the pack is past; on the day itself it is not."""
        return self.days is not None and self.days < 0

    @property
    def usable(self) -> bool:
        """Whether the next batch can be weighed from it."""
        return self.used_up is None and not self.expired


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkStock:
    """What is left of a batch that other batches are made from; masses in g.

    `made` is its yield, else all that went into it, None where neither is known. `used` is what was
    weighed of it as a premix, reworked or split off; `into` names those batches. `unread` counts
    uses without a known mass.
    """

    id: str
    short: str
    of: str
    made: Fraction | None
    used: Fraction
    left: Fraction | None
    unread: int = 0
    into: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What an open batch still needs of an ingredient, in g; None where a line has no target."""

    batch: str
    mass: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class IngredientStock:
    """What there is of one ingredient, and what is wanted; masses in g.

    `left` is the sum over usable lots and premixes of known size, never less than nothing of each;
    `more` tells that others of unknown size are there too. `nameless` was weighed without a lot
    being named, so that much may be missing from the lots. `usual` is what one usual batch takes,
    of the formula `usual_of` that takes most. `low` is None where it can't be told.
    """

    name: str
    lots: tuple[LotStock, ...]
    premixes: tuple[BulkStock, ...]
    left: Fraction
    more: bool
    nameless: Fraction
    needs: tuple[Need, ...]
    usual: Fraction | None
    usual_of: str
    low: bool | None

    @property
    def need(self) -> Fraction:
        """What the open batches still need together, as far as it is known."""
        return sum((one.mass for one in self.needs if one.mass is not None), Fraction())


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Ingredients with their lots, and batches that others are made from.

    `asked` is the one ingredient that was asked about, else empty. `unwritten` are ingredients of
    today's formulas of which no lot was ever written down: nothing can be told of them.
    """

    today: str
    asked: str
    ingredients: tuple[IngredientStock, ...]
    bulks: tuple[BulkStock, ...]
    unwritten: tuple[str, ...]
