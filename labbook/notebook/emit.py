"""Data to YAML text, for new files and for new entries of lists.

A text that a command writes is quoted, so that no reader of any version of YAML takes it for a
number, a date or a truth value; words of a closed list and names stand plain where that is as safe.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from typing import Any, get_args

from labbook.model.errors import NotAllowed
from labbook.model.fields import EntryId, Text, key_of
from labbook.model.moments import write_moment
from labbook.model.quantities import Quantity
from labbook.notebook.shapes import Shape, shape_of

WIDTH = 96
_PLAIN = re.compile(r"[^\W\d_][\w.@+/-]*(?: [\w.@+/-]+)*")
_WORDS_OF_YAML = frozenset(["y", "n", "yes", "no", "true", "false", "on", "off", "null"])
_ESCAPED = re.compile("[\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_NO_TEXT = re.compile("[\ud800-\udfff]")
_NOT_IN_BLOCK = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_QUOTED = (get_args(Text)[1], get_args(EntryId)[1])


class Word(str):
    """Text that may stand without quotes: a name, or a word of a closed list."""

    __slots__ = ()


# One line --------------------------------------------------------------------------------------


def is_plain_safe(text: str) -> bool:
    """Whether every reader of YAML takes the unquoted text for just this text."""
    return bool(_PLAIN.fullmatch(text)) and text.lower() not in _WORDS_OF_YAML


def quoted(text: str) -> str:
    """The text in double quotes on one line, every odd character escaped.

    Raises:
        NotAllowed: half of a character pair, which no file can hold.
    """
    if _NO_TEXT.search(text):
        raise NotAllowed(
            "the text holds bytes that are no characters", mend="Type it again, in UTF-8."
        )
    return _ESCAPED.sub(lambda m: f"\\u{ord(m[0]):04x}", json.dumps(text, ensure_ascii=False))


def text_of(value: Any) -> str:
    """The text that a reader gets back for a scalar."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, date):
        return write_moment(value)
    if isinstance(value, str | int | Quantity):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no form in a file")


def scalar(value: Any) -> str:
    """One value as it stands in a file."""
    if isinstance(value, str) and not isinstance(value, Word):
        return quoted(value)
    if isinstance(value, datetime):  # its colons end a plain value in the eyes of some readers
        return quoted(write_moment(value))
    text = text_of(value)
    if isinstance(value, Word) and not is_plain_safe(text):
        return quoted(text)
    return text


def flow(value: Any) -> str:
    """The one-line form of a scalar, list or mapping; keys with None are left out."""
    if isinstance(value, Mapping):
        pairs = (f"{_key(key)}: {flow(item)}" for key, item in value.items() if item is not None)
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(flow(item) for item in value) + "]"
    return scalar(value)


def _key(key: str) -> str:
    return key if is_plain_safe(key) else quoted(key)


# Several lines ---------------------------------------------------------------------------------


def is_odd(text: str) -> bool:
    """Whether the text has characters that can only stand escaped, in double quotes."""
    return bool(_NOT_IN_BLOCK.search(text) or _NO_TEXT.search(text))


def fits_block(text: str) -> bool:
    """Whether a block scalar gives back just this text."""
    one_end = text.rstrip("\n") in (text, text[:-1])
    return "\n" in text and one_end and bool(text.strip()) and not is_odd(text)


def block_text(text: str, indent: int, relative: int = 2) -> list[str]:
    """A text of several lines as a block scalar: its head `|`, then its lines.

    `indent` is the column of its lines, `relative` how far that is to the right of the key.
    """
    body = text.rstrip("\n")
    first = str(relative) if body[0] in " \t\n" else ""
    lines = [f"{' ' * indent}{line}" if line else "" for line in body.split("\n")]
    return [f"|{first}{'-' if body == text else ''}", *lines]


def block(key: str, value: Any, indent: int = 0, dashes: int = 2) -> list[str]:
    """The lines of a key with its value, in block style where one line won't do.

    Args:
        key: as written in the file.
        value: any data.
        indent: the column of the key, from 0.
        dashes: how far the dashes of a list stand to the right of the key.
    """
    lead = f"{' ' * indent}{_key(key)}:"
    first, *below = after_key(value, indent, dashes, WIDTH - len(lead))
    return [lead + first, *below]


def after_key(value: Any, indent: int, dashes: int = 2, width: int = WIDTH) -> list[str]:
    """What follows the colon of a key at column `indent`: the rest of its line, and lines below."""
    if isinstance(value, str) and not isinstance(value, Word) and fits_block(value):
        head, *lines = block_text(value, indent + 2)
        return [f" {head}", *lines]
    if isinstance(value, list | tuple) and any(isinstance(item, Mapping) for item in value):
        return ["", *(line for item in value for line in entry(item, indent + dashes))]
    one_line = f" {flow(value)}"
    if isinstance(value, Mapping) and value and (len(one_line) > width or _goes_deep(value)):
        return ["", *_mapping(value, indent + 2)]
    return [one_line]


def entry(value: Any, indent: int) -> list[str]:
    """The lines of one entry of a list, with its dash."""
    lead = " " * indent + "- "
    if isinstance(value, Mapping) and value:
        nested = any(isinstance(item, Mapping) for item in value.values())
        one_line = lead + flow(value)
        if _goes_deep(value) or (nested and len(one_line) > WIDTH):
            first, *rest = _mapping(value, indent + 2)
            return [lead + first.lstrip(), *rest]
        return [one_line]
    return [lead + flow(value)]


def _mapping(value: Mapping[str, Any], indent: int) -> list[str]:
    pairs = ((key, item) for key, item in value.items() if item is not None)
    return [line for key, item in pairs for line in block(key, item, indent)]


def _goes_deep(value: Mapping[str, Any]) -> bool:
    """Whether a list of entries stands inside, which one line would hide."""
    return any(
        (isinstance(item, list | tuple) and any(isinstance(one, Mapping) for one in item))
        or (isinstance(item, Mapping) and _goes_deep(item))
        for item in value.values()
    )


# Whole files -----------------------------------------------------------------------------------


def data_of(record: Any) -> dict[str, Any]:
    """A record as the data of its file: keys as written, nothing for what is absent."""
    data: dict[str, Any] = _data(record, shape_of(type(record)))
    return data


def _data(value: Any, shape: Shape) -> Any:
    if is_dataclass(value) and not isinstance(value, Quantity):
        inner = shape_of(type(value)).keys
        given = {key_of(f.name): getattr(value, f.name) for f in fields(value)}
        usual = {key_of(f.name): f.default for f in fields(value) if is_dataclass(f.default)}
        there = {k: v for k, v in given.items() if v is not None and v != ()}
        return {k: _data(v, inner[k]) for k, v in there.items() if v != usual.get(k)}
    if isinstance(value, tuple) and shape.item is not None:
        return [_data(item, shape.item) for item in value]
    if isinstance(value, dict) and shape.item is not None:
        return {k: _data(v, shape.item) for k, v in value.items()}
    if isinstance(value, str) and shape.marker not in _QUOTED:
        return Word(value)
    return value


def document(record_or_data: Any, *, head: Sequence[str] = ()) -> str:
    """The text of a whole file: comments first, then one key after the other.

    Args:
        record_or_data: a record of `labbook.model`, or data like that of `data_of`.
        head: lines of the opening comment, without their `#`.
    """
    data = data_of(record_or_data) if is_dataclass(record_or_data) else record_or_data
    comments = [f"# {line}".rstrip() for line in head]
    return "\n".join([*comments, *(_mapping(data, 0) or ["{}"])]) + "\n"
