"""Photos of a batch as their file names them; the pictures lie beside it.

The list only grows. A photo whose picture was taken out of the folder keeps its entry, struck with
the reason.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from labbook.model.fields import CLOSED, EntryId, Moment, Name, Parsed, Text, YesNo

HASH_DIGITS = 16
"""How many digits of the picture's SHA-256 stand in the name of its file."""

_FILE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9a-f]{16}\.jpg", re.ASCII)
_SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)


def photo_file(text: str) -> str:
    """The name of a picture's file: no folder, nothing but date and hash.

    Raises:
        ValueError: another name, which could lead out of the batch's folder.
    """
    if _FILE.fullmatch(text):
        return text
    raise ValueError(f"{text!r} is no photo's name; one is like 2026-04-16-0123456789abcdef.jpg")


def _sha256(text: str) -> str:
    if _SHA256.fullmatch(text):
        return text
    raise ValueError(f"{text!r} is no SHA-256; one has 64 digits, 0 to 9 and a to f")


PhotoFile = Annotated[str, Parsed(photo_file)]
Sha256 = Annotated[str, Parsed(_sha256)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """One picture: a file beside the batch, upright, made small, without what the camera wrote.

    `original` is the SHA-256 of the file that it was made from. `jar` and `look` say what it shows
    of the looks, `step` what of the making; without them it is of the batch. `struck` says why it
    no longer counts; its file may then be gone. A private one is never published.
    """

    __pydantic_config__ = CLOSED

    id: EntryId
    file: PhotoFile
    original: Sha256
    caption: Text | None = None
    jar: Text | None = None
    look: EntryId | None = None
    step: EntryId | None = None
    time: Moment
    private: YesNo | None = None
    struck: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Photos:
    """The photos of one batch; the list only grows."""

    __pydantic_config__ = CLOSED

    batch: Name
    photos: tuple[Photo, ...] = ()
