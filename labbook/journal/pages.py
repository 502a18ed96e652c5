"""All pages of a journal: from the public records to the bytes of every file of the site.

`Writer.plan` says which pages there are and what each is made of; nothing is written until a page
is asked for, so that who knows the parts unchanged needn't ask.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from labbook.journal import feed, search
from labbook.journal.blocks import BrokenBlock
from labbook.journal.errata import Erratum
from labbook.journal.finding import items_of
from labbook.journal.formula_pages import plan_batch, plan_formula
from labbook.journal.frame import Frame
from labbook.journal.html import Shell
from labbook.journal.list_pages import plan_entries, plan_ingredients, plan_lists
from labbook.journal.page import Found, Planned
from labbook.journal.publish import PublicJournal
from labbook.model.entry import Entry
from labbook.show.layout import clean


@dataclass(frozen=True)
class Site:
    """Every file by its path, and the blocks of entries that can't be shown, by entry."""

    files: Mapping[str, bytes]
    broken: tuple[tuple[Entry, BrokenBlock], ...]


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
    writer = Writer(journal, markdown, html, errata)
    files: dict[str, bytes] = {}
    for planned in writer.plan:
        files |= writer.written(planned)
    files |= writer.beside(one.find() for one in writer.plan if one.find)
    return Site(dict(sorted(files.items())), tuple(writer.broken))


class Writer:
    """Writes the pages of one journal, each when it is asked for."""

    def __init__(
        self,
        journal: PublicJournal,
        markdown: Mapping[str, str],
        html: Mapping[str, str],
        errata: Sequence[Erratum] = (),
    ) -> None:
        self._frame = Frame(journal, markdown, errata)
        self._html = html
        self.plan: tuple[Planned, ...] = tuple(_plan(self._frame))
        """All pages, home first."""
        settings = journal.settings
        self._address = feed.address_of(settings.site_url)
        self._shell = Shell(
            clean(settings.title),
            html["page.html.j2"],
            {one.path for one in self.plan},
            self._frame.pictures.inline,
            {name: text for name, text in html.items() if name.endswith(".js")},
            feed.FILE if self._address else "",
        )

    @property
    def broken(self) -> list[tuple[Entry, BrokenBlock]]:
        """The blocks that can't be shown, of the entries written so far."""
        return self._frame.broken

    def written(self, planned: Planned) -> dict[str, bytes]:
        """The files of one page: as Markdown, as HTML, and the pictures that it refers to."""
        pictures = self._frame.pictures
        pictures.forget()
        page = planned.write()
        return {
            f"{page.path}.html": self._shell.page(page).encode("utf-8"),
            f"markdown/{page.path}.md": page.markdown.encode("utf-8"),
            **{f"markdown/{path}": svg.encode("utf-8") for path, svg in pictures.files.items()},
        }

    def beside(self, found: Iterator[Found]) -> dict[str, bytes]:
        """What stands beside the pages: stylesheet, index of the search, feed.

        Args:
            found: how each page is found, in the order of the plan.
        """
        files = {n: text.encode("utf-8") for n, text in self._html.items() if n.endswith(".css")}
        files[search.FILE] = search.index_script(found).encode("ascii")
        if self._address:
            settings = self._frame.journal.settings
            items = items_of(self._frame.teller, self._frame.errata)
            text = feed.feed(settings.title, settings.author or "", self._address, items)
            files[feed.FILE] = text.encode("utf-8")
        return files


def _plan(frame: Frame) -> Iterator[Planned]:
    yield from plan_lists(frame)
    for one in frame.journal.formulas:
        yield from plan_formula(frame, one)
    for one in frame.journal.formulas:
        yield from (plan_batch(frame, one, made) for made in one.batches)
    yield from plan_entries(frame)
    yield from plan_ingredients(frame)
