"""The one filter between a notebook and its journal: private unless said otherwise.

A formula is public with `public: yes`, and its batches too with `public: with batches`; a batch
with `public: yes` when its formula is; an entry with `public: yes` in its head. Whatever is drawn,
counted, compared or embedded afterwards sees the filtered records alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, dataclass, field, fields, is_dataclass, replace
from typing import Any

from labbook.journal.corrected import standing_entries, told_figures, told_of
from labbook.journal.fields import PUBLIC
from labbook.model.batch import Batch
from labbook.model.entry import Entry
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.materials import Equipment, Ingredient
from labbook.model.moments import in_order
from labbook.model.photos import Photo, Photos, photo_file
from labbook.model.rulebook import RuleBook
from labbook.model.rules import CauseRule
from labbook.model.settings import Settings
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from labbook.trade.standing import standing

YES = "yes"
WITH_BATCHES = "with batches"
FORMULA_WORDS = (YES, WITH_BATCHES, "no")
OTHER_WORDS = (YES, "no")

# Words are taken whole and looked at once: a text without end costs no more than its length.
_WORD = re.compile(r"[^\s<>()\[\]\"',;:|]+")
_ADDRESS = re.compile(r"[^@]@[^@]+\.\w{2,}")
_PICTURE = re.compile(r"!\[([^\]\n]{0,300})\](?:\([^)\n]{0,1000}\)|\[[^\]\n]{0,300}\])")
_PHOTO = re.compile(r"\.(?:jpe?g|png|gif|hei[cf]|webp|avif|tiff?|bmp|dng|mov|mp4)\b", re.IGNORECASE)


@dataclass(frozen=True)
class PublicBatch:
    """A batch with its jars and looks, as far as they are public.

    `trial` is the content of a batch that was made of no version. `photos` are in the order of
    their list.
    """

    batch: Batch
    jars: Jars | None
    stability: Stability | None
    title: str
    trial: Formula | None = None
    photos: tuple[Photo, ...] = ()


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
    """All that may be told: records of the same types, their private fields empty."""

    settings: Settings
    formulas: tuple[PublicFormula, ...]
    entries: tuple[Entry, ...]
    sheets: Sheets
    equipment: Mapping[str, Equipment]
    rules: RuleBook = field(default_factory=RuleBook)

    def formula(self, code: str) -> PublicFormula | None:
        """A formula by its code, in any case."""
        return next((f for f in self.formulas if f.formula.code == code.upper()), None)

    @property
    def batches(self) -> tuple[PublicBatch, ...]:
        """All batches in the order of making."""
        found = [batch for formula in self.formulas for batch in formula.batches]
        return tuple(sorted(found, key=lambda one: (in_order(one.batch.made), one.batch.id)))


@dataclass(frozen=True)
class Book:
    """A whole notebook as records, private ones too: what goes into the filter."""

    settings: Settings
    formulas: Mapping[str, Formula]
    versions: Mapping[str, tuple[Version, ...]]
    batches: Mapping[str, Batch]
    jars: Mapping[str, Jars]
    stability: Mapping[str, Stability]
    ingredients: Mapping[str, Ingredient]
    equipment: Mapping[str, Equipment]
    entries: tuple[Entry, ...]
    trials: Mapping[str, Formula] = field(default_factory=dict)
    rules: RuleBook = field(default_factory=RuleBook)
    photos: Mapping[str, Photos] = field(default_factory=dict)


# Single records -----------------------------------------------------------------------------------


def scrubbed(text: str) -> str:
    """Text without addresses of mail and names of photographs."""
    if "@" not in text and "." not in text and "![" not in text:
        return text
    named = _PICTURE.sub(lambda m: f"(photo: {m[1]})" if m[1].strip() else "(photo)", text)
    return _WORD.sub(_said, named).replace("mailto:(address", "(address")


def _said(match: re.Match[str]) -> str:
    word = match[0]
    if "@" in word and _ADDRESS.search(word):
        return "(address left out)"
    return "(photo)" if "." in word and _PHOTO.search(word) else word


def redacted(value: Any) -> Any:
    """A record with its private fields empty, and so all that it holds."""
    if isinstance(value, str):
        return scrubbed(value)
    if isinstance(value, tuple):
        return tuple(redacted(one) for one in value)
    if isinstance(value, Mapping):
        return {scrubbed(str(key)): redacted(one) for key, one in value.items()}
    allowed = PUBLIC.get(type(value))
    if allowed is None:
        if is_dataclass(value) and type(value).__module__.startswith("labbook.model.quantities"):
            return value
        if is_dataclass(value):
            raise TypeError(f"{type(value).__name__} has no list of public fields")
        return value
    held = {f.name: redacted(getattr(value, f.name)) for f in fields(value) if f.name in allowed}
    empty = {
        f.name: ""
        for f in fields(value)
        if f.name not in allowed and f.default is MISSING and f.default_factory is MISSING
    }
    return type(value)(**{**empty, **held})


# What is public -----------------------------------------------------------------------------------


def is_public(formula: Formula) -> bool:
    """Whether the formula itself is published."""
    return formula.public in (YES, WITH_BATCHES)


def batch_is_public(batch: Batch, formula: Formula | None) -> bool:
    """Whether a batch is published: never without its formula, nor when it was dropped."""
    if formula is None or not is_public(formula) or batch.dropped:
        return False
    if batch.public is not None:
        return batch.public == YES
    return formula.public == WITH_BATCHES


def published(book: Book) -> PublicJournal:
    """The public part of a notebook."""
    open_formulas = {f.id: f for f in book.formulas.values() if is_public(f)}
    shown = {
        id_: batch
        for id_, batch in book.batches.items()
        if batch_is_public(batch, open_formulas.get(batch.formula.id))
    }
    formulas = tuple(
        _formula(book, code, formula, shown)
        for code, formula in sorted(book.formulas.items())
        if formula.id in open_formulas
    )
    entries = [redacted(entry) for entry in book.entries if entry.public == YES]
    return PublicJournal(
        settings=replace(redacted(book.settings), format=book.settings.format),
        formulas=formulas,
        entries=tuple(sorted(entries, key=lambda e: (str(e.date or ""), e.name), reverse=True)),
        sheets=_sheets(book, formulas),
        equipment=_equipment(book, formulas),
        rules=replace(book.rules, causes=_told_causes(book.rules)),
    )


def _told_causes(rules: RuleBook) -> dict[str, CauseRule]:
    """Rules of failure: of a notebook's own only what they reckon with, no word of them."""

    def told(rule: CauseRule) -> CauseRule:
        return replace(rule, says="a rule of this notebook", mechanism="", source="")

    own = rules.own
    return {name: told(rule) if name in own else rule for name, rule in rules.causes.items()}


