"""All pages of a journal: from the public records to the bytes of every file of the site."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from labbook.journal import making, views
from labbook.journal.blocks import Blocks, BrokenBlock
from labbook.journal.html import Shell
from labbook.journal.markdown import Templates, day, free, md
from labbook.journal.names import entry_path, formula_path, version_path
from labbook.journal.pictures import Pictures
from labbook.journal.publish import PublicFormula, PublicJournal
from labbook.journal.teller import Teller
from labbook.model.entry import Entry
from labbook.model.results.looking import INTACT
from labbook.show.layout import clean
from labbook.show.outcomes import leading

LATEST = 5
_FIRST = re.compile(r"\A(.{1,240}?[.!?])(?=\s|\Z)", re.DOTALL)
_PLAIN = re.compile(r"\]\([^)\n]{0,1000}\)|[`*_\[\]<>|#~\\!]")


@dataclass(frozen=True)
class Page:
    """A page: its path without an ending, its title, its Markdown with the foot apart."""

    path: str
    title: str
    body: str
    foot: str

    @property
    def markdown(self) -> str:
        """The page as one Markdown file."""
        return f"{self.body.rstrip()}\n\n---\n\n{self.foot.strip()}\n"


@dataclass(frozen=True)
class Site:
    """Every file by its path, and the blocks of entries that can't be shown, by entry."""

    files: Mapping[str, bytes]
    broken: tuple[tuple[Entry, BrokenBlock], ...]


def site(journal: PublicJournal, markdown: Mapping[str, str], html: Mapping[str, str]) -> Site:
    """The whole site.

    Args:
        journal: what is public.
        markdown: templates of the pages, by file name.
        html: `page.html.j2` and the stylesheet, by file name.
    """
    writer = Writer(journal, markdown)
    pages = {page.path: page for page in writer.pages()}
    title = clean(journal.settings.title)
    shell = Shell(title, html["page.html.j2"], pages.keys(), writer.pictures.inline)
    files: dict[str, bytes] = {}
    for path, page in pages.items():
        files[f"markdown/{path}.md"] = page.markdown.encode("utf-8")
        text = shell.page(path, clean(page.title), page.body, page.foot)
        files[f"{path}.html"] = text.encode("utf-8")
    for path, svg in writer.pictures.files.items():
        files[f"markdown/{path}"] = svg.encode("utf-8")
    files |= {name: text.encode("utf-8") for name, text in html.items() if name.endswith(".css")}
    return Site(dict(sorted(files.items())), tuple(writer.broken))


