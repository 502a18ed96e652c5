"""What every page is written with: the templates, the line of names at its foot, what changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from labbook.journal.errata import Erratum
from labbook.journal.markdown import Md, Templates, day
from labbook.journal.page import Page
from labbook.journal.views import View
from labbook.model.settings import Settings


class Press:
    """Shared by all pages of one journal.

    Args:
        settings: the head of the notebook.
        templates: of the Markdown, by file name.
        errata: published figures that changed, the latest first.
    """

    def __init__(
        self, settings: Settings, templates: Mapping[str, str], errata: Sequence[Erratum] = ()
    ) -> None:
        self.settings = settings
        self.errata = tuple(errata)
        self.templates = Templates(templates)
        self._feet: dict[str, Md] = {}
        self._told: dict[str, list[Erratum]] = {}
        for one in self.errata:
            self._told.setdefault(one.part, []).append(one)

    def page(
        self,
        path: str,
        title: str,
        template: str,
        *,
        script: str = "",
        pictures: Mapping[str, str] | None = None,
        **more: object,
    ) -> Page:
        """A page from a template, with the line of names at its foot."""
        up = "../" * path.count("/")
        body = self.templates.render(template, title=title, up=up, **more)
        return Page(path, title, body, self._foot(up), script, pictures or {})

    def _foot(self, up: str) -> Md:
        if up not in self._feet:
            names = [("Formulas", "formulas"), ("Ingredients", "ingredients"),
                     ("Archive", "archive"), ("Search", "search")]  # fmt: skip
            names += [("Corrections", "corrections")] if self.errata else []
            title = self.settings.title
            self._feet[up] = self.templates.render("foot.md.j2", site=title, names=names, up=up)
        return self._feet[up]

    def corrected(self, part: str) -> list[View]:
        """What changed of a part after it was published."""
        return [erratum_view(one) for one in self._told.get(part, ())]

    def told_of(self, part: str) -> str:
        """The same as plain text, for what a page is made of."""
        return "; ".join(str(one) for one in self._told.get(part, ()))


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
