"""How the fields of a file record are read: one type per kind of value.

Records are plain frozen dataclasses, so that a warm reading command need not import pydantic. The
markers below hand pydantic a schema only when a file is read cold (`labbook.notebook.validate`).
Scalars arrive as the text that the maker typed; each type takes one strict pattern.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from typing import TYPE_CHECKING, Annotated, Any

from labbook.model import moments, quantities

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic_core import CoreSchema


class Qs(Enum):
    """Quantum satis: the line that fills up to 100 %."""

    QS = "qs"


QS = Qs.QS


def key_of(field: str) -> str:
    """The key in a file for a record's field: `batch_size` is `batch size`, `from_` is `from`."""
    return field.rstrip("_").replace("_", " ")


CLOSED: dict[str, Any] = {"extra": "forbid", "alias_generator": key_of, "defer_build": True}
"""Pydantic settings of every record; an unknown key is refused where `open_keys` is not set."""


@dataclass(frozen=True, slots=True)
class Parsed:
    """Marks a field whose text is parsed by a function, and how its JSON Schema looks."""

    parse: Callable[[str], Any]
    schema: str = '{"type": "string"}'

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """The function as a pydantic validator; only called when a record is built cold."""
        from pydantic_core import PydanticCustomError, core_schema

        def read(value: object) -> Any:
            if not isinstance(value, str):
                kind = "a list" if isinstance(value, list) else "a group of keys"
                raise PydanticCustomError(
                    "maker", "one value belongs here, not {kind}", {"kind": kind}
                )
            try:
                return self.parse(value)
            except ValueError as error:
                raise PydanticCustomError("maker", "{why}", {"why": str(error)}) from error

        return core_schema.no_info_plain_validator_function(read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """What an editor may offer and underline."""
        described: dict[str, Any] = json.loads(self.schema)
        return described


def _schema(**keys: Any) -> str:
    return json.dumps(keys)


def _text(text: str) -> str:
    return text


def _one_of(*words: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text in words:
            return text
        raise ValueError(f"{text!r} is none of: {', '.join(words)}")

    return read


def _percent(text: str) -> Decimal | Qs:
    bare = text.strip()
    if bare in ("qs", "q.s.", "q.s"):
        return QS
    if bare.endswith("%"):
        bare = bare[:-1].rstrip()
    return quantities.parse_number(bare)


def _entry(text: str) -> str:
    if re.fullmatch(r"[a-z][a-z0-9-]{0,63}", text, re.ASCII):
        return text
    raise ValueError(f"{text!r} is no entry id; an id begins with a letter, like w3")


def _name(text: str) -> str:
    # Accents apart (NFD), as some systems hand names of files back, are the same name.
    text = unicodedata.normalize("NFC", text)
    if re.fullmatch(r"[^\W_][\w.+-]*", text) and not text.startswith("-") and len(text) <= 100:
        return text
    raise ValueError(
        f"{text!r} is no name; use letters, digits and hyphens, like caprylic-capric-triglyceride"
    )


def _yes_no(text: str) -> bool:
    if text in ("yes", "no"):
        return text == "yes"
    raise ValueError(f"{text!r} is neither yes nor no")


def _whole(text: str) -> int:
    if re.fullmatch(r"[0-9]{1,9}", text, re.ASCII):
        return int(text)
    raise ValueError(f"{text!r} is no whole number")


def _measure(dimension: str) -> Callable[[str], quantities.Quantity]:
    def read(text: str) -> quantities.Quantity:
        return quantities.parse_quantity(text, dimension)

    return read


def _signed(text: str) -> Decimal:
    return quantities.parse_number(text, signed=True)


_NUMBERS = ["string", "number"]

Text = Annotated[str, Parsed(_text, _schema(type=["string", "number", "boolean"]))]
Name = Annotated[str, Parsed(_name)]
EntryId = Annotated[str, Parsed(_entry)]
Number = Annotated[Decimal, Parsed(quantities.parse_number, _schema(type=_NUMBERS))]
SignedNumber = Annotated[Decimal, Parsed(_signed, _schema(type=_NUMBERS))]
Whole = Annotated[int, Parsed(_whole, _schema(type=["integer", "string"]))]
Percent = Annotated[Decimal | Qs, Parsed(_percent, _schema(type=_NUMBERS))]
YesNo = Annotated[bool, Parsed(_yes_no, _schema(enum=["yes", "no", True, False]))]
Moment = Annotated[moments.Moment, Parsed(moments.parse_moment)]
Temperature = Annotated[quantities.Quantity, Parsed(_measure("temperature"))]
Mass = Annotated[quantities.Quantity, Parsed(_measure("mass"))]
Span = Annotated[quantities.Quantity, Parsed(_measure("time"))]
Speed = Annotated[quantities.Quantity, Parsed(_measure("speed"))]
Length = Annotated[quantities.Quantity, Parsed(_measure("length"))]
AnyQuantity = Annotated[quantities.Quantity, Parsed(_measure(""))]


def one_of(*words: str) -> Parsed:
    """Marks a field that takes one word of a closed list."""
    return Parsed(_one_of(*words), _schema(enum=list(words)))
