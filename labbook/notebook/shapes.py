"""What may stand where in a kind of file, worked out once from the records."""

from __future__ import annotations

import types
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from labbook.model.fields import Parsed, key_of


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A place for `text`, a `list`, a `map` of free names, or the keys of a `record`.

    `item` is what stands in a list or map; `keys` what stands behind each key of a record;
    `marker` how text is read.
    """

    form: str
    record: type[Any] | None = None
    item: Shape | None = None
    keys: dict[str, Shape] = field(default_factory=dict)
    required: frozenset[str] = frozenset()
    marker: Parsed | None = None


_KNOWN: dict[type[Any], Shape] = {}


def shape_of(record: type[Any]) -> Shape:
    """The shape of a record with all that stands in it; worked out once."""
    if record not in _KNOWN:
        _KNOWN[record] = _record(record)
    return _KNOWN[record]


def _record(record: type[Any]) -> Shape:
    hints = get_type_hints(record, include_extras=True)
    keys = {key_of(f.name): _shape(hints[f.name]) for f in fields(record)}
    required = frozenset(
        key_of(f.name)
        for f in fields(record)
        if f.default is MISSING and f.default_factory is MISSING
    )
    return Shape("record", record=record, keys=keys, required=required)


def _shape(hint: Any) -> Shape:
    origin = get_origin(hint)
    if origin is Annotated:
        _, *markers = get_args(hint)
        return Shape("text", marker=next(m for m in markers if isinstance(m, Parsed)))
    if origin in (Union, types.UnionType):
        return _shape(next(a for a in get_args(hint) if a is not type(None)))
    if origin is tuple:
        return Shape("list", item=_shape(get_args(hint)[0]))
    if origin is dict:
        return Shape("map", item=_shape(get_args(hint)[1]))
    if isinstance(hint, type) and is_dataclass(hint):
        return shape_of(hint)
    raise TypeError(f"{hint} has no place in a file")
