"""A kept picture as it is published: the large one as it is, a small one for rows of pictures."""

from __future__ import annotations

from io import BytesIO

from labbook.model.errors import Unreadable

SMALL = 400
"""Dots on the longer side of a small picture: twice as many as a row shows, for sharp screens."""

_QUALITY = 80
_START, _SCAN = 0xD8, 0xDA
_PLAIN = frozenset({0xE0})  # the head of a JPEG file (JFIF, ITU-T T.871); it tells of no camera
_TELLING = frozenset({*range(0xE1, 0xF0), 0xFE})  # application segments, comments: ITU-T T.81, B.1


def is_bare(data: bytes) -> bool:
    """Whether a JPEG holds the picture alone, without anything that a camera or a person wrote."""
    at = 2
    if data[:2] != bytes((0xFF, _START)):
        return False
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            return False
        marker = data[at + 1]
        if marker == _SCAN:
            return True
        if marker in _TELLING and marker not in _PLAIN:
            return False
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return False


def small_copy(data: bytes, path: str) -> bytes:
    """A small copy of a picture, drawn anew from its dots.

    Args:
        data: a JPEG.
        path: what it is called in an error.

    Raises:
        Unreadable: it can't be unpacked.
    """
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(BytesIO(data), formats=("JPEG",)) as picture:
            picture.draft("RGB", (SMALL, SMALL))
            found = picture.convert("RGB")
            found.thumbnail((SMALL, SMALL), Image.Resampling.LANCZOS)
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError, ValueError) as error:
        raise Unreadable(f"{path} can't be unpacked as a picture.", where=path) from error
    out = BytesIO()
    found.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue()
