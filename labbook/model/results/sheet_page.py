"""Results around the bench sheet as a page: what it shows, and what came back from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from labbook.model.batch import Batch


@dataclass(frozen=True, slots=True)
class Premade:
    """A batch that a line could be weighed from.

    `holds` is how many percent of it are the line's ingredient, as it was really made, else as
    planned; 100 where the line is the premix itself; None where nobody knows.
    """

    batch: Batch
    holds: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOf:
    """What a bench sheet page is made of.

    `readability` is the balance's smallest step in g. `lots`, `cautions` and `premixes` go by line
    id; the first lot of a line is the one in use, where `usual` has the line. `premixes` are the
    batches that a line could be weighed from.
    """

    batch: Batch
    title: str
    emulsion: str
    readability: Decimal
    lots: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    usual: Mapping[str, str] = field(default_factory=dict)
    cautions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    premixes: Mapping[str, tuple[Premade, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class PageWritten:
    """A bench sheet that was written as a page."""

    id: str
    short: str
    file: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What came in from a bench sheet: in words, how much was there already, what to know of it.

    `ids` are the entries that stand in the notebook now, by their ids and places.
    """

    id: str
    short: str
    what: tuple[str, ...]
    already: int
    remarks: tuple[str, ...] = ()
