"""Results as plain data for `--json`: the same object that the screen is made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Any

from labbook.model.fields import key_of
from labbook.model.moments import write_moment
from labbook.model.quantities import Quantity
from labbook.trade.exact import decimal_text


def plain(value: Any) -> Any:
    """JSON data of a result: keys as in the files, numbers as text with their digits."""
    own = getattr(value, "to_plain", None)
    if callable(own):
        return own()
    if isinstance(value, Quantity):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        pairs = ((key_of(f.name), getattr(value, f.name)) for f in fields(value))
        return {key: plain(item) for key, item in pairs if item is not None}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, Fraction):
        return decimal_text(value)
    if isinstance(value, date):
        return write_moment(value)
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list | frozenset | set):
        return [plain(item) for item in value]
    return value
