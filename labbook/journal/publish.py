"""The one filter between a notebook and its journal: private unless said otherwise.

A formula is public with `public: yes`, and its batches too with `public: with batches`; a batch
with `public: yes` when its formula is; an entry with `public: yes` in its head. Whatever is drawn,
counted, compared or embedded afterwards sees the filtered records alone.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from labbook.journal.blends import recipe_of, told_blends
from labbook.journal.book import Book
from labbook.journal.corrected import standing_entries, told_figures, told_of
from labbook.journal.larder import Beyond, Larder, names_in, needed_of, tools_in
from labbook.journal.redact import redacted
from labbook.model.batch import Batch
from labbook.model.entry import Entry
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.materials import Equipment
from labbook.model.moments import in_order
from labbook.model.photos import Photo, Photos, photo_file
from labbook.model.rulebook import RuleBook
from labbook.model.rules import CauseRule
from labbook.model.settings import Settings
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from labbook.trade.checks.regions import regions_of
from labbook.trade.label import REGIONS
from labbook.trade.standing import standing

YES = "yes"
WITH_BATCHES = "with batches"
FORMULA_WORDS = (YES, WITH_BATCHES, "no")
OTHER_WORDS = (YES, "no")


@dataclass(frozen=True)
class PublicBatch:
    """A batch with its jars and looks, as far as they are public.

    `formula` is that of today, whose limits judge; `version` the first one with the content that
    the batch is pinned to, `trial` the content of a batch that was made of no version. `photos` are
    in the order of their list.
    """

    batch: Batch
    jars: Jars | None
    stability: Stability | None
    formula: Formula
    version: Version | None = None
    trial: Formula | None = None
    photos: tuple[Photo, ...] = ()

    @property
    def title(self) -> str:
        """The title of its formula."""
        return self.formula.title


@dataclass(frozen=True)
class PublicFormula:
    """A formula of today with its versions, its public batches, and how many are not shown.

    `hidden` counts batches by version number.
    """

    formula: Formula
    versions: tuple[Version, ...]
    batches: tuple[PublicBatch, ...]
    hidden: Mapping[int, int]


@dataclass(frozen=True)
class PublicJournal:
    """What may be told, all of it or of some formulas: records whose private fields are empty.

    `sheets` are those that are named, which have pages; `beyond` what blends among them hold.
    """

    settings: Settings
    formulas: tuple[PublicFormula, ...]
    entries: tuple[Entry, ...]
    sheets: Sheets
    equipment: Mapping[str, Equipment]
    rules: RuleBook = field(default_factory=RuleBook)
    beyond: Beyond = field(default_factory=Beyond)

    @cached_property
    def known(self) -> Sheets:
        """The sheets to reckon with: those that are named, and those of components."""
        return Sheets({**self.sheets.by_file, **self.beyond.inner})

    @cached_property
    def labelled(self) -> Sheets:
        """The same with the program's own where the notebook has none, for a label."""
        return Sheets({**self.known.by_file, **self.beyond.starters})

    def formula(self, code: str) -> PublicFormula | None:
        """A formula by its code, in any case."""
        return next((f for f in self.formulas if f.formula.code == code.upper()), None)

    def only(self, codes: Container[str]) -> PublicJournal:
        """What some formulas tell, without the entries."""
        formulas = tuple(one for one in self.formulas if one.formula.code in codes)
        tools = tools_in(formulas)
        sheets, beyond = needed_of(names_in(formulas), self.sheets, self.beyond)
        return replace(
            self,
            formulas=formulas,
            entries=(),
            sheets=sheets,
            equipment={name: one for name, one in self.equipment.items() if name in tools},
            beyond=beyond,
        )

    @property
    def batches(self) -> tuple[PublicBatch, ...]:
        """All batches in the order of making."""
        found = [batch for formula in self.formulas for batch in formula.batches]
        return tuple(sorted(found, key=lambda one: (in_order(one.batch.made), one.batch.id)))


# What is public -----------------------------------------------------------------------------------


def is_public(formula: Formula) -> bool:
    """Whether the formula itself is published."""
    return formula.public in (YES, WITH_BATCHES)


def id_is_public(book: Book, formula_id: str) -> bool:
    """Whether a formula of today has that id and is published."""
    code = book.code_of.get(formula_id)
    return code is not None and is_public(book.formulas[code])


def batch_is_public(batch: Batch, formula: Formula | None) -> bool:
    """Whether a batch is published: never without its formula, nor when it was dropped."""
    if formula is None or not is_public(formula) or batch.dropped:
        return False
    if batch.public is not None:
        return batch.public == YES
    return formula.public == WITH_BATCHES


