"""What the search and the feed know of each page: cheap words from the records themselves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from labbook.journal.archive import first_words
from labbook.journal.errata import Erratum
from labbook.journal.feed import Item
from labbook.journal.ingredients import ingredient_path
from labbook.journal.markdown import day
from labbook.journal.names import batch_path, entry_path, formula_path, version_path
from labbook.journal.page import Found
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.journal.teller import Teller
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


def items_of(teller: Teller, errata: Sequence[Erratum]) -> Iterator[Item]:
    """Dated entries and batches; a later look or a correction makes an item new."""
    corrected: dict[str, date] = {}
    for one in errata:
        corrected[one.part] = max(one.day, corrected.get(one.part, date.min))
    for entry in teller.journal.entries:
        if entry.date is not None:
            yield Item(
                name=f"entry/{entry_path(entry.name).rpartition('/')[2]}",
                path=entry_path(entry.name),
                title=entry.title,
                summary=first_words(entry),
                born=entry.date,
                updated=entry.date,
            )
    for made in teller.batches:
        yield _batch_item(teller, made, corrected)


def _batch_item(teller: Teller, made: PublicBatch, corrected: Mapping[str, date]) -> Item:
    batch = made.batch
    born = day_of(batch.made)
    days = [day_of(look.time) for look in (made.stability.looks if made.stability else ())]
    days += [corrected.get(f"batch {batch.id}", born)]
    return Item(
        name=f"batch/{batch_path(batch.id).rpartition('/')[2]}",
        path=batch_path(batch.id),
        title=f"{batch.short}, {made.title}",
        summary=f"{batch.formula.name}: {teller.headline(made)}.",
        born=born,
        updated=max(born, *days),
    )
