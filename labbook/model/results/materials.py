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
