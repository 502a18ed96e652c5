"""One change after another to the sample notebook's records, of every kind that a maker makes."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

from labbook.journal.book import Book
from labbook.model.batch import Batch, Correction, Parent, Reading
from labbook.model.entry import Entry
from labbook.model.formula import Formula
from labbook.model.jars import Look
from labbook.model.photos import Photo, Photos
from labbook.model.quantities import Quantity
from labbook.model.rulebook import RuleBook
from labbook.model.versions import Version
from labbook.notebook.rulebook import read_rulebook
from tests.journal.sample_book import BOOK as SAMPLE

BLOCKS = ("show SBC@3", "show 9t", "diff SBC 2 3", "diff 9t 4m", "log SBC", "outcomes SBC",
          "why 9t", "timeline SBC", "curve SBC", "trend SBC pH", "photos 4m")  # fmt: skip
WHEN = datetime(2026, 4, 15, 9, 0, tzinfo=UTC)


def _entry(name: str, text: str, public: str = "yes") -> Entry:
    path = f"journal/{name}.md"
    day = date.fromisoformat(name[:10])
    return Entry(path=path, name=name, title=f"Of {name}", date=day, public=public, text=text)


def _blocks(*commands: str) -> str:
    return "\n\n".join(f"Words.\n\n```labbook\n{one}\n```" for one in commands)


START = replace(
    SAMPLE,
    entries=(
        _entry("2026-01-30-plain", "Plain words."),
        _entry("2026-02-10-blocks", _blocks(*BLOCKS)),
        _entry("2026-03-01-links", "To [a batch](../batches/SBC-260122-9T.md)."),
        _entry("2026-03-02-private", "Words kept in.", "no"),
    ),
)

Kind = Callable[[Book, Random], Book]


def _mapped(book: Book, name: str, key: str, value: Any) -> Book:
    held: Mapping[str, Any] = getattr(book, name)
    changed: Any = {name: {**held, key: value}}
    return replace(book, **changed)


def _a_batch(book: Book, chance: Random) -> Batch:
    return book.batches[chance.choice(sorted(book.batches))]


def _code(book: Book, chance: Random) -> str:
    return chance.choice(sorted(book.formulas))


# Kinds of change ----------------------------------------------------------------------------------


def formula_public(book: Book, chance: Random) -> Book:
    """A formula becomes public, public with its batches, or private."""
    code = _code(book, chance)
    word = chance.choice(("yes", "with batches", "no", None))
    return _mapped(book, "formulas", code, replace(book.formulas[code], public=word))


def batch_public(book: Book, chance: Random) -> Book:
    """A batch becomes public or private."""
    batch = _a_batch(book, chance)
    return _mapped(
        book, "batches", batch.id, replace(batch, public=chance.choice(("yes", "no", None)))
    )


def entry_public(book: Book, chance: Random) -> Book:
    """An entry becomes public or private."""
    at = chance.randrange(len(book.entries))
    entries = list(book.entries)
    entries[at] = replace(entries[at], public=chance.choice(("yes", "no")))
    return replace(book, entries=tuple(entries))


def title(book: Book, chance: Random) -> Book:
    """A formula gets another title, and another note."""
    code = _code(book, chance)
    words = f"cream {chance.randrange(1000)}"
    formula = replace(book.formulas[code], title=words.title(), notes=f"Of {words}.")
    return _mapped(book, "formulas", code, formula)


def acceptance(book: Book, chance: Random) -> Book:
    """The limits of a formula are judged otherwise."""
    code = _code(book, chance)
    formula = book.formulas[code]
    limits = tuple(
        replace(one, worst_grade=chance.randrange(5)) if one.worst_grade is not None else one
        for one in formula.acceptance
    )
    return _mapped(book, "formulas", code, replace(formula, acceptance=limits))


def _with_percent(formula: Formula, percent: Decimal) -> Formula:
    first = formula.phases[0]
    lines = (replace(first.lines[0], percent=percent), *first.lines[1:])
    return replace(formula, phases=(replace(first, lines=lines), *formula.phases[1:]))


def new_version(book: Book, chance: Random) -> Book:
    """A formula is saved with one figure changed."""
    code = _code(book, chance)
    known = book.versions[code]
    number = known[-1].number + 1
    formula = _with_percent(book.formulas[code], Decimal(chance.randrange(100, 900)) / 100)
    formula = replace(formula, version=number)
    new = Version(
        code=code, number=number, formula=formula, digest=f"{code}{number}{chance.random()}",
        blob="", commit="", path="", when=WHEN + timedelta(hours=number), subject="another figure",
    )  # fmt: skip
    book = _mapped(book, "versions", code, (*known, new))
    return _mapped(book, "formulas", code, formula)


def old_version(book: Book, chance: Random) -> Book:
    """History says another figure of a version that was published: an erratum."""
    code = _code(book, chance)
    known = list(book.versions[code])
    at = chance.randrange(len(known))
    changed = _with_percent(known[at].formula, Decimal(chance.randrange(100, 900)) / 100)
    known[at] = replace(known[at], formula=changed)
    return _mapped(book, "versions", code, tuple(known))


def rename(book: Book, chance: Random) -> Book:
    """A formula gets another code."""
    code = _code(book, chance)
    other = f"{code[:2]}{chance.choice('QXZ')}{chance.choice('QXZ')}"
    if other in book.formulas:
        return book
    formulas = {k: v for k, v in book.formulas.items() if k != code}
    versions = {k: v for k, v in book.versions.items() if k != code}
    formulas[other] = replace(book.formulas[code], code=other)
    versions[other] = tuple(replace(v, code=other) for v in book.versions[code])
    return replace(book, formulas=formulas, versions=versions)


def batch_words(book: Book, chance: Random) -> Book:
    """A batch's aim and notes are written anew."""
    batch = _a_batch(book, chance)
    n = chance.randrange(1000)
    notes = chance.choice((f"Note {n}.", f"See [it](../formulas/SBC.md), {n}."))
    return _mapped(book, "batches", batch.id, replace(batch, aim=f"aim {n}", notes=notes))


