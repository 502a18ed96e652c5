"""Records of every kind, drawn by chance, for laws that hold for all of them."""

from __future__ import annotations

import json
import types
import unicodedata
from dataclasses import fields as dataclass_fields
from dataclasses import is_dataclass
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

from labbook.model import fields, photos
from labbook.model.quantities import DIMENSIONS, SPELLINGS, Quantity

_FIGURES = st.from_regex(r"[0-9]{1,6}(\.[0-9]{1,4})?", fullmatch=True, alphabet="0123456789.")
NUMBERS = _FIGURES.map(Decimal)
SIGNED = st.tuples(st.sampled_from(["", "-"]), _FIGURES).map("".join).map(Decimal)
TEXTS = st.text(max_size=40)
NAMES = st.from_regex(r"[^\W_][\w.+-]{0,30}", fullmatch=True).filter(
    lambda name: unicodedata.is_normalized("NFC", name)  # as names are read
)
ENTRY_IDS = st.from_regex(r"[a-z][a-z0-9-]{0,12}", fullmatch=True)
HEX = st.text("0123456789abcdef", min_size=64, max_size=64)
PHASES = st.sampled_from(["A", "B", "C2", "Y", "no", "1", "water"])
_OFFSETS = st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
MOMENTS = st.dates() | st.builds(
    lambda when, zone: when.replace(microsecond=0, tzinfo=zone),
    st.datetimes(min_value=datetime(1000, 1, 1)),
    _OFFSETS,
)


LARGE = 12
"""A list holds at most one record with more fields: two of them take hypothesis minutes."""


def quantities(dimension: str) -> st.SearchStrategy[Quantity]:
    """Quantities of one dimension, or of any unit for an empty name."""
    units = DIMENSIONS.get(dimension, tuple(SPELLINGS))
    numbers = SIGNED if dimension == "temperature" else NUMBERS
    return st.builds(Quantity, numbers, st.sampled_from(units))


def _marker(kind: Any) -> Any:
    return get_args(kind)[1]


_BY_MARKER: list[tuple[Any, st.SearchStrategy[Any]]] = [
    (_marker(fields.Text), TEXTS),
    (_marker(fields.Name), NAMES),
    (_marker(fields.EntryId), ENTRY_IDS),
    (_marker(fields.Number), NUMBERS),
    (_marker(fields.SignedNumber), SIGNED),
    (_marker(fields.Whole), st.integers(0, 999_999_999)),
    (_marker(fields.Percent), NUMBERS | st.just(fields.QS)),
    (_marker(fields.YesNo), st.booleans()),
    (_marker(fields.Moment), MOMENTS),
    (_marker(fields.Temperature), quantities("temperature")),
    (_marker(fields.Mass), quantities("mass")),
    (_marker(fields.Span), quantities("time")),
    (_marker(fields.Speed), quantities("speed")),
    (_marker(fields.Length), quantities("length")),
    (_marker(fields.AnyQuantity), quantities("")),
    (
        _marker(photos.PhotoFile),
        st.builds("{}-{}.jpg".format, st.dates(), HEX.map(lambda digits: digits[:16])),
    ),
    (_marker(photos.Sha256), HEX),
]


def _strategy(hint: Any) -> st.SearchStrategy[Any]:
    origin = get_origin(hint)
    if origin is Annotated:
        marker = _marker(hint)
        words = json.loads(marker.schema).get("enum")
        found = [strategy for known, strategy in _BY_MARKER if known is marker]
        return found[0] if found else st.sampled_from(words)
    if origin in (Union, types.UnionType):
        return st.none() | _strategy(get_args(hint)[0])
    if origin is tuple:
        inner = get_args(hint)[0]
        large = is_dataclass(inner) and len(dataclass_fields(inner)) > LARGE
        return st.lists(_strategy(inner), max_size=1 if large else 2).map(tuple)
    if origin is dict:
        return st.dictionaries(PHASES, _strategy(get_args(hint)[1]), min_size=1, max_size=2)
    return records(hint)


def records(record: type[Any]) -> st.SearchStrategy[Any]:
    """Records of one type with any of their fields set."""
    hints = get_type_hints(record, include_extras=True)
    return st.builds(record, **{name: _strategy(hint) for name, hint in hints.items()})
