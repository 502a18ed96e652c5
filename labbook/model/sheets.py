"""Finding an ingredient by any of its names.

A sheet's `id` is the name it was born with. A line whose ingredient has no sheet yet has its own
written name as id, so that a sheet made later under that name changes no digest.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from labbook.model.materials import Ingredient


@lru_cache(maxsize=8192)
def fold(name: str) -> str:
    """The form in which names are compared: `Caprylic/Capric Triglyceride` is the hyphened one."""
    # Some systems hand the name of a file back with its accents apart (NFD), others don't.
    whole = unicodedata.normalize("NFC", name).casefold()
    words = "".join(c if c.isalnum() else " " for c in whole).split()
    return "-".join(words)


@dataclass(frozen=True)
class Sheets:
    """All ingredient sheets of a notebook, by the name of the file (without `.yaml`)."""

    by_file: Mapping[str, Ingredient] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Builds the table of names: file name first, then id, then other names."""
        table: dict[str, Ingredient] = {}
        for name, sheet in self.by_file.items():
            table.setdefault(fold(name), sheet)
        for sheet in self.by_file.values():
            table.setdefault(fold(sheet.id), sheet)
        for sheet in self.by_file.values():
            for other in sheet.also:
                table.setdefault(fold(other), sheet)
        object.__setattr__(self, "_table", table)
        files = {sheet.id: name for name, sheet in reversed(list(self.by_file.items()))}
        object.__setattr__(self, "_files", files)

    def find(self, name: str) -> Ingredient | None:
        """The sheet for a name, former name or id; None where there is none: then it is unknown."""
        table: dict[str, Ingredient] = self.__dict__["_table"]
        return table.get(fold(name))

    def id_of(self, name: str) -> str:
        """The permanent id of an ingredient; the written name where there is no sheet."""
        sheet = self.find(name)
        return sheet.id if sheet else name

    def name_of(self, id_: str) -> str:
        """The name in use today for an id: the name of its file, or the id itself."""
        files: dict[str, str] = self.__dict__["_files"]
        return files.get(id_, id_)

    def names(self) -> tuple[str, ...]:
        """The names of all sheets' files, sorted."""
        return tuple(sorted(self.by_file))
