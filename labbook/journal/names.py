"""Where each page stands: paths without an ending, of plain letters, the same for every build."""

from __future__ import annotations

import re
import unicodedata
from hashlib import sha256

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*", re.ASCII)
_LONGEST = 80


def plain_name(name: str) -> str:
    """A name that every disk and every address takes; a hash keeps apart what became alike."""
    if _PLAIN.fullmatch(name) and len(name) <= _LONGEST:
        return name
    bare = unicodedata.normalize("NFKD", name)
    words = re.findall(r"[A-Za-z0-9]+", bare, re.ASCII)
    mark = sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    return f"{'-'.join(words)[:40].strip('-') or 'page'}-{mark}"


def formula_path(code: str) -> str:
    """`formulas/SBC`."""
    return f"formulas/{plain_name(code)}"


def version_path(code: str, number: int) -> str:
    """`formulas/SBC-3`."""
    return f"formulas/{plain_name(code)}-{number}"


def batch_path(batch_id: str) -> str:
    """`batches/SBC-260122-9T`."""
    return f"batches/{plain_name(batch_id)}"


def entry_path(name: str) -> str:
    """`entries/2026-01-30-a-pool-under-the-cream`."""
    return f"entries/{plain_name(name)}"


def picture_path(kind: str, *of: str) -> str:
    """`pictures/timeline-SBC.svg`."""
    return f"pictures/{plain_name('-'.join((kind, *of)))}.svg"


def photo_path(file: str) -> str:
    """`photos/2026-04-16-0123456789abcdef.jpg`, with its ending."""
    return f"photos/{file}"


def small_photo_path(file: str) -> str:
    """`photos/small/…`, the small copy of a picture."""
    return f"photos/small/{file}"
