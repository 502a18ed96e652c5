"""Pictures taken in: upright, small, without metadata, told by content; all else refused.

What is expected of the eight orientations is the table of EXIF 2.32 (CIPA DC-008), tag 0x0112:
where row 0 and column 0 of the stored picture stand in the upright one.
"""

from __future__ import annotations

import hashlib
import io
import random
import struct
import zlib
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageCms

from labbook.model.errors import LabbookError, NotAllowed, Unreadable
from labbook.model.photos import photo_file
from labbook.notebook.photo import LONGEST, MOST_DOTS, fits, kept, pictures_in, take

RED, WHITE = (220, 20, 20), (250, 250, 250)
CORNERS = {
    1: "top left", 2: "top right", 3: "bottom right", 4: "bottom left",
    5: "top left", 6: "top right", 7: "bottom right", 8: "bottom left",
}  # fmt: skip
"""Where the corner of row 0 and column 0 stands in the upright picture."""


def picture(width: int = 120, height: int = 80, mode: str = "RGB") -> Image.Image:
    """White, with a red corner at row 0 and column 0."""
    made = Image.new("RGB", (width, height), WHITE)
    made.paste(RED, (0, 0, width // 4, height // 4))
    return made.convert(mode)


def saved(made: Image.Image, kind: str, file: Path, **options: Any) -> Path:
    made.save(file, kind, **options)
    return file


def drawn(file: Path) -> Image.Image:
    """The picture that is kept of a file."""
    found = Image.open(io.BytesIO(take(file).data))
    found.load()
    return found


def red_corner(found: Image.Image) -> str:
    across, down = found.width - 1, found.height - 1
    places = {
        "top left": (2, 2), "top right": (across - 2, 2),
        "bottom left": (2, down - 2), "bottom right": (across - 2, down - 2),
    }  # fmt: skip
    is_red = {name for name, at in places.items() if _is_red(found.getpixel(at))}
    assert len(is_red) == 1, is_red
    return is_red.pop()


def _is_red(dot: Any) -> bool:
    return bool(dot[0] > 150 and dot[1] < 90 and dot[2] < 90)


# Upright, small, plain ----------------------------------------------------------------------------


@pytest.mark.parametrize("turned", CORNERS)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_upright_as_the_standard_says(tmp_path: Path, kind: str, turned: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = turned
    found = drawn(saved(picture(), kind, tmp_path / "in", exif=exif))
    assert red_corner(found) == CORNERS[turned]
    assert found.size == ((120, 80) if turned < 5 else (80, 120))


@pytest.mark.parametrize("turned", [0, 9, 77])
def test_an_orientation_that_no_standard_knows_turns_nothing(tmp_path: Path, turned: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = turned
    assert red_corner(drawn(saved(picture(), "JPEG", tmp_path / "in", exif=exif))) == "top left"


@pytest.mark.parametrize(
    ("size", "expected"),
    [((4000, 3000), (1600, 1200)), ((3000, 4000), (1200, 1600)), ((1600, 9), (1600, 9)),
     ((12, 9), (12, 9)), ((9000, 3), (1600, 1))],
)  # fmt: skip
def test_at_most_1600_dots_and_never_larger_than_it_was(
    tmp_path: Path, size: tuple[int, int], expected: tuple[int, int]
) -> None:
    found = drawn(saved(picture(*size), "PNG", tmp_path / "in"))
    assert found.size == expected
    assert max(found.size) <= LONGEST


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_nothing_that_a_camera_wrote_is_left(tmp_path: Path, kind: str) -> None:
    exif = Image.Exif()
    exif[0x010F] = "zqmaker"
    exif[0x0132] = "2026:04:16 12:00:00"
    exif.get_ifd(0x8825)[29] = "zqplace"
    options: dict[str, Any] = {"exif": exif, "xmp": b"<x:xmpmeta>zqxmp</x:xmpmeta>"}
    if kind == "JPEG":
        options["comment"] = b"zqcomment"
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    file = saved(picture(), kind, tmp_path / "in", icc_profile=profile, **options)
    file.write_bytes(file.read_bytes() + b"zqbehind the end")
    assert b"zq" in file.read_bytes()
    data = take(file).data
    assert b"zq" not in data
    assert segments(data) <= {0xE0, 0xDB, 0xC0, 0xC4, 0xDA}
    assert not Image.open(io.BytesIO(data)).getexif()


def segments(data: bytes) -> set[int]:
    """The markers of a JPEG up to its dots, read by ITU-T T.81, annex B: 0xE0 is JFIF's head."""
    found, at = set(), 2
    assert data[:2] == b"\xff\xd8"
    while True:
        assert data[at] == 0xFF
        marker = data[at + 1]
        found.add(marker)
        if marker == 0xDA:
            return found
        at += 2 + struct.unpack(">H", data[at + 2 : at + 4])[0]


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "LA", "1", "I;16", "CMYK"])
def test_every_way_to_store_dots(tmp_path: Path, mode: str) -> None:
    if mode == "I;16":
        made = Image.new("I;16", (40, 20), 65535)
    else:
        made = Image.new("RGB", (40, 20), "white").convert(mode)
    kind = "JPEG" if mode == "CMYK" else "PNG"
    found = drawn(saved(made, kind, tmp_path / "in"))
    assert min(dots(found)) > 245


def test_what_is_clear_becomes_white(tmp_path: Path) -> None:
    found = drawn(saved(Image.new("RGBA", (20, 20), (0, 0, 0, 0)), "PNG", tmp_path / "in"))
    assert dots(found) == (255, 255, 255)


def test_colours_are_brought_into_the_usual_space(tmp_path: Path) -> None:
    """A profile in which red and green have changed places (ICC.1: tags rXYZ, gXYZ) is obeyed."""
    usual = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = usual.replace(b"rXYZ", b"????").replace(b"gXYZ", b"rXYZ").replace(b"????", b"gXYZ")
    made = Image.new("RGB", (20, 20), RED)
    for profile, strongest in ((b"", 0), (usual, 0), (swapped, 1), (b"no profile at all", 0)):
        file = saved(made, "PNG", tmp_path / "in", icc_profile=profile or None)
        dot = dots(drawn(file))
        assert dot.index(max(dot)) == strongest


def dots(found: Image.Image) -> tuple[int, int, int]:
    """The dot in the middle."""
    dot: Any = found.getpixel((found.width // 2, found.height // 2))
    assert found.mode == "RGB"
    return dot[0], dot[1], dot[2]


def test_the_name_and_the_two_hashes(tmp_path: Path) -> None:
    file = saved(picture(), "PNG", tmp_path / "in.png")
    found = take(file)
    assert found.original == hashlib.sha256(file.read_bytes()).hexdigest()
    name = found.name(date(2026, 4, 16))
    assert photo_file(name) == f"2026-04-16-{hashlib.sha256(found.data).hexdigest()[:16]}.jpg"
    assert fits(found.data, name)
    assert not fits(found.data + b" ", name)


# Refused ------------------------------------------------------------------------------------------

REFUSED = {
    "drawing.jpg": b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>",
    "drawing.png": b"\xef\xbb\xbf  <?xml version='1.0'?><svg/>",
    "phone.jpg": b"\0\0\0\x18ftypheic" + bytes(40),
    "new.jpg": b"\0\0\0\x18ftypavif" + bytes(40),
    "film.jpg": b"GIF89a" + bytes(60),
    "paper.jpg": b"%PDF-1.7\n" + bytes(60),
    "dots.jpg": b"BM" + bytes(60),
    "page.jpg": b"<!doctype html><html></html>",
    "text.jpg": b"not a picture",
    "nothing.jpg": b"",
    "begun.jpg": b"\xff\xd8\xff",
    "begun.png": b"\x89PNG\r\n\x1a\n",
}


@pytest.mark.parametrize("name", REFUSED)
def test_all_else_is_refused_with_a_way_on(tmp_path: Path, name: str) -> None:
    file = tmp_path / name
    file.write_bytes(REFUSED[name])
    with pytest.raises(NotAllowed) as refused:
        take(file)
    assert str(file) in refused.value.what
    assert "JPEG" in refused.value.mend or "PNG" in refused.value.mend


def test_a_vector_phone_or_moving_picture_by_its_own_name(tmp_path: Path) -> None:
    for name, word in (("drawing.jpg", "SVG"), ("phone.jpg", "HEIC"), ("film.jpg", "no JPEG")):
        (tmp_path / name).write_bytes(REFUSED[name])
        with pytest.raises(NotAllowed, match=word):
            take(tmp_path / name)


def test_the_name_of_the_file_says_nothing(tmp_path: Path) -> None:
    assert drawn(saved(picture(), "PNG", tmp_path / "really-a.txt")).size == (120, 80)


def bomb(width: int, height: int) -> bytes:
    """A PNG whose head promises many dots, with next to nothing behind it."""

    def chunk(name: bytes, body: bytes) -> bytes:
        whole = name + body
        return struct.pack(">I", len(body)) + whole + struct.pack(">I", zlib.crc32(whole))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", b"x") + chunk(b"IEND", b"")


@pytest.mark.parametrize(("width", "height"), [(9000, 9000), (12000, 12000), (65500, 65500)])
def test_too_many_dots_are_refused_by_the_head_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, width: int, height: int
) -> None:
    assert width * height > MOST_DOTS
    file = tmp_path / "bomb.png"
    file.write_bytes(bomb(width, height))

    def unpacked(*args: object) -> None:
        raise AssertionError("dots were unpacked")

    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", unpacked)
    with pytest.raises(NotAllowed, match="million dots"):
        take(file)


def test_a_folder_a_missing_and_a_huge_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(NotAllowed, match="no file"):
        take(tmp_path)
    with pytest.raises(NotAllowed, match="can't be read"):
        take(tmp_path / "none.jpg")
    file = saved(picture(), "PNG", tmp_path / "in")
    monkeypatch.setattr("labbook.notebook.photo.MOST_BYTES", 40)
    with pytest.raises(NotAllowed, match="is the most"):
        take(file)


@pytest.mark.parametrize("seed", range(12))
def test_a_damaged_picture_is_refused_or_taken_and_nothing_else(tmp_path: Path, seed: int) -> None:
    """Bytes changed, cut out, cut off: never a traceback, and what is taken is a whole JPEG."""
    chance = random.Random(seed)
    exif = Image.Exif()
    exif[0x0112] = 6
    for kind in ("JPEG", "PNG", "WEBP"):
        whole = saved(picture(), kind, tmp_path / "in", exif=exif).read_bytes()
        for _ in range(25):
            bad = bytearray(whole)
            for _ in range(chance.choice((1, 2, 8))):
                at = chance.randrange(max(1, min(len(bad), chance.choice((30, 300, 10_000)))))
                bad[at : at + chance.choice((1, 1, 5, 5000))] = chance.randbytes(
                    chance.choice((0, 1))
                )
            (tmp_path / "in").write_bytes(bad)
            try:
                found = drawn(tmp_path / "in")
            except LabbookError as refused:
                assert refused.mend
            else:
                assert found.format == "JPEG"


# Kept ---------------------------------------------------------------------------------------------


def test_what_is_kept_is_given_out_only_as_recorded(tmp_path: Path) -> None:
    taken = take(saved(picture(), "PNG", tmp_path / "in.png"))
    name = taken.name(date(2026, 4, 16))
    (tmp_path / "nb").mkdir()
    (tmp_path / "nb" / name).write_bytes(taken.data)
    root = tmp_path / "nb"
    assert kept(root, name) == taken.data
    assert kept(root, "2026-04-16-0000000000000000.jpg") is None
    other = "2026-04-17-0000000000000000.jpg"
    (root / other).write_bytes(taken.data)
    with pytest.raises(Unreadable, match="not the picture"):
        kept(root, other)
    secret = tmp_path / "secret"
    secret.write_bytes(taken.data)
    linked = f"2026-04-18-{hashlib.sha256(taken.data).hexdigest()[:16]}.jpg"
    (root / linked).symlink_to(secret)
    with pytest.raises(Unreadable, match="a link"):
        kept(root, linked)
    (root / "batches").symlink_to(tmp_path)
    with pytest.raises(Unreadable, match="a link"):
        kept(root, "batches/in.png")
    assert pictures_in(root, ".") == sorted([name, other, linked])
    assert pictures_in(root, "nowhere") == []
