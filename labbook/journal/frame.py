"""What the pages of some formulas are written with: their teller, pictures, ingredients, story."""

from __future__ import annotations

from labbook.journal.blocks import Blocks
from labbook.journal.ingredients import Uses
from labbook.journal.page import Page
from labbook.journal.pictures import Pictures
from labbook.journal.press import Press
from labbook.journal.publish import PublicFormula, PublicJournal
from labbook.journal.teller import Teller
from labbook.journal.views import View, content_view, version_view
from labbook.model.formula import Formula


class Frame:
    """Shared by the pages of what is told of some formulas; each thing is worked out once.

    Args:
        press: what every page is written with.
        journal: what is told of the formulas.
    """

    def __init__(self, press: Press, journal: PublicJournal) -> None:
        self.press = press
        self.journal = journal
        self.teller = Teller(journal)
        self.pictures = Pictures(self.teller)
        self.uses = Uses(journal.sheets)
        self.blocks = Blocks(self.teller, press.templates, self.pictures, self.uses)
        self._story: tuple[str, list[View]] = ("", [])

    def page(
        self, path: str, title: str, template: str, *, script: str = "", **more: object
    ) -> Page:
        """A page from a template, with the pictures that were drawn for it."""
        drawn = self.pictures.taken()
        return self.press.page(path, title, template, script=script, pictures=drawn, **more)

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
