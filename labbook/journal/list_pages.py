"""Home, entries, ingredients, and the pages that list: formulas, archive, search, corrections."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from labbook.journal.archive import entry_line, formula_line, home_view, year_path
from labbook.journal.finding import entry_found, ingredient_found
from labbook.journal.frame import Frame, erratum_view
from labbook.journal.ingredients import ingredient_path, ingredient_view
from labbook.journal.markdown import day
from labbook.journal.names import batch_path, entry_path, formula_path, version_path
from labbook.journal.page import EVERYTHING, Page, Planned, parts, reaching
from labbook.model.entry import Entry

SEARCH = "search.js"


def plan_lists(frame: Frame) -> Iterator[Planned]:
    """Home and the other lists."""
    every = parts(EVERYTHING)
    yield Planned("index", every, "", partial(_home, frame))
    yield Planned("formulas", every, "", partial(_formulas, frame))
    yield Planned("ingredients", every, "", partial(_ingredients, frame))
    yield Planned("archive", every, "", partial(_archive, frame))
    for year in frame.archive.years():
        of = parts(frame.archive.parts(year))
        yield Planned(year_path(year), of, "", partial(_year, frame, year))
    yield Planned("search", parts(), "", partial(_search, frame))
    if frame.errata:
        yield Planned("corrections", every, "", partial(_corrections, frame))


def plan_entries(frame: Frame) -> Iterator[Planned]:
    """The maker's own entries; one that shows or links to other parts is made of everything."""
    entries = frame.journal.entries
    for number, entry in enumerate(entries):
        near = entries[max(0, number - 1) : number + 2]
        yield Planned(
            entry_path(entry.name),
            parts((f"entry {one.name}" for one in near), reaching(entry.text)),
            "",
            partial(_entry, frame, number),
            partial(entry_found, entry),
        )


def plan_ingredients(frame: Frame) -> Iterator[Planned]:
    """A page for each sheet that a public formula names."""
    for name in frame.uses.names:
        used = frame.uses.formulas(name)
        yield Planned(
            ingredient_path(name),
            parts(
                f"ingredient {name}",
                (f"formula {one.formula.code}" for one in used),
                (f"version {version.name}" for one in used for version in one.versions),
            ),
            frame.told_of(f"ingredient {name}"),
            partial(_ingredient, frame, name),
            partial(ingredient_found, name, frame.journal.sheets.by_file[name]),
        )


# Writing ------------------------------------------------------------------------------------------


def _home(frame: Frame) -> Page:
    title = frame.journal.settings.title
    return frame.page("index", title, "home.md.j2", home=home_view(frame.teller))


def _formulas(frame: Frame) -> Page:
    lines = [formula_line(one) for one in frame.journal.formulas]
    return frame.page("formulas", "Formulas", "formulas.md.j2", formulas=lines)


def _ingredients(frame: Frame) -> Page:
    lines = []
    for name in frame.uses.names:
        sheet = frame.journal.sheets.by_file[name]
        used = [{"title": one.formula.title, "path": formula_path(one.formula.code)}
                for one in frame.uses.formulas(name)]  # fmt: skip
        lines.append(
            {
                "title": sheet.title or name,
                "path": ingredient_path(name),
                "does": ", ".join(sheet.functions),
                "used": used[:3],
                "more": max(0, len(used) - 3),
            }
        )
    lines.sort(key=lambda line: (str(line["title"]).casefold(), str(line["path"])))
    return frame.page("ingredients", "Ingredients", "ingredients.md.j2", ingredients=lines)


def _ingredient(frame: Frame, name: str) -> Page:
    view = ingredient_view(frame.uses, name, frame.journal.sheets.by_file[name])
    return frame.page(
        ingredient_path(name),
        view["title"],
        "ingredient.md.j2",
        sheet=view,
        corrected=frame.corrected(f"ingredient {name}"),
    )


def _archive(frame: Frame) -> Page:
    years = [frame.archive.year_line(year) for year in frame.archive.years()]
    undated = [entry_line(entry) for entry in frame.archive.undated]
    return frame.page("archive", "Archive", "archive.md.j2", years=years, undated=undated)


def _year(frame: Frame, year: int) -> Page:
    months = frame.archive.months(year)
    return frame.page(year_path(year), str(year), "year.md.j2", months=months)


def _search(frame: Frame) -> Page:
    return frame.page("search", "Search", "search.md.j2", script=SEARCH)


def _corrections(frame: Frame) -> Page:
    errata = []
    for one in frame.errata:
        name, path = _named(frame, one.part)
        errata.append({**erratum_view(one), "name": name, "path": path})
    return frame.page("corrections", "Corrections", "corrections.md.j2", errata=errata)


def _named(frame: Frame, part: str) -> tuple[str, str]:
    """What a part is called, and its page."""
    kind, _, name = part.partition(" ")
    if kind == "batch":
        return name.rsplit("-", 1)[-1], batch_path(name)
    if kind == "version":
        code, _, number = name.partition("@")
        return name, version_path(code, int(number))
    sheet = frame.journal.sheets.by_file.get(name)
    return (sheet.title if sheet and sheet.title else name), ingredient_path(name)


def _entry(frame: Frame, number: int) -> Page:
    entries = frame.journal.entries
    entry: Entry = entries[number]
    body, broken = frame.blocks.filled(entry.text, "../")
    frame.broken += [(entry, one) for one in broken]
    return frame.page(
        entry_path(entry.name),
        entry.title,
        "entry.md.j2",
        date=day(entry.date),
        body=body,
        later=entry_line(entries[number - 1]) if number else None,
        earlier=entry_line(entries[number + 1]) if number + 1 < len(entries) else None,
    )
