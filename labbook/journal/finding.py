"""What the search and the feed know of each page: cheap words from the records themselves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date

from labbook.journal.archive import first_words
from labbook.journal.errata import Erratum
from labbook.journal.feed import Item
from labbook.journal.ingredients import ingredient_path
from labbook.journal.markdown import day
from labbook.journal.names import batch_path, entry_path, formula_path, version_path
from labbook.journal.page import Found
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.journal.teller import Teller, last_day
from labbook.model.entry import Entry
from labbook.model.materials import Ingredient
from labbook.model.moments import day_of
from labbook.model.versions import Version


def _joined(words: Iterable[str | None]) -> str:
    return " ".join(word for word in words if word)


# The search ---------------------------------------------------------------------------------------


def formula_found(one: PublicFormula) -> Found:
    """A formula by its title, code, type, notes and ingredients."""
    formula = one.formula
    last = one.versions[-1].formula.lines if one.versions else ()
    text = _joined([formula.notes, *(line.ingredient for _, line in last)])
    return Found(
        formula_path(formula.code), formula.title, f"{formula.code}, {formula.emulsion}", text
    )


def version_found(one: PublicFormula, version: Version) -> Found:
    """A version by its name and what was said when it was saved."""
    note = f"{day(version.when.date())}{f', {version.subject}' if version.subject else ''}"
    text = _joined(line.ingredient for _, line in version.formula.lines)
    return Found(
        version_path(version.code, version.number),
        f"{one.formula.title}, {version.name}",
        note,
        text,
    )


def batch_found(teller: Teller, made: PublicBatch) -> Found:
    """A batch by its name and what was said of it."""
    batch = made.batch
    looks = made.stability.looks if made.stability else ()
    words: list[str | None] = [batch.id, batch.aim, batch.changes, batch.notes]
    words += [one.text for one in batch.deviations]
    words += [one.text for one in batch.remarks]
    words += [line.ingredient for line in batch.lines]
    for look in looks:
        words += [look.condition, *look.modes, look.note, look.reading]
    note = f"{day(day_of(batch.made))}, {teller.headline(made)}"
    return Found(batch_path(batch.id), f"{batch.short}, {made.title}", note, _joined(words))


def entry_found(entry: Entry) -> Found:
    """An entry by all its words."""
    return Found(entry_path(entry.name), entry.title, day(entry.date), entry.text)


def ingredient_found(name: str, sheet: Ingredient) -> Found:
    """An ingredient by all its names."""
    text = _joined([name, sheet.inci, *sheet.also])
    return Found(ingredient_path(name), sheet.title or name, ", ".join(sheet.functions), text)


# The feed -----------------------------------------------------------------------------------------


def entry_item(entry: Entry) -> Item | None:
    """A dated entry in the feed."""
    if entry.date is None:
        return None
    path = entry_path(entry.name)
    return Item(
        name=f"entry/{path.rpartition('/')[2]}",
        path=path,
        title=entry.title,
        summary=first_words(entry),
        born=entry.date,
        updated=entry.date,
    )


def batch_item(teller: Teller, made: PublicBatch) -> Item:
    """A batch in the feed; a later look makes it new."""
    batch = made.batch
    path = batch_path(batch.id)
    return Item(
        name=f"batch/{path.rpartition('/')[2]}",
        path=path,
        title=f"{batch.short}, {made.title}",
        summary=f"{batch.formula.name}: {teller.headline(made)}.",
        born=day_of(batch.made),
        updated=last_day([made]),
    )


def corrected(items: Iterable[tuple[str, Item]], errata: Sequence[Erratum]) -> Iterator[Item]:
    """Items with their parts; a correction after they were published makes them new."""
    days: dict[str, date] = {}
    for one in errata:
        days[one.part] = max(one.day, days.get(one.part, date.min))
    for part, item in items:
        late = days.get(part, date.min)
        yield replace(item, updated=late) if late > item.updated else item
