"""`journal build`: writes the site, file by file, and takes away what is no longer public."""

from __future__ import annotations

import re
from pathlib import Path

from labbook.journal import state
from labbook.journal.publish import published
from labbook.model.errors import NotAllowed
from labbook.model.results.telling import Built
from labbook.notebook.atomic import read_if_there, remove_file, write_file
from labbook.work.bench import Bench
from labbook.work.journal import book_of, pages_of, state_of

SITE = "site"
_OWN = re.compile(r"(?:[A-Za-z0-9_-]+/)*[A-Za-z0-9_-]+\.(?:html|md|css|svg)", re.ASCII)


def folder_of(bench: Bench, typed: str, here: Path | None = None) -> Path:
    """The folder of the site: what was named, else `site` in the notebook."""
    return ((here or bench.root) / typed).absolute() if typed else bench.root.absolute() / SITE


def before_in(folder: Path) -> state.Published:
    """What was published last into a folder."""
    path = folder / state.FILE
    return state.read(None if path.is_symlink() else read_if_there(path))


def build(bench: Bench, folder: Path) -> Built:
    """Writes the Markdown and the pages; the folder may hold nothing but an earlier site.

    A file that an earlier build wrote and this one doesn't is taken away: what was made private is
    not left lying about.

    Raises:
        NotAllowed: the folder holds other things.
    """
    before = before_in(folder)
    _must_be_ours(folder, before)
    book = book_of(bench)
    journal = published(book)
    pages = pages_of(journal)
    found = state_of(bench, book, journal, pages, before)
    digests = {path: state.file_digest(raw) for path, raw in pages.files.items()}
    _keep(folder, state.written(before.things, {**before.files, **digests}))
    written = sum(_put(folder, path, raw) for path, raw in pages.files.items())
    removed = sum(_take(folder, path) for path in before.files if path not in digests)
    _keep(folder, state.written(state.things_of(journal), digests))
    return Built(
        folder=str(folder),
        index=str(folder / "index.html"),
        pages=sum(1 for path in pages.files if path.endswith(".html")),
        written=written,
        removed=removed,
        state=found,
    )


def _must_be_ours(folder: Path, before: state.Published) -> None:
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise NotAllowed(f"{folder} is no plain folder.", mend="Name another: --output FOLDER")
    if before.files or not folder.is_dir():
        return
    if any(folder.iterdir()):
        raise NotAllowed(
            f"{folder} holds things that no build of this journal wrote; they are left alone.",
            where=str(folder),
            mend="Name an empty or a new folder: labbook journal build --output FOLDER",
        )


def _put(folder: Path, path: str, raw: bytes) -> bool:
    """Writes a file of the site where it differs; returns whether it did."""
    target = folder / path
    old = read_if_there(target)
    if old == raw:
        return False
    write_file(target, raw, expect=old, root=folder)
    return True


def _keep(folder: Path, raw: bytes) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    _put(folder, state.FILE, raw)


def _take(folder: Path, path: str) -> bool:
    """Takes a file of an earlier build away; returns whether it was there."""
    if not _OWN.fullmatch(path):
        return False
    old = read_if_there(folder / path)
    if old is None:
        return False
    remove_file(folder / path, expect=old, root=folder)
    return True
