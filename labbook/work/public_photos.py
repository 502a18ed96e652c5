"""The pictures that a journal publishes: the recorded ones alone, as they were taken in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from labbook.journal.names import photo_path, small_photo_path
from labbook.journal.shelf import Shelf
from labbook.model.errors import LabbookError, Unreadable
from labbook.model.problems import Place, Problem, Severity
from labbook.work.bench import Bench


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """A picture of the notebook: its path there, its name, and when it was last written."""

    root: Path
    path: str
    file: str
    key: str

    def copies(self) -> dict[str, bytes]:
        """The picture and its small copy by their paths in the site.

        Raises:
            Unreadable: it is not there, or not as it was recorded. Then nobody took out of it what
                a camera writes, such as the place, and it stays inside.
        """
        from labbook.notebook.photo import kept
        from labbook.notebook.photo_copies import is_bare, small_copy

        data = kept(self.root, self.path)
        if data is None:
            raise Unreadable(f"{self.path} is not there.", where=self.path)
        if not is_bare(data):
            raise Unreadable(
                f"{self.path} holds more than a picture: a camera or a program wrote into it.",
                where=self.path,
                mend="Take it in anew, which leaves that out.",
            )
        small = small_copy(data, self.path)
        return {photo_path(self.file): data, small_photo_path(self.file): small}


def photos_of(bench: Bench, shelf: Shelf) -> Iterator[PhotoFile]:
    """Every picture that is public."""
    for outline in shelf.outlines.values():
        for batch_id, file in outline.photos:
            path = bench.batch_path(batch_id, file)
            yield PhotoFile(bench.root, path, file, _key(bench.root / path))


def _key(file: Path) -> str:
    try:
        found = file.stat()
    except OSError:
        return ""
    return f"{found.st_mtime_ns} {found.st_ctime_ns} {found.st_size}"


def not_published(photo: PhotoFile, error: LabbookError) -> Problem:
    """The finding for a picture that stays inside."""
    what = f"The journal leaves a picture out: {error.what}"
    return Problem(
        Severity.WARNING, "photo-not-published", Place(photo.path), what, error.mend or ""
    )