def new_batch(book: Book, chance: Random) -> Book:
    """A batch is made like another one."""
    batch = _a_batch(book, chance)
    ending = f"{chance.randrange(10)}{chance.choice('ABXYZ')}"
    id_ = f"{batch.id.rpartition('-')[0]}-{ending}"
    if id_ in book.batches:
        return book
    book = _mapped(book, "batches", id_, replace(batch, id=id_, corrections=()))
    if batch.id in book.jars:
        book = _mapped(book, "jars", id_, replace(book.jars[batch.id], batch=id_))
    return book


def removed_batch(book: Book, chance: Random) -> Book:
    """A batch's files are gone."""
    batch = _a_batch(book, chance)
    if len(book.batches) < 8:
        return book
    return replace(
        book,
        batches={k: v for k, v in book.batches.items() if k != batch.id},
        jars={k: v for k, v in book.jars.items() if k != batch.id},
        stability={k: v for k, v in book.stability.items() if k != batch.id},
    )


def new_look(book: Book, chance: Random) -> Book:
    """Somebody looks at a jar."""
    id_ = chance.choice(sorted(book.stability))
    held = book.stability[id_]
    grade = chance.randrange(5)
    look = Look(
        id=f"o{len(held.looks) + 90}", jar="1", time=WHEN, condition="room", grade=grade,
        modes=("water below",) if grade else (),
    )  # fmt: skip
    return _mapped(book, "stability", id_, replace(held, looks=(*held.looks, look)))


def reading(book: Book, chance: Random) -> Book:
    """A pH is read."""
    batch = _a_batch(book, chance)
    value = Decimal(chance.randrange(40, 60)) / 10
    new = Reading(id=f"r{len(batch.readings) + 80}", reading="pH", value=value, of="water phase")
    readings = (*batch.readings, new)
    return _mapped(book, "batches", batch.id, replace(batch, readings=readings))


def correction(book: Book, chance: Random) -> Book:
    """A weighing of a closed batch is corrected: an erratum with its reason."""
    weighed = [one for one in book.batches.values() if one.weighings]
    shown = [one for one in weighed if one.formula.code == "SBC"]
    batch = chance.choice(shown or weighed)
    new = Correction(
        id=f"c{len(batch.corrections) + 70}", of=batch.weighings[0].id, key="mass",
        was=str(batch.weighings[0].mass), now=f"{Decimal(chance.randrange(100, 900)) / 100} g",
        why="misread the balance", time=WHEN,
    )  # fmt: skip
    corrected = replace(batch, corrections=(*batch.corrections, new))
    return _mapped(book, "batches", batch.id, corrected)