def _formula(book: Book, code: str, formula: Formula, shown: Mapping[str, Batch]) -> PublicFormula:
    batches = []
    hidden: dict[int, int] = {}
    for id_, batch in book.batches.items():
        if batch.formula.id != formula.id or batch.dropped:
            continue
        if id_ in shown:
            batches.append(_batch(book, id_, batch, formula, shown))
        else:
            hidden[batch.formula.version] = hidden.get(batch.formula.version, 0) + 1
    batches.sort(key=lambda one: (in_order(one.batch.made), one.batch.id))
    today = replace(redacted(formula), code=code)
    return PublicFormula(
        formula=today,
        versions=tuple(_version(v) for v in book.versions.get(code, ())),
        batches=tuple(batches),
        hidden=hidden,
    )


def _version(version: Version) -> Version:
    """A version with what was said when it was saved; notes of earlier days stay inside."""
    said = version.subject.removeprefix(f"{version.name}: ").strip()
    kept: Version = redacted(replace(version, subject=said))
    return replace(kept, formula=replace(kept.formula, notes=None))


def _batch(
    book: Book, id_: str, batch: Batch, formula: Formula, shown: Mapping[str, Batch]
) -> PublicBatch:
    stability = book.stability.get(id_)
    jars = book.jars.get(id_)
    return PublicBatch(
        batch=_making(batch, shown),
        jars=redacted(jars) if jars else None,
        stability=_looks(stability) if stability else None,
        title=scrubbed(formula.title),
        trial=redacted(trial) if (trial := book.trials.get(id_)) else None,
        photos=_photos(book.photos.get(id_)),
    )


def _photos(photos: Photos | None) -> tuple[Photo, ...]:
    """Pictures but the private ones, and those that no longer count.

    The name of a file, made of its day and the hash of its bytes, is no photograph's own name.
    """
    every = photos.photos if photos else ()
    kept = (one for one in every if not one.private and one.struck is None)
    return tuple(replace(redacted(one), file=photo_file(one.file)) for one in kept)


def _making(batch: Batch, shown: Mapping[str, Batch]) -> Batch:
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


# Sheets and equipment that the public part names --------------------------------------------------


def _sheets(book: Book, formulas: Iterable[PublicFormula]) -> Sheets:
    every = Sheets(book.ingredients)
    wanted: set[str] = set()
    for one in formulas:
        contents = (one.formula, *(version.formula for version in one.versions))
        wanted |= {every.id_of(li.ingredient) for content in contents for _, li in content.lines}
        for made in one.batches:
            wanted |= {every.id_of(line.sheet) for line in made.batch.lines}
            wanted |= {every.id_of(w.ingredient) for w in made.batch.weighings if w.ingredient}
    return Sheets({n: redacted(s) for n, s in book.ingredients.items() if s.id in wanted})


def _equipment(book: Book, formulas: Iterable[PublicFormula]) -> dict[str, Equipment]:
    wanted: set[str] = set()
    for made in (batch for one in formulas for batch in one.batches):
        tools = made.batch.tools
        wanted |= {getattr(tools, f.name) for f in fields(tools)} if tools else set()
        wanted |= {step.done.with_ for step in made.batch.steps if step.done and step.done.with_}
        wanted |= {reading.with_ for reading in made.batch.readings if reading.with_}
    return {name: redacted(one) for name, one in book.equipment.items() if name in wanted}
