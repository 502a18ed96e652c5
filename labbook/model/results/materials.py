"""Results about ingredient sheets and lots."""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.materials import Lot


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsWritten:
    """Sheets that were written: copied starters, bare new ones, and starters that look alike."""

    copied: tuple[str, ...]
    bare: tuple[str, ...]
    near: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """A lot in the list, with the batches that it went into."""

    name: str
    lot: Lot
    batches: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnSwap:
    """A swap in the notebook's own history, with what became of the batches on either side.

    `what` tells all that changed between the two versions: where more than the swap did, the
    outcomes say nothing about the swap alone.
    """

    before: str
    after: str
    out: str
    in_: str
    what: tuple[str, ...]
    alone: bool
    became_before: str
    became_after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """An ingredient that does the same, by its sheet; `own` where the notebook has it."""

    name: str
    own: bool
    shared: tuple[str, ...]
    differs: tuple[str, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Swaps:
    """What can stand for an ingredient: one's own history first, then what the sheets say.

    `other` names the second ingredient where two were asked about; `rows` then compares the two.
    """

    name: str
    title: str
    other: str
    used_in: tuple[str, ...]
    own: tuple[OwnSwap, ...]
    rows: tuple[tuple[str, str, str, str], ...] = ()
    candidates: tuple[Candidate, ...] = ()
    more: int = 0
    remarks: tuple[str, ...] = ()