def yield_(book: Book, chance: Random) -> Book:
    """The yield of a batch is another one."""
    batch = _a_batch(book, chance)
    mass = Quantity(Decimal(chance.randrange(400, 990)) / 10, "g")
    return _mapped(book, "batches", batch.id, replace(batch, yield_=mass))


def sheet(book: Book, chance: Random) -> Book:
    """An ingredient sheet says something else."""
    name = chance.choice(sorted(book.ingredients))
    held = book.ingredients[name]
    words = f"{name} of lot {chance.randrange(100)}"
    changed = replace(held, title=words, cautions=(*held.cautions[:1], words))
    return _mapped(book, "ingredients", name, changed)


def alias(book: Book, chance: Random) -> Book:
    """A sheet takes the name that formulas write of another one, or gives it back."""
    one, other = chance.sample(sorted(book.ingredients), 2)
    held = book.ingredients[one]
    also = tuple(name for name in held.also if name != other)
    changed = replace(held, also=also if other in held.also else (*held.also, other))
    found = {**book.ingredients, one: changed}
    if chance.random() < 0.5:  # its own sheet is gone: the name means the new one from now on
        found.pop(other)
    return replace(book, ingredients=found if len(found) > 5 else book.ingredients)


def parent(book: Book, chance: Random) -> Book:
    """A batch is said to be made from a batch of another formula, which may become private."""
    batch, other = _a_batch(book, chance), _a_batch(book, chance)
    made = Parent(batch=other.id, how="rework")
    book = _mapped(book, "batches", batch.id, replace(batch, from_=(made,)))
    word = chance.choice(("yes", "no"))
    return _mapped(book, "batches", other.id, replace(book.batches[other.id], public=word))


def sheet_gone(book: Book, chance: Random) -> Book:
    """A sheet is taken out."""
    name = chance.choice(sorted(book.ingredients))
    if len(book.ingredients) < 6:
        return book
    kept = {k: v for k, v in book.ingredients.items() if k != name}
    return replace(book, ingredients=kept)


def tool(book: Book, chance: Random) -> Book:
    """A piece of equipment is called otherwise."""
    name = chance.choice(sorted(book.equipment))
    changed = replace(book.equipment[name], title=f"tool {chance.randrange(100)}")
    return _mapped(book, "equipment", name, changed)


def rules(book: Book, chance: Random) -> Book:
    """A rule of failure of the notebook's own comes or goes."""
    if book.rules.causes:
        return replace(book, rules=RuleBook())
    return replace(book, rules=read_rulebook(Path(), {}))


def new_entry(book: Book, chance: Random) -> Book:
    """An entry is written, with a block that may be broken."""
    name = f"2026-0{chance.randrange(1, 4)}-1{chance.randrange(10)}-new"
    if name in {one.name for one in book.entries}:
        return book
    text = _blocks(chance.choice((*BLOCKS, "show SBC@99", "show zz")))
    return replace(book, entries=(*book.entries, _entry(name, text)))


def removed_entry(book: Book, chance: Random) -> Book:
    """An entry is gone."""
    if len(book.entries) < 4:
        return book
    at = chance.randrange(len(book.entries))
    return replace(book, entries=book.entries[:at] + book.entries[at + 1 :])


def head(book: Book, chance: Random) -> Book:
    """The notebook gets another title or address."""
    address = chance.choice((None, "https://example.org/journal/"))
    changed = replace(book.settings, title=f"Notebook {chance.randrange(9)}", site_url=address)
    return replace(book, settings=changed)


def photo(book: Book, chance: Random) -> Book:
    """A photo is taken in, private or not."""
    batch = _a_batch(book, chance)
    known = book.photos.get(batch.id, Photos(batch=batch.id)).photos
    new = Photo(
        id=f"p{len(known) + 1}", file=f"2026-04-15-{chance.randrange(16**16):016x}.jpg",
        original="0" * 64, caption=f"caption {chance.randrange(99)}", jar="1", time=WHEN,
        private=chance.choice((True, None)),
    )  # fmt: skip
    return _mapped(book, "photos", batch.id, Photos(batch=batch.id, photos=(*known, new)))


KINDS: tuple[Kind, ...] = (
    formula_public, batch_public, entry_public, title, acceptance, new_version, old_version,
    rename, batch_words, new_batch, removed_batch, new_look, reading, correction, yield_, sheet,
    alias, parent, sheet_gone, tool, rules, new_entry, removed_entry, head, photo,
)  # fmt: skip
"""Every kind of change to the records."""
