"""What every page is written with: the records' teller, templates, pictures, the line of names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from labbook.journal.archive import Archive
from labbook.journal.blocks import Blocks, BrokenBlock
from labbook.journal.errata import Erratum
from labbook.journal.ingredients import Uses
from labbook.journal.markdown import Md, Templates, day
from labbook.journal.page import Page
from labbook.journal.pictures import Pictures
from labbook.journal.publish import PublicFormula, PublicJournal
from labbook.journal.teller import Teller
from labbook.journal.views import View, content_view, version_view
from labbook.model.entry import Entry
from labbook.model.formula import Formula


class Frame:
    """Shared by all pages of one journal; each thing that two pages say is worked out once."""

    def __init__(
        self, journal: PublicJournal, templates: Mapping[str, str], errata: Sequence[Erratum]
    ) -> None:
        self.journal = journal
        self.errata = tuple(errata)
        self.teller = Teller(journal)
        self.templates = Templates(templates)
        self.pictures = Pictures(self.teller)
        self.uses = Uses(self.teller)
        self.blocks = Blocks(self.teller, self.templates, self.pictures, self.uses)
        self.archive = Archive(self.teller)
        self.broken: list[tuple[Entry, BrokenBlock]] = []
        self._feet: dict[str, Md] = {}
        self._story: tuple[str, list[View]] = ("", [])

    def page(
        self, path: str, title: str, template: str, *, script: str = "", **more: object
    ) -> Page:
        """A page from a template, with the line of names at its foot."""
        up = "../" * path.count("/")
        body = self.templates.render(template, title=title, up=up, **more)
        return Page(path, title, body, self._foot(up), script)

    def _foot(self, up: str) -> Md:
        if up not in self._feet:
            names = [("Formulas", "formulas"), ("Ingredients", "ingredients"),
                     ("Archive", "archive"), ("Search", "search")]  # fmt: skip
            names += [("Corrections", "corrections")] if self.errata else []
            title = self.journal.settings.title
            self._feet[up] = self.templates.render("foot.md.j2", site=title, names=names, up=up)
        return self._feet[up]

    def story(self, one: PublicFormula) -> list[View]:
        """The versions of a formula, the first one first; that of the last formula is kept."""
        code = one.formula.code
        if self._story[0] != code:
            found = [version_view(self.teller, one, version) for version in one.versions]
            self._story = (code, found)
        return self._story[1]

    def content(self, formula: Formula) -> View:
        """A content, its ingredients with their pages."""
        return content_view(self.teller, formula, self.uses.path_of)

    def corrected(self, part: str) -> list[View]:
        """What changed of a part after it was published."""
        return [erratum_view(one) for one in self.errata if one.part == part]

    def told_of(self, part: str) -> str:
        """The same as plain text, for what a page is made of."""
        return "; ".join(str(one) for one in self.errata if one.part == part)


def erratum_view(one: Erratum) -> View:
    """A changed figure as a template takes it."""
    return {
        "what": one.what,
        "was": one.was,
        "now": one.now,
        "day": day(one.day),
        "why": one.why,
        "part": one.part,
    }
