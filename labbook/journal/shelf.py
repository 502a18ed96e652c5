"""What a journal is made of: a chapter for each formula, taken down only when a page needs it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256

from labbook.journal.outline import Outline, outline_of
from labbook.journal.publish import PublicJournal
from labbook.model.entry import Entry
from labbook.model.settings import Settings
from labbook.model.sheets import Sheets


@dataclass(frozen=True)
class Shelf:
    """All that is public, formulas by their outlines.

    Attributes:
        settings: the head of the notebook.
        entries: the maker's own, the latest first.
        sheets: those that any formula names.
        outlines: by code, in the order of codes.
        substance: a text for each formula that changes with anything its pages can tell.
        around: the same for what only a question about all of them needs: rules and equipment.
        take: what is told of some formulas, by their codes.
    """

    settings: Settings
    entries: tuple[Entry, ...]
    sheets: Sheets
    outlines: Mapping[str, Outline]
    substance: Mapping[str, str]
    around: str
    take: Callable[[Collection[str]], PublicJournal]

    @cached_property
    def code_of(self) -> Mapping[str, str]:
        """The code for each batch by its full id, in the order of making."""
        made = [(one["made"], one["id"], outline.code)
                for outline in self.outlines.values() for one in outline.batches]  # fmt: skip
        return {id_: code for _, id_, code in sorted(made)}


def shelf_of(journal: PublicJournal) -> Shelf:
    """A journal that is wholly at hand as a shelf."""
    chapters = {one.formula.code: journal.only({one.formula.code}) for one in journal.formulas}
    around = (journal.rules, sorted(journal.equipment.items()))
    return Shelf(
        settings=journal.settings,
        entries=journal.entries,
        sheets=journal.sheets,
        outlines={code: outline_of(one) for code, one in chapters.items()},
        substance={code: _hashed(one) for code, one in chapters.items()},
        around=_hashed(around),
        take=journal.only,
    )


def _hashed(value: object) -> str:
    return sha256(repr(value).encode("utf-8", "surrogatepass")).hexdigest()