class Shown(Container[object]):
    """The ids of all batches that are public, each looked at when it is asked for."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._found: dict[object, bool] = {}

    def __contains__(self, id_: object) -> bool:
        if id_ not in self._found:
            batch = self._book.batches.get(str(id_))
            self._found[id_] = batch is not None and batch_is_public(
                batch, self._book.formula_of(batch)
            )
        return self._found[id_]


def larder_of(book: Book) -> Larder:
    """The sheets of a notebook as they may be told; looks at every formula and batch."""
    ids = {*book.code_of, *book.made_of}
    recipes = {id_: recipe_of(book, id_, public=id_is_public(book, id_)) for id_ in sorted(ids)}
    return Larder(book.sheets, book.starter, told_blends(book.sheets, recipes))


def published(
    book: Book, codes: Iterable[str] | None = None, larder: Larder | None = None
) -> PublicJournal:
    """The public part of a notebook.

    Args:
        book: the notebook.
        codes: takes only what these formulas tell, without the entries; None takes all.
        larder: what may be told of sheets; by `larder_of` if left out.
    """
    shown = Shown(book)
    formulas = tuple(
        _formula(book, code, shown)
        for code in sorted(book.formulas if codes is None else codes)
        if is_public(book.formulas[code])
    )
    rules, tools = book.rules, tools_in(formulas)
    sheets, beyond = (larder or larder_of(book)).needed(names_in(formulas))
    return PublicJournal(
        settings=public_settings(book),
        formulas=formulas,
        entries=public_entries(book) if codes is None else (),
        sheets=sheets,
        equipment={n: redacted(one) for n, one in book.equipment.items() if n in tools},
        rules=replace(rules, causes=_told_causes(rules)) if rules.own else rules,
        beyond=beyond,
    )


def public_settings(book: Book) -> Settings:
    """The head of the notebook; of its region only whose law is meant, as a label says it."""
    kept: Settings = redacted(book.settings)
    law = regions_of(book.settings.region or "", REGIONS)
    region = None if law.assumed else ", ".join(law.names)
    return replace(kept, format=book.settings.format, region=region)


def public_entries(book: Book) -> tuple[Entry, ...]:
    """The maker's own entries that are public, the latest first."""
    entries = [redacted(entry) for entry in book.entries if entry.public == YES]
    return tuple(sorted(entries, key=lambda e: (str(e.date or ""), e.name), reverse=True))


def _told_causes(rules: RuleBook) -> dict[str, CauseRule]:
    """Rules of failure: of a notebook's own only what they reckon with, no word of them."""

    def told(rule: CauseRule) -> CauseRule:
        return replace(rule, says="a rule of this notebook", mechanism="", source="")

    own = rules.own
    return {name: told(rule) if name in own else rule for name, rule in rules.causes.items()}


def _formula(book: Book, code: str, shown: Container[object]) -> PublicFormula:
    today = replace(redacted(book.formulas[code]), code=code)
    versions = tuple(_version(v) for v in book.versions.get(code, ()))
    batches = []
    hidden: dict[int, int] = {}
    for id_ in book.made_of.get(today.id, ()):
        batch = book.batches[id_]
        if id_ in shown:
            batches.append(_batch(book, id_, today, versions, shown))
        elif not batch.dropped:
            hidden[batch.formula.version] = hidden.get(batch.formula.version, 0) + 1
    batches.sort(key=lambda one: (in_order(one.batch.made), one.batch.id))
    return PublicFormula(formula=today, versions=versions, batches=tuple(batches), hidden=hidden)


def _version(version: Version) -> Version:
    """A version with what was said when it was saved; notes of earlier days stay inside."""
    said = version.subject.removeprefix(f"{version.name}: ").strip()
    kept: Version = redacted(replace(version, subject=said))
    return replace(kept, formula=replace(kept.formula, notes=None))


def _batch(
    book: Book, id_: str, today: Formula, versions: Iterable[Version], shown: Container[object]
) -> PublicBatch:
    batch, jars, stability = book.batches[id_], book.jars.get(id_), book.stability.get(id_)
    trial = book.trials.get(id_)
    return PublicBatch(
        batch=_making(batch, shown),
        jars=redacted(jars) if jars else None,
        stability=_looks(stability) if stability else None,
        formula=today,
        version=next((one for one in versions if one.digest == batch.formula.digest), None),
        trial=redacted(trial) if trial else None,
        photos=_photos(book.photos.get(id_)),
    )


def _photos(photos: Photos | None) -> tuple[Photo, ...]:
    """Pictures but the private ones, and those that no longer count.

    The name of a file, made of its day and the hash of its bytes, is no photograph's own name.
    """
    every = photos.photos if photos else ()
    kept = (one for one in every if not one.private and one.struck is None)
    return tuple(replace(redacted(one), file=photo_file(one.file)) for one in kept)


def _making(batch: Batch, shown: Container[object]) -> Batch:
    from labbook.trade.weighing import entries

    now = standing(batch)
    counting = {entry.now.id for entry in entries(now)[0] if entry.counts}
    weighings = tuple(
        replace(one, batch=one.batch if one.batch in shown else None)
        for one in now.weighings
        if one.id in counting
    )
    kept = replace(
        now,
        weighings=weighings,
        readings=standing_entries(now.readings, batch.corrections),
        deviations=standing_entries(now.deviations, batch.corrections),
        remarks=standing_entries(now.remarks, batch.corrections),
        from_=tuple(parent for parent in batch.from_ if parent.batch in shown),
        asks=batch.asks if all(one in shown for one in batch.asks) else (),
    )
    told = told_of(kept, (*weighings, *kept.readings, *batch.lines))
    made: Batch = redacted(replace(kept, corrections=told))
    return made


def _looks(stability: Stability) -> Stability:
    looks = standing_entries(stability.looks, stability.corrections)
    told = told_figures(stability.corrections, looks)
    kept: Stability = redacted(replace(stability, looks=looks, corrections=told))
    return kept
