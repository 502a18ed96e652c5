"""Home, entries, ingredients, and the pages that list: formulas, archive, search, corrections.

All of them are made of outlines; only the live blocks of an entry take a formula's records down.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from labbook.journal.archive import (
    Archive,
    entry_line,
    home_view,
    month_line,
    month_path,
    year_path,
)
from labbook.journal.blocks import codes_named
from labbook.journal.errata import Erratum
from labbook.journal.frame import Frame
from labbook.journal.ingredients import ingredient_path, ingredient_view
from labbook.journal.markdown import day
from labbook.journal.names import batch_path, entry_path, version_path
from labbook.journal.page import PATHS, Page, Planned, parts, reaching
from labbook.journal.press import Press, erratum_view
from labbook.journal.shelf import Shelf
from labbook.journal.views import View

SEARCH = "search.js"
_USED = 3
"""Formulas that the list of ingredients names for each."""


def plan_lists(press: Press, shelf: Shelf) -> Iterator[Planned]:
    """Every page that isn't one of a formula's own."""
    outlines = list(shelf.outlines.values())
    archive = Archive(shelf.entries, outlines)
    author = shelf.settings.author or ""
    home = home_view(author, shelf.entries, outlines)
    yield _listing(press, "index", shelf.settings.title, "home.md.j2", home=home)
    lines = [one.line for one in outlines]
    yield _listing(press, "formulas", "Formulas", "formulas.md.j2", formulas=lines)
    uses = uses_of(shelf)
    named = _ingredients(shelf, uses)
    yield _listing(press, "ingredients", "Ingredients", "ingredients.md.j2", ingredients=named)
    years = [archive.year_line(year) for year in archive.years()]
    undated = archive.undated
    yield _listing(press, "archive", "Archive", "archive.md.j2", years=years, undated=undated)
    for year in archive.years():
        yield from _plan_year(press, archive, year)
    yield _listing(press, "search", "Search", "search.md.j2", script=SEARCH)
    if press.errata:
        told = [_erratum(shelf, one) for one in press.errata]
        page = _listing(press, "corrections", "Corrections", "corrections.md.j2", errata=told)
        yield replace(page, parts=parts(PATHS))  # what was corrected may have no page any more
    yield from _plan_entries(press, shelf)
    for name in shelf.sheets.names():
        view = ingredient_view(name, shelf.sheets.by_file[name], uses.get(name, []))
        corrected = press.corrected(f"ingredient {name}")
        path, title = ingredient_path(name), str(view["title"])
        yield _listing(press, path, title, "ingredient.md.j2", sheet=view, corrected=corrected)


def _plan_year(press: Press, archive: Archive, year: int) -> Iterator[Planned]:
    months = archive.months(year)
    if not archive.is_long(year):
        yield _listing(press, year_path(year), str(year), "year.md.j2", months=months)
        return
    lines = [month_line(year, month) for month in months]
    yield _listing(press, year_path(year), str(year), "archive.md.j2", years=lines, undated=[])
    for month in months:
        title, only = f"{month['name']} {year}", [{**month, "name": ""}]
        yield _listing(press, month_path(year, month), title, "year.md.j2", months=only)


def _listing(
    press: Press, path: str, title: str, template: str, *, script: str = "", **view: Any
) -> Planned:
    """A page that is made of nothing but what its template is handed."""
    made = json.dumps([title, view], ensure_ascii=True, sort_keys=True, default=str)
    write = partial(press.page, path, title, template, script=script, **view)
    return Planned(path, parts(), made, write)


# Entries ------------------------------------------------------------------------------------------


def _plan_entries(press: Press, shelf: Shelf) -> Iterator[Planned]:
    entries = shelf.entries
    for number, entry in enumerate(entries):
        near = entries[max(0, number - 1) : number + 2]
        codes = codes_named(entry.text, shelf.outlines, shelf.code_of)
        made = [repr(one) for one in near]
        if codes is not None:
            made += [shelf.around, *(f"{code} {shelf.substance[code]}" for code in sorted(codes))]
        yield Planned(
            entry_path(entry.name),
            # What a block names may be public by now: the pages of everything tell.
            reaching(entry.text) if codes is None else parts(PATHS),
            "\n".join(made),
            partial(_entry, press, shelf, number, codes or frozenset()),
        )


def _entry(press: Press, shelf: Shelf, number: int, codes: frozenset[str]) -> Page:
    entries = shelf.entries
    entry = entries[number]
    frame = Frame(press, shelf.take(codes))
    body, broken = frame.blocks.filled(entry.text, "../")
    page = frame.page(
        entry_path(entry.name),
        entry.title,
        "entry.md.j2",
        date=day(entry.date),
        body=body,
        later=entry_line(entries[number - 1]) if number else None,
        earlier=entry_line(entries[number + 1]) if number + 1 < len(entries) else None,
    )
    return replace(page, broken=tuple(broken))


# Ingredients --------------------------------------------------------------------------------------


def uses_of(shelf: Shelf) -> Mapping[str, Sequence[View]]:
    """What each formula has of each ingredient, by the name of its sheet."""
    found: dict[str, list[View]] = {}
    for one in shelf.outlines.values():
        for name, use in one.uses.items():
            found.setdefault(name, []).append(use)
    return found


def _ingredients(shelf: Shelf, uses: Mapping[str, Sequence[View]]) -> list[View]:
    lines = []
    for name, sheet in shelf.sheets.by_file.items():
        used = uses.get(name, [])
        lines.append(
            {
                "title": sheet.title or name,
                "path": ingredient_path(name),
                "does": ", ".join(sheet.functions),
                "used": used[:_USED],
                "more": max(0, len(used) - _USED),
            }
        )
    return sorted(lines, key=lambda line: (str(line["title"]).casefold(), str(line["path"])))


# Corrections --------------------------------------------------------------------------------------


def _erratum(shelf: Shelf, one: Erratum) -> View:
    name, path = _named(shelf, one.part)
    return {**erratum_view(one), "name": name, "path": path}


def _named(shelf: Shelf, part: str) -> tuple[str, str]:
    """What a part is called, and its page."""
    kind, _, name = part.partition(" ")
    if kind == "batch":
        return name.rsplit("-", 1)[-1], batch_path(name)
    if kind == "version":
        code, _, number = name.partition("@")
        return name, version_path(code, int(number))
    sheet = shelf.sheets.by_file.get(name)
    return (sheet.title if sheet and sheet.title else name), ingredient_path(name)
