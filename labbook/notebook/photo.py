"""Pictures taken in: told by their content, made small and upright, without what a camera wrote.

What a phone writes into a picture (place, owner, device, a small copy of what was cut away) is left
behind: the picture is drawn anew from its dots. Pillow is imported when one is read.
"""

from __future__ import annotations

import hashlib
import warnings
from dataclasses import dataclass
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from labbook.model.errors import NotAllowed, Unreadable
from labbook.model.photos import HASH_DIGITS

if TYPE_CHECKING:
    from PIL.Image import Image

LONGEST = 1600
"""Dots on the longer side of what is kept: a jar fills a screen, and ten years fit a notebook."""

MOST_BYTES = 60 * 1024 * 1024
MOST_DOTS = 80_000_000
"""Of a picture as it comes; its head says how many before anything of it is unpacked."""

MOST_KEPT = 8 * 1024 * 1024
"""Bytes of a picture in the notebook; what is drawn here has far fewer."""

FORMATS = ("JPEG", "PNG", "WEBP")
_ENDINGS = (".jpg", ".jpeg", ".png", ".webp")
_QUALITY = 88
_ORIENTATION = 0x0112
_JPEG = b"\xff\xd8\xff"
_PHONE = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis")


@dataclass(frozen=True, slots=True)
class Taken:
    """A picture as it is kept, and the SHA-256 of the file that it was made from."""

    data: bytes
    original: str

    def name(self, day: date) -> str:
        """The name of its file: the day, and the first digits of its own hash."""
        return f"{day.isoformat()}-{_hash(self.data)[:HASH_DIGITS]}.jpg"


