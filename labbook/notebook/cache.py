"""Contents that were read before: of the program's own files, and of git's blobs."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from labbook.notebook.index.contents import (
    Key,
    blob_hashes,
    file_hash,
    put_blobs,
    put_contents,
    take_contents,
)
from labbook.notebook.index.store import Lost, Store
from labbook.notebook.readfile import ReadFile, read_bytes


def content_hash(raw: bytes) -> str:
    """The hash under which a content is kept that stands at one path alone."""
    return hashlib.sha256(raw).hexdigest()


def read_texts(root: Path, kind: str, raws: Mapping[str, bytes]) -> dict[str, ReadFile]:
    """Files of the program by their path, for the notebook at a root, whose index is used."""
    keys = {path: (kind, content_hash(raw)) for path, raw in raws.items()}
    store = Store(root)
    stored = take_contents(store, keys.values())
    found = {path: stored[key] for path, key in keys.items() if key in stored}
    fresh: dict[Key, ReadFile] = {}
    for path, raw in raws.items():
        if path not in found:
            found[path] = fresh[keys[path]] = read_bytes(path, raw)
    keep(store, fresh)
    return {path: found[path] for path in raws}


def keep(store: Store, fresh: Mapping[Key, ReadFile]) -> None:
    """Keeps what was just read; failing to is no fault, the next command reads again."""
    try:
        put_contents(store, fresh)
    except Lost:
        return


def read_blobs(
    root: Path, wanted: Mapping[str, str], kind: str, *, store: Store | None = None
) -> dict[str, ReadFile]:
    """Contents out of history, from the index where they were read before, in a file or in git.

    Their places are not told.

    Args:
        root: the notebook.
        wanted: blob id to the path that it stood at.
        kind: the kind of file that they all are.
        store: the index; None opens it.
    """
    from labbook.notebook import git

    store = store or Store(root)
    hashes = blob_hashes(store, kind, wanted)
    stored = take_contents(store, {(kind, digest) for digest in hashes.values()})
    found = {b: stored[kind, h] for b, h in hashes.items() if (kind, h) in stored}
    raws = git.blobs(root, [blob for blob in wanted if blob not in found])
    new = {blob: file_hash(wanted[blob], raw) for blob, raw in raws.items()}
    stored = take_contents(store, {(kind, digest) for digest in new.values()})
    fresh: dict[Key, ReadFile] = {}
    for blob, raw in raws.items():
        key = (kind, new[blob])
        held = stored.get(key)
        if held is None:
            held = fresh[key] = replace(read_bytes(wanted[blob], raw), places={})
        found[blob] = held
    with contextlib.suppress(Lost):  # else the next command reads again
        put_contents(store, fresh, instead=False)
        put_blobs(store, kind, new)
    return found
