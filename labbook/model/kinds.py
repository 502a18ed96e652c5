"""The kinds of file in a notebook: where each stands, and which record it holds."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from labbook.model.batch import (
    Batch,
    BatchLine,
    BatchStep,
    Deviation,
    Done,
    Reading,
    Remark,
    Weighing,
)
from labbook.model.formula import Formula, Limit, Line, Phase, Step, Target
from labbook.model.jars import Jar, JarDone, Jars, Look, Stability, Stay
from labbook.model.materials import BufferPoint, Equipment, Ingredient, Lot
from labbook.model.photos import Photo, Photos
from labbook.model.reactions import Reaction, Reactions
from labbook.model.rules import BadPair, CauseRule, CheckRule, LegalLimit, Rules, Selector
from labbook.model.settings import Protocol, Settings


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of file: its name, its record, and the paths that hold it."""

    name: str
    record: type[Any]
    pattern: re.Pattern[str]
    schema_version: int = 1


def _kind(name: str, record: type[Any], pattern: str) -> Kind:
    return Kind(name, record, re.compile(pattern))


_NAME = r"[^/]+"
KINDS = {
    kind.name: kind
    for kind in (
        _kind("notebook", Settings, r"labbook\.yaml"),
        _kind("ingredient", Ingredient, rf"ingredients/{_NAME}\.yaml"),
        _kind("lot", Lot, rf"lots/{_NAME}\.yaml"),
        _kind("equipment", Equipment, rf"equipment/{_NAME}\.yaml"),
        _kind("formula", Formula, rf"formulas/{_NAME}\.yaml"),
        _kind("protocol", Protocol, rf"protocols/{_NAME}\.yaml"),
        _kind("rules", Rules, rf"rules/{_NAME}\.yaml"),
        _kind("batch", Batch, rf"batches/[0-9]{{4}}/{_NAME}/batch\.yaml"),
        _kind("trial", Formula, rf"batches/[0-9]{{4}}/{_NAME}/formula\.yaml"),
        _kind("jars", Jars, rf"batches/[0-9]{{4}}/{_NAME}/jars\.yaml"),
        _kind("stability", Stability, rf"batches/[0-9]{{4}}/{_NAME}/stability\.yaml"),
        _kind("photos", Photos, rf"batches/[0-9]{{4}}/{_NAME}/photos\.yaml"),
        _kind("reactions", Reactions, rf"batches/[0-9]{{4}}/{_NAME}/reactions\.yaml"),
    )
}

CLOSED_RECORDS: frozenset[type[Any]] = frozenset(
    {
        *(Line, Phase, Step, Target, Limit),
        *(BatchLine, BatchStep, Done, Weighing, Reading, Deviation, Remark),
        *(Jar, Stay, JarDone, Look, Photo, Reaction, BufferPoint),
        *(LegalLimit, BadPair, CheckRule, CauseRule, Selector),
    }
)
"""Records in which a key that the format doesn't know is an error; elsewhere it is kept."""


def kind_of(path: str) -> Kind | None:
    """The kind of the file at a path relative to the notebook, or None for any other file."""
    for kind in KINDS.values():
        if kind.pattern.fullmatch(path):
            return kind
    return None
