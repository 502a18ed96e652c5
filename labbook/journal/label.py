"""The draft of a formula's ingredient list in public, and the cautions of what goes in."""

from __future__ import annotations

from labbook.journal.ingredients import Uses
from labbook.journal.teller import Teller
from labbook.journal.views import View
from labbook.model.formula import Formula
from labbook.trade.checks.regions import ASSUMED
from labbook.trade.composition import resolve
from labbook.trade.label import draft_label


def label_view(teller: Teller, formula: Formula) -> View:
    """The list by weight, and what isn't known of it."""
    sheets = teller.journal.sheets
    draft = draft_label(
        resolve(formula, sheets), sheets, region=ASSUMED, use=formula.use or "", title=formula.title
    )
    nameless = [entry.name for entry in draft.entries if not entry.named]
    whole = [entry.name for entry in draft.entries if ", " in entry.name]
    return {
        "text": draft.text,
        "order": draft.order_source,
        "nameless": ", ".join(nameless),
        "gaps": list(draft.gaps),
        "whole": "; ".join(whole),
        "allergens": ", ".join((*draft.unknown_first, *draft.unknown_other)),
    }


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
    return [{"names": ", ".join(names), "text": text} for text, names in found.items()]