def _hash(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


# Taking in ----------------------------------------------------------------------------------------


def take(file: Path) -> Taken:
    """Reads a picture from anywhere and draws it anew: JPEG, upright, at most 1600 dots long.

    Raises:
        NotAllowed: it isn't there, is too large, is no JPEG, PNG or WebP by its content, or is
            damaged.
    """
    raw = _read(file)
    try:
        return Taken(_drawn(raw, str(file)), _hash(raw))
    except _Damaged as error:
        raise NotAllowed(
            f"{file} is damaged: {error}.",
            mend="Copy it again from the camera, or open it and save it as JPEG.",
        ) from error


class _Damaged(Exception):
    """The picture's head is whole, and something behind it isn't."""


def _read(file: Path) -> bytes:
    try:
        size = file.stat().st_size
        if size <= MOST_BYTES and file.is_file():
            return file.read_bytes()
    except OSError as error:
        raise NotAllowed(
            f"{file} can't be read: {error.strerror}.", mend="Name the picture's file."
        ) from error
    if not file.is_file():
        raise NotAllowed(f"{file} is no file.", mend="Name the picture's file.")
    raise NotAllowed(
        f"{file} has {size // 1024 // 1024} MB; {MOST_BYTES // 1024 // 1024} MB is the most.",
        mend="Save a smaller copy as JPEG, and name that.",
    )


def _drawn(raw: bytes, named: str) -> bytes:
    """The bytes of the picture that is kept."""
    from PIL import Image

    with warnings.catch_warnings():
        # What Pillow warns of (odd tags, many dots) is decided here, by its own rules.
        warnings.simplefilter("ignore")
        try:
            picture = Image.open(BytesIO(raw), formats=FORMATS)
        except Image.DecompressionBombError as error:
            raise _too_many(named) from error
        except _FAULTS as error:
            raise _not_taken(raw, named) from error
        if picture.width * picture.height > MOST_DOTS:
            raise _too_many(named)
        try:
            turned, profile = _turn(picture), picture.info.get("icc_profile")
            small = _even(picture)
            small.thumbnail((LONGEST, LONGEST), Image.Resampling.LANCZOS)
            return _encoded(_upright(_in_srgb(small, profile), turned))
        except _FAULTS as error:
            raise _Damaged(str(error) or type(error).__name__) from error


_FAULTS = (OSError, SyntaxError, ValueError)
"""What Pillow raises of a damaged picture, the last two for chunks of PNG."""


def _turn(picture: Image) -> int:
    """How the camera was held, 1 to 8 of the EXIF standard; 1 where it doesn't say or is unread."""
    try:
        turned = picture.getexif().get(_ORIENTATION, 1)
    except _FAULTS:
        return 1
    return turned if isinstance(turned, int) else 1


def _even(picture: Image) -> Image:
    """The picture in a mode that can be made smaller: no palette, 8 bits, on white where clear."""
    from PIL import Image

    if picture.mode in ("RGB", "L", "CMYK"):
        return picture
    if picture.mode.startswith("I;16") or picture.mode == "I":
        return picture.convert("I").point(lambda dot: dot / 256).convert("L")
    clear = picture.convert("RGBA")
    white = Image.new("RGBA", clear.size, "white")
    white.alpha_composite(clear)
    return white.convert("RGB")


def _upright(picture: Image, turned: int) -> Image:
    """The dots alone in a picture of their own, turned upright."""
    from PIL import Image

    turn = _TURNS.get(turned)
    if turn is not None:
        picture = picture.transpose(Image.Transpose[turn])
    plain = Image.new("RGB", picture.size)
    plain.paste(picture.convert("RGB"))
    return plain


_TURNS = {
    2: "FLIP_LEFT_RIGHT",
    3: "ROTATE_180",
    4: "FLIP_TOP_BOTTOM",
    5: "TRANSPOSE",
    6: "ROTATE_270",
    7: "TRANSVERSE",
    8: "ROTATE_90",
}
"""EXIF 2.32, tag Orientation: what undoes it."""


def _in_srgb(picture: Image, profile: bytes | None) -> Image:
    """The colours as sRGB: phones write wider ones, which without their profile look pale.

    A profile that can't be read leaves the dots as they are.
    """
    from PIL import ImageCms

    if not profile:
        return picture
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        target = ImageCms.createProfile("sRGB")
        found = ImageCms.profileToProfile(picture, source, target, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return picture
    return picture if found is None else found


def _encoded(picture: Image) -> bytes:
    out = BytesIO()
    picture.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue()


# Refusals -----------------------------------------------------------------------------------------


def _too_many(named: str) -> NotAllowed:
    return NotAllowed(
        f"{named} has more than {MOST_DOTS // 1_000_000} million dots.",
        mend="Save a smaller copy as JPEG, and name that.",
    )


def _not_taken(raw: bytes, named: str) -> NotAllowed:
    """Says what the file is, as far as its first bytes tell, and how to get a JPEG of it."""
    head = raw[:1024].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if raw[4:8] == b"ftyp" and raw[8:12] in _PHONE:
        return NotAllowed(
            f"{named} is a HEIC or AVIF picture, which can't be read here.",
            mend="Export it as JPEG, or set the phone's camera to JPEG.",
        )
    if head.startswith((b"<svg", b"<?xml", b"<!doctype svg")) or b"<svg" in head:
        return NotAllowed(
            f"{named} is a drawing (SVG), which can hold programs; it is not taken in.",
            mend="Export it as PNG, and name that.",
        )
    if raw.startswith((_JPEG, b"\x89PNG")):
        what = f"{named} is damaged: it can't be read as a picture."
    else:
        what = f"{named} is by its content no JPEG, PNG or WebP."
    return NotAllowed(what, mend="Open it and save it as JPEG, then name that.")


# Kept pictures ------------------------------------------------------------------------------------


def fits(data: bytes, name: str) -> bool:
    """Whether the bytes are those whose hash stands in the file's name."""
    return _hash(data)[:HASH_DIGITS] == name.removesuffix(".jpg").rsplit("-", 1)[-1]


def kept(root: Path, path: str) -> bytes | None:
    """The bytes of a picture of the notebook; None where there is no such file.

    Args:
        root: the notebook.
        path: from the root, with the picture's name at the end.

    Raises:
        Unreadable: it is a link, too large, no JPEG, or not the picture that was recorded.
    """
    full = root / path
    try:
        if not full.is_file():
            return None
        if full.is_symlink() or full.parent.resolve() != root.resolve() / Path(path).parent:
            raise Unreadable(f"{path} is a link, not a picture.", where=path)
        with full.open("rb") as file:
            data = file.read(MOST_KEPT + 1)
    except OSError as error:
        raise Unreadable(f"{path} can't be read: {error.strerror}.", where=path) from error
    if len(data) > MOST_KEPT or not data.startswith(_JPEG) or not fits(data, full.name):
        raise Unreadable(
            f"{path} is not the picture that was recorded.",
            where=path,
            mend=f"Git has it: git log -- {path}",
        )
    return data


def pictures_in(root: Path, folder: str) -> list[str]:
    """The names of the pictures in a folder of the notebook, by their endings."""
    try:
        found = sorted(file.name for file in (root / folder).iterdir())
    except OSError:
        return []
    return [name for name in found if name.lower().endswith(_ENDINGS)]
