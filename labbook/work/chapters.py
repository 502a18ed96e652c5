"""What is kept of each formula between two builds of the journal, so that most needn't be read.

A chapter is one formula with its versions and batches, private ones too. What is kept of it is
plain data: its outline for the lists, what its public words claim, which words its private fields
hold. It holds for as long as the chapter's records are the same, the names in it mean the same
sheets, and the batches of other formulas that it names are as public as they were.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass, replace
from functools import cached_property, partial
from pathlib import Path
from typing import Any

from labbook.journal import publish
from labbook.journal.blends import Recipe, recipe_of, told_blends
from labbook.journal.book import Book
from labbook.journal.claims import claims, texts_of_formulas, vocabulary
from labbook.journal.keys import digest, sheet_digest
from labbook.journal.larder import Larder, names_in
from labbook.journal.outline import Outline, outline_of
from labbook.journal.publish import PublicJournal, Shown, published
from labbook.journal.shelf import Shelf
from labbook.model.batch import Batch
from labbook.model.sheets import Sheets
from labbook.notebook.disposable import Disposable, program_that_writes
from labbook.work.bench import Bench
from labbook.work.copies import each

_TABLES = "create table if not exists kept (id text primary key, stamp text, data text)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """What is kept of a formula.

    Attributes:
        outline: what other pages tell of it; None where it is private or gone.
        names: the names of ingredients that its public part writes, each with the name of its
            sheet, or nothing.
        seen: batches of other formulas that its own name, each with whether it is public.
        claims: sentences that claim to treat: path, subject, sentence, and the words that do.
        words: all words of its public texts, once each.
        private: what its private fields hold that no public text should.
        strange: `public:` with a word that counts as no: of a batch its full id, of the formula
            nothing, and the word.
        unshown: batches that say public while the formula is private, by full id.
        batches: how many were not dropped.
        recipe: what tells whether a sheet holds the formula.
    """

    outline: Outline | None
    names: Mapping[str, str]
    seen: Mapping[str, bool]
    claims: Sequence[Sequence[Any]]
    words: Sequence[str]
    private: Sequence[str]
    strange: Sequence[Sequence[str]]
    unshown: Sequence[str]
    batches: int
    recipe: Recipe


class Chapters(Mapping[str, Chapter]):
    """The chapters of a notebook by the permanent ids of formulas, those that are gone too."""

    def __init__(self, bench: Bench, book: Book, claiming: Mapping[str, Sequence[str]]) -> None:
        """Looks at each chapter that is not as it was.

        Args:
            bench: the notebook.
            book: its records.
            claiming: words that claim to treat or prevent disease.
        """
        self.book = book
        self.shown = Shown(book)
        self._bench, self._claiming = bench, claiming
        ids = dict.fromkeys(id_ for _, id_ in sorted((c, i) for i, c in book.code_of.items()))
        ids |= dict.fromkeys(book.made_of)
        program = digest(program_that_writes(), repr(claiming))
        self.stamps = {id_: digest(program, book.stamp(id_)) for id_ in ids}
        with closing(_Kept(bench.root)) as kept:
            held = kept.chapters(self.stamps)
            stale = [id_ for id_ in ids if not (id_ in held and self._holds(held[id_]))]
            fresh = dict(zip(stale, each(self._looked_at, stale, book.reopen), strict=True))
            kept.keep(self.stamps, fresh)
        self._found = {id_: fresh.get(id_) or held[id_] for id_ in ids}

    def _looked_at(self, id_: str) -> Chapter:
        self.book.turn_to([id_])
        private = partial(_private_words, self._bench, self.book)
        return chapter_of(self.book, private, self._claiming, id_)

    def __getitem__(self, id_: str) -> Chapter:
        return self._found[id_]

    def __iter__(self) -> Iterator[str]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)

    def _holds(self, kept: Chapter) -> bool:
        """Whether names and batches mean what they meant."""
        names = all(self._sheet(name) == sheet for name, sheet in kept.names.items())
        return names and all((id_ in self.shown) == was for id_, was in kept.seen.items())

    def _sheet(self, written: str) -> str:
        return sheet_named(self.book.sheets, written)

    @cached_property
    def outlines(self) -> dict[str, Outline]:
        """Of all public formulas, by code in the order of codes."""
        found = {one.outline.code: one.outline for one in self.values() if one.outline}
        return dict(sorted(found.items()))

    @cached_property
    def sheets(self) -> Sheets:
        """The sheets that any public formula names, without what is private."""
        wanted = {sheet for one in self.values() for sheet in one.names.values()} - {""}
        every = self.book.ingredients
        return Sheets({name: self.larder.sheet(every[name]) for name in every if name in wanted})

    @cached_property
    def larder(self) -> Larder:
        """What may be told of all sheets."""
        recipes = {id_: one.recipe for id_, one in self.items()}
        sheets = self.book.sheets
        return Larder(sheets, self.book.starter, told_blends(sheets, recipes))

    @cached_property
    def substance(self) -> dict[str, str]:
        """By code a digest of all that the pages of a formula can tell."""
        larder = self.larder
        sheets: dict[str, str] = {}
        found = {}
        for id_, one in self.items():
            if one.outline is None:
                continue
            own, starters = larder.within(one.names)
            for name in own.keys() - sheets.keys():
                sheets[name] = sheet_digest(own[name], whole=larder.is_whole(name))
            told = ([(name, sheets[name]) for name in sorted(own)], sorted(starters))
            stamp = repr((told, sorted(one.names.items()), sorted(one.seen.items())))
            found[one.outline.code] = digest(self.stamps[id_], stamp)
        return found

    def shelf(self) -> Shelf:
        """All that is public."""
        entries = publish.public_entries(self.book)
        blocks = any("labbook" in entry.text for entry in entries)
        return Shelf(
            settings=publish.public_settings(self.book),
            entries=entries,
            sheets=self.sheets,
            outlines=self.outlines,
            substance=self.substance,
            around=self._around() if blocks else "",
            take=self._taken,
        )

    def _taken(self, codes: Collection[str]) -> PublicJournal:
        self.book.turn_to(id_ for id_, code in self.book.code_of.items() if code in codes)
        return published(self.book, codes, self.larder)

    def _around(self) -> str:
        tools = sorted(self.book.equipment.items())
        return digest(repr(tools), repr(replace(self.book.rules, own=frozenset())),
                      repr(sorted(self.book.rules.own)))  # fmt: skip


def sheet_named(sheets: Sheets, written: str) -> str:
    """The name of the sheet that a written name means; empty where there is none."""
    found = sheets.find(written)
    return sheets.name_of(found.id) if found else ""


def chapter_of(
    book: Book,
    private_words: Callable[[Iterable[str]], set[str]],
    claiming: Mapping[str, Sequence[str]],
    formula_id: str,
) -> Chapter:
    """Looks at one chapter.

    Args:
        book: the notebook.
        private_words: what the private fields of some batches hold.
        claiming: words that claim to treat or prevent disease.
        formula_id: the permanent id of the formula.
    """
    code = book.code_of.get(formula_id)
    made = book.made_of.get(formula_id, ())
    batches = {id_: book.batches[id_] for id_ in made}
    public = code is not None and publish.is_public(book.formulas[code])
    strange = [
        (id_, batch.public)
        for id_, batch in batches.items()
        if batch.public is not None and batch.public not in publish.OTHER_WORDS
    ]
    word = book.formulas[code].public if code is not None else None
    strange += [("", word)] if word is not None and word not in publish.FORMULA_WORDS else []
    found = Chapter(
        outline=None, names={}, seen={}, claims=(), words=(),
        private=sorted(private_words(made)),
        strange=strange,
        unshown=[] if public else [i for i, b in batches.items() if b.public == publish.YES],
        batches=sum(1 for batch in batches.values() if not batch.dropped),
        recipe=recipe_of(book, formula_id, public=public),
    )  # fmt: skip
    if not public or code is None:
        return found
    # Nothing that is kept here tells what blends are made of.
    journal = published(book, [code], Larder(book.sheets, book.starter, ()))
    said = list(texts_of_formulas(journal))
    shown = Shown(book)
    named = {id_ for batch in batches.values() for id_ in _named(batch)} - batches.keys()
    return replace(
        found,
        outline=outline_of(journal),
        names={name: sheet_named(book.sheets, name) for name in sorted(names_in(journal.formulas))},
        seen={id_: id_ in shown for id_ in sorted(named)},
        claims=[
            (one.said.path, one.said.about, one.sentence, one.words)
            for one in claims(said, claiming)
        ],
        words=sorted(vocabulary(one.text for one in said)),
    )


def _named(batch: Batch) -> Iterator[str]:
    """The batches that a batch names."""
    yield from (weighing.batch for weighing in batch.weighings if weighing.batch)
    yield from (parent.batch for parent in batch.from_)
    yield from batch.asks


def _private_words(bench: Bench, book: Book, made: Iterable[str]) -> set[str]:
    """People in the private fields of some batches."""
    found: set[str | None] = set()
    reactions = bench.snapshot.reactions
    for id_ in made:
        batch, jars, looks = book.batches[id_], book.jars.get(id_), book.stability.get(id_)
        found |= {batch.maker, *(one.who for one in batch.corrections)}
        found |= {jar.given_to for jar in jars.jars} if jars else set()
        found |= {look.who for look in looks.looks} if looks else set()
        if id_ in reactions:
            found |= {one.who for one in reactions[id_].reactions}
    return worded(found)


def worded(found: Iterable[str | None]) -> set[str]:
    """Words that say something, their spaces evened."""
    return {" ".join(word.split()) for word in found if word and word.strip()}


class _Kept(Disposable):
    """What was kept, beside git's own files."""

    def __init__(self, notebook: Path) -> None:
        super().__init__(notebook, "chapters", notebook, _TABLES)

    def chapters(self, stamps: Mapping[str, str]) -> dict[str, Chapter]:
        """Those whose records are as they were."""
        found = {}
        for id_, stamp, data in self.select("select id, stamp, data from kept"):
            if stamps.get(id_) == stamp:
                try:
                    found[id_] = _read(json.loads(data))
                except (ValueError, TypeError, KeyError):
                    continue
        return found

    def keep(self, stamps: Mapping[str, str], fresh: Mapping[str, Chapter]) -> None:
        """Keeps what was looked at, and forgets formulas that are gone."""
        gone = {id_ for (id_,) in self.select("select id from kept")} - stamps.keys()
        rows = [(id_, stamps[id_], json.dumps(asdict(one))) for id_, one in fresh.items()]
        self.write("insert or replace into kept values (?,?,?)", rows)
        self.write("delete from kept where id=?", [(id_,) for id_ in gone])


def _read(data: Mapping[str, Any]) -> Chapter:
    outline = data["outline"]
    recipe = Recipe(**data["recipe"])
    return Chapter(**{**data, "outline": Outline(**outline) if outline else None, "recipe": recipe})
