"""All pages of a journal: from the public records to the bytes of every file of the site.

`Writer.lists` and `Writer.chapter` say which pages there are and what each is made of; nothing is
written until a page is asked for, so that who knows the parts unchanged needn't ask.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from labbook.journal import feed, search
from labbook.journal.blocks import BrokenBlock
from labbook.journal.errata import Erratum
from labbook.journal.finding import corrected, entry_found, entry_item, ingredient_found
from labbook.journal.formula_pages import plan_chapter
from labbook.journal.frame import Frame
from labbook.journal.html import Shell
from labbook.journal.list_pages import plan_lists
from labbook.journal.page import Planned
from labbook.journal.press import Press
from labbook.journal.publish import PublicJournal
from labbook.journal.shelf import Shelf, shelf_of
from labbook.show.layout import clean
from labbook.show.plots.svg import on_paper

_BESIDE = (".css", ".svg")


@dataclass(frozen=True)
class Site:
    """Every file by its path, and the blocks that can't be shown, by the path of their page."""

    files: Mapping[str, bytes]
    broken: tuple[tuple[str, BrokenBlock], ...]


@dataclass(frozen=True)
class Written:
    """The files of one page by their paths, and the blocks of it that can't be shown."""

    files: Mapping[str, bytes]
    broken: tuple[BrokenBlock, ...] = ()


def site(
    journal: PublicJournal,
    markdown: Mapping[str, str],
    html: Mapping[str, str],
    errata: Sequence[Erratum] = (),
) -> Site:
    """The whole site.

    Args:
        journal: what is public.
        markdown: templates of the pages, by file name.
        html: `page.html.j2`, the stylesheet and the scripts, by file name.
        errata: published figures that changed, the latest first.
    """
    writer = Writer(shelf_of(journal), markdown, html, errata)
    files: dict[str, bytes] = dict(writer.beside())
    broken: list[tuple[str, BrokenBlock]] = []
    for planned in writer.plan():
        written = writer.written(planned)
        files |= written.files
        broken += [(planned.path, one) for one in written.broken]
    return Site(dict(sorted(files.items())), tuple(broken))


class Writer:
    """Writes the pages of one journal, each when it is asked for."""

    def __init__(
        self,
        shelf: Shelf,
        markdown: Mapping[str, str],
        html: Mapping[str, str],
        errata: Sequence[Erratum] = (),
    ) -> None:
        self.shelf = shelf
        self._press = Press(shelf.settings, markdown, errata)
        self._html = html
        self.lists: tuple[Planned, ...] = tuple(plan_lists(self._press, shelf))
        """Home, lists, entries and ingredients, home first."""
        listed = [one.path for one in self.lists]
        self.paths: tuple[str, ...] = (
            *listed, *(path for one in shelf.outlines.values() for path in one.paths)
        )  # fmt: skip
        """The paths of all pages."""
        self._address = feed.address_of(shelf.settings.site_url)
        self._shell = Shell(
            clean(shelf.settings.title),
            html["page.html.j2"],
            frozenset(self.paths),
            {name: text for name, text in html.items() if name.endswith(".js")},
            feed.FILE if self._address else "",
        )

    def chapter(self, journal: PublicJournal) -> tuple[Planned, ...]:
        """The pages of the formulas that a journal tells of."""
        frame = Frame(self._press, journal)
        return tuple(page for one in journal.formulas for page in plan_chapter(frame, one))

    def plan(self) -> Iterator[Planned]:
        """All pages; the records of each formula are taken down in turn."""
        yield from self.lists
        for code in self.shelf.outlines:
            yield from self.chapter(self.shelf.take({code}))

    def written(self, planned: Planned) -> Written:
        """The files of one page: as Markdown, as HTML, and the pictures that it refers to."""
        page = planned.write()
        files = {
            f"{page.path}.html": self._shell.page(page).encode("utf-8"),
            f"markdown/{page.path}.md": page.markdown.encode("utf-8"),
            **{f"markdown/{p}": on_paper(s).encode("utf-8") for p, s in page.pictures.items()},
        }
        return Written(files, page.broken)

    def beside(self) -> dict[str, bytes]:
        """What stands beside the pages: stylesheet, icon, index of the search, feed."""
        files = {n: text.encode("utf-8") for n, text in self._html.items() if n.endswith(_BESIDE)}
        files[search.FILE] = search.index_script(self._searched()).encode("ascii")
        if self._address:
            settings = self.shelf.settings
            text = feed.feed(settings.title, settings.author or "", self._address, self._items())
            files[feed.FILE] = text.encode("utf-8")
        return files

    def _searched(self) -> Iterator[search.Part]:
        shelf = self.shelf
        for one in shelf.outlines.values():
            yield one.found, one.words
        yield search.part_of(entry_found(entry) for entry in shelf.entries)
        sheets = shelf.sheets
        yield search.part_of(ingredient_found(n, sheets.by_file[n]) for n in sheets.names())

    def _items(self) -> Iterator[feed.Item]:
        shelf = self.shelf
        entries = ((f"entry {one.name}", entry_item(one)) for one in shelf.entries)
        items = [(part, item) for part, item in entries if item is not None]
        items += [pair for one in shelf.outlines.values() for pair in one.items]
        return corrected(items, self._press.errata)
