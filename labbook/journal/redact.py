"""What is private taken out of a single record, and out of a single text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from typing import Any

from labbook.journal.fields import PUBLIC

# Words are taken whole and looked at once: a text without end costs no more than its length.
_WORD = re.compile(r"[^\s<>()\[\]\"',;:|]+")
_ADDRESS = re.compile(r"[^@]@[^@]+\.\w{2,}")
_PICTURE = re.compile(r"!\[([^\]\n]{0,300})\](?:\([^)\n]{0,1000}\)|\[[^\]\n]{0,300}\])")
_PHOTO = re.compile(r"\.(?:jpe?g|png|gif|hei[cf]|webp|avif|tiff?|bmp|dng|mov|mp4)\b", re.IGNORECASE)


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
    kind = type(value)
    if kind not in _TOLD:
        _TOLD[kind] = _told_fields(kind)
    told = _TOLD[kind]
    if told is None:
        return value
    names, empty = told
    held = {}
    for name in names:
        one = getattr(value, name)
        held[name] = one if one is None or one == () else redacted(one)
    return kind(**empty, **held)


_TOLD: dict[type, tuple[tuple[str, ...], Mapping[str, str]] | None] = {}


def _told_fields(kind: type) -> tuple[tuple[str, ...], Mapping[str, str]] | None:
    """The public fields of a record, and the private ones that it can't do without, empty.

    None for what is no record but a value.
    """
    allowed = PUBLIC.get(kind)
    if allowed is None:
        if is_dataclass(kind) and not kind.__module__.startswith("labbook.model.quantities"):
            raise TypeError(f"{kind.__name__} has no list of public fields")
        return None
    names = tuple(f.name for f in fields(kind) if f.name in allowed)
    bare = (f for f in fields(kind) if f.default is MISSING and f.default_factory is MISSING)
    return names, {f.name: "" for f in bare if f.name not in allowed}
