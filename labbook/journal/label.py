"""The draft of a formula's ingredient list in public, and the cautions of what goes in."""

from __future__ import annotations

from collections.abc import Iterable

from labbook.journal.ingredients import Uses
from labbook.journal.publish import PublicJournal
from labbook.journal.views import View
from labbook.model.formula import Formula
from labbook.model.results.label import Allergen, LabelDraft
from labbook.show.label import percent_text
from labbook.trade.checks.regions import regions_of
from labbook.trade.composition import resolve
from labbook.trade.label import REGIONS, draft_label


def draft_of(journal: PublicJournal, formula: Formula) -> LabelDraft:
    """The draft that `formula label` gives, as far as what blends are made of may be told."""
    law = regions_of(journal.settings.region or "", REGIONS)
    return draft_label(
        resolve(formula, journal.known),
        journal.labelled,
        region=law.names[0],
        use=formula.use or "",
        title=formula.title,
    )


def label_view(journal: PublicJournal, formula: Formula) -> View:
    """The list by weight, and what isn't known of it."""
    draft = draft_of(journal, formula)
    lines = {line.ingredient: journal.sheets.find(line.ingredient) for _, line in formula.lines}
    whole = [n for n, sheet in lines.items() if sheet and sheet.id in journal.beyond.whole]
    return {
        "text": draft.text,
        "region": draft.region,
        "order": draft.order_source,
        "ties": [" and ".join(names) for names in draft.ties],
        "colours": ", ".join(entry.name for entry in draft.entries if entry.colourant),
        "nameless": _titles(journal, (one.name for one in draft.entries if not one.named)),
        "joined": "; ".join(entry.name for entry in draft.entries if ", " in entry.name),
        "whole": _titles(journal, whole),
        "limit": percent_text(draft.allergen_threshold),
        "use": draft.use,
        "assumed": draft.use_assumed,
        "law": draft.allergen_source,
        "over": _allergens(journal, (one for one in draft.allergens if one.over)),
        "perhaps": _allergens(journal, (one for one in draft.allergens if one.over is None)),
        "unknown": _titles(journal, (*draft.unknown_first, *draft.unknown_other)),
        "gaps": [*draft.gaps, *draft.findings],
    }


def _allergens(journal: PublicJournal, found: Iterable[Allergen]) -> str:
    """Names, and what brings them; how much of it there is in a blend stays the maker's."""
    told = ((one.name, _titles(journal, one.ingredients)) for one in found)
    return "; ".join(n if n.casefold() == by.casefold() else f"{n} in {by}" for n, by in told)


def _titles(journal: PublicJournal, names: Iterable[str]) -> str:
    sheets = ((name, journal.labelled.find(name)) for name in names)
    return "; ".join((sheet.title if sheet else "") or name for name, sheet in sheets)


def cautions_of(uses: Uses, formula: Formula) -> list[View]:
    """What the sheets say has to be minded, each sentence once, with all that it holds for."""
    found: dict[str, list[str]] = {}
    for _, line in formula.lines:
        sheet = uses.sheet(line.ingredient)
        for caution in sheet.cautions if sheet else ():
            names = found.setdefault(caution, [])
            title = (sheet.title if sheet else "") or line.ingredient
            if title not in names:
                names.append(title)
    return [{"names": "; ".join(names), "text": text} for text, names in found.items()]