class Writer:
    """Writes the pages of one journal."""

    def __init__(self, journal: PublicJournal, templates: Mapping[str, str]) -> None:
        self.journal = journal
        self.teller = Teller(journal)
        self.templates = Templates(templates)
        self.pictures = Pictures(self.teller)
        self.blocks = Blocks(self.teller, self.templates, self.pictures)
        self.broken: list[tuple[Entry, BrokenBlock]] = []

    def pages(self) -> Iterator[Page]:
        """All pages, home first."""
        yield self._home()
        for formula in self.journal.formulas:
            yield self._formula(formula)
            yield from self._versions(formula)
        for formula in self.journal.formulas:
            yield from self._batches(formula)
        yield from self._entries()

    def _page(self, path: str, title: str, template: str, **values: object) -> Page:
        up = "../" * path.count("/")
        names = [(one.formula.title, formula_path(one.formula.code))
                 for one in self.journal.formulas]  # fmt: skip
        title_of_site = self.journal.settings.title
        foot = self.templates.render("foot.md.j2", site=title_of_site, names=names, up=up)
        body = self.templates.render(template, title=title, up=up, **values)
        return Page(path, title, body, foot)

    # Pages ----------------------------------------------------------------------------------------

    def _home(self) -> Page:
        formulas = []
        for one in self.journal.formulas:
            last = one.versions[-1] if one.versions else None
            newest = [b for b in one.batches if last and b.batch.formula.version == last.number]
            formulas.append(
                {
                    "code": one.formula.code,
                    "title": one.formula.title,
                    "emulsion": one.formula.emulsion,
                    "path": formula_path(one.formula.code),
                    "versions": len(one.versions),
                    "last": views.version_view(self.teller, one, last) if last else None,
                    "became": self.teller.became(newest) if newest else "",
                }
            )
        watched = [
            views.batch_line(self.teller, made)
            for made in reversed(self.journal.batches)
            if (lead := leading(self.teller.outcomes(made))) and lead.state == INTACT
        ]
        return self._page(
            "index",
            self.journal.settings.title,
            "home.md.j2",
            author=self.journal.settings.author or "",
            entries=[_listed(entry) for entry in self.journal.entries],
            formulas=formulas,
            watched=watched[:LATEST],
            older=max(0, len(watched) - LATEST),
        )

    def _formula(self, one: PublicFormula) -> Page:
        last = one.versions[-1] if one.versions else None
        story = [views.version_view(self.teller, one, v) for v in reversed(one.versions)]
        return self._page(
            formula_path(one.formula.code),
            one.formula.title,
            "formula.md.j2",
            formula=one.formula,
            notes=free(one.formula.notes),
            content=views.content_view(self.teller, last.formula) if last else None,
            last=story[0] if story else None,
            story=story,
            outcomes=views.outcome_view(self.teller, one),
            timeline=self.pictures.of_formula(one, "../"),
        )

    def _versions(self, one: PublicFormula) -> Iterator[Page]:
        every = [views.version_view(self.teller, one, v) for v in one.versions]
        for number, version in enumerate(one.versions):
            before = one.versions[number - 1] if number else None
            found = self.teller.difference(before, version) if before else None
            yield self._page(
                every[number]["path"],
                f"{one.formula.title}, {version.name}",
                "version.md.j2",
                formula=one.formula,
                formula_path=formula_path(one.formula.code),
                version=every[number],
                before=every[number - 1] if number else None,
                after=every[number + 1] if number + 1 < len(every) else None,
                content=views.content_view(self.teller, version.formula),
                diff=views.difference_view(found) if found else None,
            )

    def _batches(self, one: PublicFormula) -> Iterator[Page]:
        numbers = {version.number: version for version in one.versions}
        for made in one.batches:
            version = numbers.get(made.batch.formula.version)
            view = making.batch_view(self.teller, made)
            yield self._page(
                view["path"],
                f"{made.batch.short}, {made.title}",
                "batch.md.j2",
                batch=view,
                notes=free(made.batch.notes),
                timeline=self.pictures.of_batch(made, "../"),
                formula_path=formula_path(one.formula.code),
                version_path=version_path(version.code, version.number) if version else "",
            )

    def _entries(self) -> Iterator[Page]:
        entries = self.journal.entries
        for number, entry in enumerate(entries):
            body, broken = self.blocks.filled(entry.text, "../")
            self.broken += [(entry, one) for one in broken]
            yield self._page(
                entry_path(entry.name),
                entry.title,
                "entry.md.j2",
                date=day(entry.date),
                body=body,
                later=_listed(entries[number - 1]) if number else None,
                earlier=_listed(entries[number + 1]) if number + 1 < len(entries) else None,
            )


def _listed(entry: Entry) -> views.View:
    """An entry in a list: its first sentence without marks."""
    start = next(
        (
            part
            for part in re.split(r"\n\s*\n", entry.text.strip())
            if part.strip() and not part.lstrip().startswith(("#", "```", "~~~", "|", ">", "- "))
        ),
        "",
    )
    plain = " ".join(_PLAIN.sub("", start).split())
    first = _FIRST.match(plain)
    words = first[1] if first else f"{plain[:160].rstrip()}…" if len(plain) > 160 else plain
    return {
        "title": entry.title,
        "path": entry_path(entry.name),
        "date": day(entry.date),
        "first": md(words),
    }
