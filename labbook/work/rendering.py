"""Which pages of a site are not what they were, and their bytes, formula by formula."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from labbook.journal import keys
from labbook.journal.errata import Erratum
from labbook.journal.page import PATHS, Planned
from labbook.journal.pages import Writer, Written
from labbook.notebook.page_cache import Group, Row
from labbook.work.copies import each

Stands = Callable[[Row], bool]
"""Whether the files of a page are there as they were written."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A page: its path, its key, and its files where they are to be written."""

    path: str
    key: str
    written: Written | None


@dataclass(frozen=True, slots=True)
class Pages:
    """The pages of a group with the group's key; None where all of them stand as they were."""

    key: str
    drawn: Sequence[Drawn] | None


class Plan:
    """All pages of a site by groups: a formula with what is its own, or one page alone."""

    def __init__(
        self,
        writer: Writer,
        base: str,
        errata: Sequence[Erratum],
        reopen: Callable[[], None] = lambda: None,
    ) -> None:
        """Knows each group's key.

        Args:
            writer: of the journal.
            base: what every page is made of.
            errata: that are told.
            reopen: what a copy of this process does before it reads records.
        """
        self._writer = writer
        self._base = base
        self._reopen = reopen
        self._paths = keys.paths_key(writer.paths)
        self._errata: dict[str, list[Erratum]] = {}
        shelf = writer.shelf
        for one in errata:
            kind, _, name = one.part.partition(" ")
            code = shelf.code_of.get(name, "") if kind == "batch" else name.partition("@")[0]
            self._errata.setdefault(code, []).append(one)

    def changed(self, before: Mapping[str, Group], stands: Stands) -> Iterator[tuple[str, Pages]]:
        """Each group by its name, with what is to be written of it.

        Args:
            before: the groups of the last build.
            stands: asked of pages whose key is the same.
        """
        parts = {PATHS: self._paths}
        for planned in self._writer.lists:
            key = keys.key_of(planned, parts, self._base)
            old = before.get(f"page {planned.path}", Group())
            if self._is_same(old, key, stands):
                yield f"page {planned.path}", Pages(key, None)
            else:
                written = self._writer.written(planned)
                yield f"page {planned.path}", Pages(key, [Drawn(planned.path, key, written)])
        yield from self._chapters(before, stands)

    def _chapters(self, before: Mapping[str, Group], stands: Stands) -> Iterator[tuple[str, Pages]]:
        wanted = []
        for code in self._writer.shelf.outlines:
            name, key = f"formula {code}", self._key(code)
            if self._is_same(before.get(name, Group()), key, stands):
                yield name, Pages(key, None)
            else:
                wanted.append(code)
        kept = {
            code: {
                path: row.key
                for path, row in before.get(f"formula {code}", Group()).pages.items()
                if stands(row)
            }
            for code in wanted
        }

        def drawn(code: str) -> list[Drawn]:
            return self._drawn(code, kept[code])

        for code, pages in zip(wanted, each(drawn, wanted, self._reopen), strict=True):
            yield f"formula {code}", Pages(self._key(code), pages)

    @staticmethod
    def _is_same(old: Group, key: str, stands: Stands) -> bool:
        return old.key == key and all(stands(row) for row in old.pages.values())

    def _key(self, code: str) -> str:
        """What all pages of a formula are made of together."""
        shelf = self._writer.shelf
        linked = self._paths if shelf.outlines[code].linked else ""
        told = repr(self._errata.get(code, ()))
        return keys.digest(self._base, shelf.substance[code], linked, told)

    def _drawn(self, code: str, kept: Mapping[str, str]) -> list[Drawn]:
        journal = self._writer.shelf.take({code})
        parts = keys.parts_of(journal, self._paths)

        def page(planned: Planned) -> Drawn:
            key = keys.key_of(planned, parts, self._base)
            same = kept.get(planned.path) == key
            return Drawn(planned.path, key, None if same else self._writer.written(planned))

        return [page(planned) for planned in self._writer.chapter(journal)]
