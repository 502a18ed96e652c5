"""Records with every field filled, found by walking the schema; the text is the caller's."""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from dataclasses import fields as fields_of
from dataclasses import is_dataclass, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from labbook.journal.book import Book
from labbook.model import fields
from labbook.model.batch import Batch
from labbook.model.entry import Entry
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.materials import Equipment, Ingredient
from labbook.model.photos import Photos
from labbook.model.quantities import Quantity
from labbook.model.settings import Settings
from labbook.model.versions import Version

WHEN = datetime(2026, 2, 3, 10, 30, tzinfo=UTC)
TextOf = Callable[[str, str], str]
"""The text for a record's field, by the names of both."""

_UNITS = {
    fields.Temperature: "°C",
    fields.Mass: "g",
    fields.Span: "d",
    fields.Speed: "rpm",
    fields.Length: "mm",
    fields.AnyQuantity: "%",
}

STRUCTURE: Mapping[tuple[str, str], Any] = {
    ("Formula", "code"): "SBC",
    ("Formula", "id"): "f-one",
    ("Formula", "version"): 2,
    ("Formula", "emulsion"): "water-in-oil",
    ("Formula", "public"): "with batches",
    ("Version", "code"): "SBC",
    ("Version", "same_as"): None,
    ("Version", "clashes"): (),
    ("Batch", "id"): "SBC-260203-4M",
    ("Batch", "state"): "closed",
    ("Batch", "public"): None,
    ("Batch", "dropped"): None,
    ("Pin", "code"): "SBC",
    ("Pin", "id"): "f-one",
    ("Pin", "version"): 2,
    ("BatchLine", "id"): "a1",
    ("BatchStep", "id"): "s1",
    ("Step", "id"): "s1",
    ("Weighing", "id"): "w1",
    ("Weighing", "line"): "a1",
    ("Weighing", "struck"): None,
    ("Reading", "id"): "r1",
    ("Reading", "struck"): None,
    ("Remark", "private"): None,
    ("Look", "id"): "o1",
    ("Look", "jar"): "1",
    ("Look", "condition"): "room",
    ("Look", "struck"): None,
    ("Look", "cycle"): None,
    ("Look", "modes"): ("water below",),
    ("Jar", "jar"): "1",
    ("Stay", "jar"): "1",
    ("Stay", "condition"): "room",
    ("Limit", "condition"): "room",
    ("Limit", "modes"): ("separation",),
    ("Jars", "batch"): "SBC-260203-4M",
    ("Stability", "batch"): "SBC-260203-4M",
    ("Correction", "of"): "w1",
    ("Correction", "key"): "mass",
    ("Correction", "was"): "1 g",
    ("Correction", "now"): "2 g",
    ("Photos", "batch"): "SBC-260203-4M",
    ("Photo", "file"): "2026-02-03-0123456789abcdef.jpg",
    ("Photo", "jar"): "1",
    ("Photo", "private"): None,
    ("Photo", "struck"): None,
    ("Entry", "public"): "yes",
    ("Entry", "problems"): (),
    ("Entry", "name"): "2026-02-03-one",
    ("Entry", "path"): "journal/2026-02-03-one.md",
}
"""What holds the records together, or decides what is public."""


def filled(record: type[Any], text: TextOf) -> Any:
    """A record with all its fields set."""
    hints = get_type_hints(record, include_extras=True)
    values = {}
    for name, hint in hints.items():
        if name.startswith("__"):
            continue
        key = (record.__name__, name)
        values[name] = STRUCTURE[key] if key in STRUCTURE else _value(hint, *key, text)
    return record(**values)


def _value(hint: Any, record: str, name: str, text: TextOf) -> Any:
    origin = get_origin(hint)
    if origin is Annotated:
        units = [unit for known, unit in _UNITS.items() if known == hint]
        return (
            Quantity(Decimal(2), units[0])
            if units
            else _plain(get_args(hint)[0], record, name, text)
        )
    if origin in (Union, types.UnionType):
        return _value(get_args(hint)[0], record, name, text)
    if origin is tuple:
        return (_value(get_args(hint)[0], record, name, text),)
    if origin is dict:
        return {text(record, f"{name} key"): _value(get_args(hint)[1], record, name, text)}
    return _plain(hint, record, name, text)


def _plain(hint: Any, record: str, name: str, text: TextOf) -> Any:
    if get_origin(hint) in (Union, types.UnionType):
        hint = get_args(hint)[0]
    if hint is str:
        return text(record, name)
    if hint is Decimal:
        return Decimal("1.5")
    if hint is bool:
        return True
    if hint is int:
        return 2
    if hint is datetime:
        return WHEN
    if hint is date:
        return WHEN.date()
    return filled(hint, text)


def book(text: TextOf) -> Book:
    """A notebook of one formula with two versions, one batch, one entry, a private one beside."""
    formula: Formula = filled(Formula, text)
    second: Version = replace(filled(Version, text), number=2, formula=formula)
    first = replace(
        second,
        number=1,
        formula=replace(formula, version=1, phases=(), method=(), notes="", acceptance=()),
        digest="other",
    )
    batch: Batch = filled(Batch, text)
    ingredient: Ingredient = filled(Ingredient, text)
    named = formula.phases[0].lines[0].ingredient
    assert batch.tools is not None
    assert batch.tools.mixer is not None
    return Book(
        settings=filled(Settings, text),
        formulas={"SBC": formula},
        versions={"SBC": (first, second)},
        batches={batch.id: batch},
        jars={batch.id: filled(Jars, text)},
        stability={batch.id: filled(Stability, text)},
        ingredients={named: replace(ingredient, id=named)},
        equipment={batch.tools.mixer: filled(Equipment, text)},
        entries=(filled(Entry, text),),
    )


def with_photos(notebook: Book, text: TextOf) -> Book:
    """The same with a photo of the batch."""
    return replace(notebook, photos={name: filled(Photos, text) for name in notebook.batches})


def record_types() -> set[type[Any]]:
    """Every record that a notebook's files hold, with all that they hold in turn."""
    from labbook.model.kinds import KINDS

    waiting: list[Any] = [kind.record for kind in KINDS.values()] + [Entry, Version]
    found: set[type[Any]] = set()
    while waiting:
        hint = waiting.pop()
        if get_args(hint):
            waiting += get_args(hint)
        elif isinstance(hint, type) and is_dataclass(hint) and hint not in found:
            if hint.__module__.startswith(("labbook.model.quantities", "labbook.model.problems")):
                continue
            if hint.__module__ == "labbook.model.fields":
                continue
            found.add(hint)
            waiting += [get_type_hints(hint)[f.name] for f in fields_of(hint)]
    return found
