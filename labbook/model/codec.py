"""Records to plain JSON data and back, without pydantic: how the index keeps what was read."""

from __future__ import annotations

import types
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from labbook.model.fields import QS, Qs
from labbook.model.moments import parse_moment, write_moment
from labbook.model.quantities import Quantity


def to_json(value: Any) -> Any:
    """A record as JSON data: absent fields are left out, numbers are text with their digits."""
    if isinstance(value, Quantity):
        return [str(value.value), value.unit]
    if is_dataclass(value):
        shallow = {f.name: getattr(value, f.name) for f in fields(value)}
        return {k: to_json(v) for k, v in shallow.items() if v is not None and v != ()}
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


@cache
def _hints(record: type[Any]) -> dict[str, Any]:
    return get_type_hints(record)


def from_json(record: Any, data: Any) -> Any:
    """The record that `to_json` was made from. The data are the program's own, never a maker's."""
    origin = get_origin(record)
    if origin is Annotated:
        return from_json(get_args(record)[0], data)
    if origin in (Union, types.UnionType):
        return _from_union([a for a in get_args(record) if a is not type(None)], data)
    if origin is tuple:
        item = get_args(record)[0]
        return tuple(from_json(item, one) for one in data)
    if origin is dict:
        item = get_args(record)[1]
        return {k: from_json(item, v) for k, v in data.items()}
    if record is Quantity:
        return Quantity(Decimal(data[0]), data[1])
    if record is Decimal:
        return Decimal(data)
    if isinstance(record, type) and is_dataclass(record):
        hints = _hints(record)
        return record(**{k: from_json(hints[k], v) for k, v in data.items()})
    return data


def _from_union(choices: list[Any], data: Any) -> Any:
    if Qs in choices and data == QS.value:
        return QS
    if date in choices:
        return parse_moment(data)
    if Qs in choices:
        return Decimal(data)
    return from_json(choices[0], data)
