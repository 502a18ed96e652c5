"""A kept picture as it is published: the large one as it is, a small one for rows of pictures."""

from __future__ import annotations

from io import BytesIO

from labbook.model.errors import Unreadable

SMALL = 400
"""Dots on the longer side of a small picture: twice as many as a row shows, for sharp screens."""

_QUALITY = 80
_START, _SCAN, _END = 0xD8, 0xDA, 0xD9
_HEAD = 0xE0
_HEAD_ALONE = b"\x00\x10JFIF\x00"
"""How the head of a JPEG file begins that holds no small picture (JFIF, ITU-T T.871, 10.1)."""

_PICTURE = frozenset({*range(0xC0, 0xC8), *range(0xC9, 0xD0), 0xDB, 0xDD, _SCAN})
"""Frames, scans and their tables (ITU-T T.81, B.1): all that it takes to draw the dots."""

_IN_SCAN = frozenset({0x00, *range(0xD0, 0xD8)})
"""What stands behind 0xFF within the dots of a scan: a byte of them, or a restart."""


def is_bare(data: bytes) -> bool:
    """Whether a JPEG holds the picture alone: nothing that a camera or a person wrote.

    What stands behind the picture's end, where telephones put short films, counts too.
    """
    at = 2
    if data[:2] != bytes((0xFF, _START)):
        return False
    while at + 2 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker == _END:
            return at + 2 == len(data)
        bare_head = marker == _HEAD and data[at + 2 :].startswith(_HEAD_ALONE)
        if marker not in _PICTURE and not bare_head:
            return False
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == _SCAN:
            at = _after_dots(data, at)
    return False


def _after_dots(data: bytes, at: int) -> int:
    """Where the next segment begins behind the dots of a scan; the end where there is none."""
    while (at := data.find(b"\xff", at)) >= 0:
        if at + 1 < len(data) and data[at + 1] not in _IN_SCAN:
            return at
        at += 2
    return len(data)


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
