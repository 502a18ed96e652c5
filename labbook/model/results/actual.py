"""Result of the mass balance: what a batch was really made of, beside what was meant."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class ActualRow:
    """A line in percent by weight of what came out; `target` is None where none was meant.

    `uncertainty` is the standard uncertainty of `actual`; a screen shows twice that.
    """

    phase: str
    ingredient: str
    target: Decimal | None
    actual: Decimal
    uncertainty: Decimal
    qs: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselRow:
    """What was read of one vessel, in g; `phase` is empty for that of the whole batch."""

    phase: str
    evaporated: Decimal
    returned: Decimal
    residue: Decimal
    unexplained: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeOf:
    """What a batch was really made of; masses in g.

    `rows` are empty where `missing` names what nobody knows the mass of. What went in (with the
    water put back) is what came out, with what evaporated, stayed, and isn't explained; that is
    None where nothing tells.
    """

    rows: tuple[ActualRow, ...]
    missing: tuple[str, ...]
    vessels: tuple[VesselRow, ...]
    put_in: Decimal
    returned: Decimal
    evaporated: Decimal
    residue: Decimal
    final: Decimal
    weighed_out: bool
    unexplained: Decimal | None
    notes: tuple[str, ...] = ()
