"""What is published of a picture: the dots alone; whatever else a file may carry is seen."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from labbook.notebook.photo import take
from labbook.notebook.photo_copies import is_bare, small_copy


def jpeg(**options: object) -> bytes:
    out = io.BytesIO()
    Image.effect_noise((97, 61), 80).convert("RGB").save(out, "JPEG", **options)
    return out.getvalue()


def segment(marker: int, content: bytes) -> bytes:
    return bytes((0xFF, marker)) + (len(content) + 2).to_bytes(2, "big") + content


def with_segment(marker: int, content: bytes) -> bytes:
    """A picture with one segment more behind its head."""
    data = jpeg()
    head = 2 + 18  # start of the image, JFIF
    return data[:head] + segment(marker, content) + data[head:]


def test_what_is_taken_in_and_its_small_copy_are_bare(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x010E] = "where it was taken"
    file = tmp_path / "a.jpg"
    file.write_bytes(jpeg(exif=exif))
    assert not is_bare(file.read_bytes())
    data = take(file).data
    assert is_bare(data)
    assert is_bare(small_copy(data, "a.jpg"))


@pytest.mark.parametrize("options", [{}, {"progressive": True}, {"quality": 100},
                                     {"restart_marker_blocks": 1}])  # fmt: skip
def test_pictures_of_every_make_are_bare(options: dict[str, object]) -> None:
    assert is_bare(jpeg(**options))


CARRYING = {
    "a remark": with_segment(0xFE, b"words"),
    "what a camera writes": with_segment(0xE1, b"Exif\0\0words"),
    "colours of a program": with_segment(0xE2, b"ICC_PROFILE\0words"),
    "a second head": with_segment(0xE0, b"JFXX\0words"),
    "a small picture in the head": jpeg()[:2] + segment(0xE0, b"JFIF\0\1\1\0\0\1\0\1\1\1abc")
    + jpeg()[20:],
    "a segment that no picture needs": with_segment(0xF5, b"words"),
    "words behind the end": jpeg() + b"words",
    "a film behind the end": jpeg() + jpeg(),
    "a remark behind the dots": jpeg()[:-2] + segment(0xFE, b"words") + b"\xff\xd9",
    "no end": jpeg()[:-2],
    "cut off": jpeg()[:200],
    "no picture": b"<svg/>",
    "nothing": b"",
}  # fmt: skip


@pytest.mark.parametrize("what", CARRYING)
def test_what_is_carried_along_is_seen(what: str) -> None:
    assert not is_bare(CARRYING[what])
