"""Which blends may be told apart: a premix can be a private formula under another name.

What a blend is made of belongs into the ingredient list that the law asks for, so it is reckoned
with, and its components are named there; percents of components are printed nowhere. A sheet that
may hold a private formula keeps its parts, and so does a premix, which is the maker's own mixture,
unless its formula is public.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from labbook.journal.book import Book
from labbook.model.formula import Formula
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets, fold
from labbook.trade.premade import FEW_LINES

PREMIX = "premix"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """What tells whether a sheet holds a formula.

    Attributes:
        names: its code and title; none where the formula is gone.
        public: whether it is published.
        contents: the ingredients of today, as written, and of earlier versions of a short one.
        brought: ingredients of its batches that were weighed from another batch, each with the
            permanent id of the formula that this one was made of; empty where it isn't known.
    """

    names: Sequence[str]
    public: bool
    contents: Sequence[Sequence[str]]
    brought: Sequence[Sequence[str]]


def recipe_of(book: Book, formula_id: str, *, public: bool) -> Recipe:
    """The recipe of a formula, also of one whose file is gone.

    Args:
        book: the notebook.
        formula_id: the permanent id.
        public: whether it is published.
    """
    code = book.code_of.get(formula_id)
    today = book.formulas[code] if code is not None else None
    every: list[Formula] = [today] if today else []
    if today and len(today.lines) <= FEW_LINES:
        every += [version.formula for version in book.versions.get(str(code), ())]
    contents = {tuple(sorted({line.ingredient for _, line in one.lines})) for one in every}
    return Recipe(
        names=[str(code), today.title] if today else [],
        public=public,
        contents=sorted(contents),
        brought=sorted(set(_brought(book, formula_id))),
    )


def _brought(book: Book, formula_id: str) -> Iterator[tuple[str, str]]:
    for id_ in book.made_of.get(formula_id, ()):
        batch = book.batches[id_]
        lines = {line.id: line.sheet for line in batch.lines}
        corrected = [(c.of, c.now) for c in batch.corrections if c.key == "batch" and c.now]
        by_id = {w.id: w for w in batch.weighings}
        sources = [(w, w.batch) for w in batch.weighings if w.batch]
        sources += [(by_id[of], now) for of, now in corrected if of in by_id]
        for weighing, source in sources:
            name = lines.get(weighing.line or "", weighing.ingredient or "")
            made = book.batches.get(source)
            yield name, made.formula.id if made else ""


def told_blends(sheets: Sheets, recipes: Mapping[str, Recipe]) -> frozenset[str]:
    """The ids of sheets whose parts may be told.

    Args:
        sheets: all of the notebook.
        recipes: of every formula, by its permanent id.
    """
    public = {id_ for id_, one in recipes.items() if one.public}
    hidden = {
        sheets.id_of(name)
        for one in recipes.values()
        for name, source in one.brought
        if source not in public
    }
    contents = {
        id_: [frozenset(map(sheets.id_of, content)) for content in one.contents]
        for id_, one in recipes.items()
    }

    def like(name: str, sheet: Ingredient) -> Iterator[str]:
        called = {fold(one) for one in (name, sheet.id, sheet.title or "", *sheet.also) if one}
        parts = frozenset(sheets.id_of(part.ingredient) for part in sheet.contains)
        for id_, one in recipes.items():
            named = any(fold(word) in called for word in one.names)
            if named or any(_holds(parts, content) for content in contents[id_]):
                yield id_

    found = set()
    for name, sheet in sheets.by_file.items():
        if (sheet.contains or sheet.allergens) and sheet.id not in hidden:
            alike = set(like(name, sheet))
            if alike <= public and (alike or PREMIX not in sheet.functions):
                found.add(sheet.id)
    return frozenset(found)


def _holds(parts: frozenset[str], content: frozenset[str]) -> bool:
    """Whether parts may be a content: the same, or some of a short one."""
    return bool(parts) and (parts == content or (len(content) <= FEW_LINES and parts <= content))
