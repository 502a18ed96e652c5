"""Records to plain JSON data and back, without pydantic: how the index keeps what was read."""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from labbook.model.fields import QS, Qs
from labbook.model.moments import Moment, write_moment
from labbook.model.quantities import Quantity


def to_json(value: Any) -> Any:
    """A record as JSON data: absent fields are left out, numbers are text with their digits."""
    if isinstance(value, Quantity):
        return [str(value.value), value.unit]
    if is_dataclass(value):
        shallow = {f: getattr(value, f.name) for f in fields(value)}
        return {f.name: to_json(v) for f, v in shallow.items() if not _left_out(f, v)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, date):
        return write_moment(value)
    if isinstance(value, dict):
        return {k: to_json(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [to_json(v) for v in value]
    return value


def _left_out(field: Field[Any], value: Any) -> bool:
    """Whether a value is what the record takes where nothing is said."""
    return value is None or (value == () and field.default is not MISSING)


def from_json(record: Any, data: Any) -> Any:
    """The record that `to_json` was made from. The data are the program's own, never a maker's."""
    return _reader(record)(data)


Reader = Callable[[Any], Any]


def _as_it_is(data: Any) -> Any:
    return data


def _moment(text: str) -> Moment:
    """What `write_moment` wrote: a date of ten letters, else a time."""
    return date.fromisoformat(text) if len(text) == 10 else datetime.fromisoformat(text)


def _reader(type_: Any) -> Reader:
    """What reads data of a type; made once for each field of a record, since files are many."""
    origin = get_origin(type_)
    if origin is Annotated:
        return _reader(get_args(type_)[0])
    if origin in (Union, types.UnionType):
        return _reader_of_union([a for a in get_args(type_) if a is not type(None)])
    if origin is tuple:
        item = _reader(get_args(type_)[0])
        if item is _as_it_is:
            return tuple
        return lambda data: tuple([item(one) for one in data])
    if origin is dict:
        value = _reader(get_args(type_)[1])
        return lambda data: {k: value(v) for k, v in data.items()}
    if type_ is Quantity:
        return lambda data: Quantity(Decimal(data[0]), data[1])
    if type_ is Decimal:
        return Decimal
    if type_ is date:
        return _moment
    if isinstance(type_, type) and is_dataclass(type_):
        return lambda data: _record(type_, data)
    return _as_it_is


def _reader_of_union(choices: list[Any]) -> Reader:
    if date in choices:
        return _moment
    if Qs in choices:
        return lambda data: QS if data == QS.value else Decimal(data)
    return _reader(choices[0])


@cache
def _readers(record: type[Any]) -> dict[str, Reader]:
    """What reads each field whose data are not its value already."""
    found = ((name, _reader(hint)) for name, hint in get_type_hints(record).items())
    return {name: reader for name, reader in found if reader is not _as_it_is}


def _record(record: Any, data: Mapping[str, Any]) -> Any:
    readers = _readers(record)
    made = dict(data)
    for name in readers.keys() & made.keys():
        made[name] = readers[name](made[name])
    return record(**made)
