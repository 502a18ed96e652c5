"""The journal as `journal serve` shows it, built beside git's own files."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from labbook.journal import state
from labbook.notebook.folder import git_folder, record_paths
from labbook.work.bench import Bench
from labbook.work.site import SITE, build, state_in

_OTHER = ("journal", "rules", "templates")


@dataclass(frozen=True, slots=True)
class Served:
    """What a build left to be served: the files of the site, and how many it changed."""

    files: frozenset[str]
    pages: int
    changed: int


def served_folder(bench: Bench) -> Path:
    """Where the served pages stand: beside git's own files, so that no folder changes."""
    home = git_folder(bench.root)
    return (home / "labbook" if home else bench.root / ".labbook") / "served"


def build_served(bench: Bench) -> Served:
    """Builds the pages as the next `journal build` would publish them."""
    folder = served_folder(bench)
    built = build(bench, folder, state_in(bench.root / SITE))
    files = frozenset(state_in(folder).files) - {state.FILE}
    return Served(files, built.pages, built.written + built.removed)


class Watch:
    """Sees whether a file of the notebook changed, by times and sizes."""

    def __init__(self, bench: Bench) -> None:
        self._root = bench.root
        self._seen: dict[str, tuple[int, int]] = {}

    def changed(self) -> bool:
        """Whether anything changed since the last look."""
        before, self._seen = self._seen, dict(self._look())
        return self._seen != before

    def _look(self) -> Iterator[tuple[str, tuple[int, int]]]:
        for path in record_paths(self._root):
            yield from _seen(self._root / path)
        for name in _OTHER:
            folder = self._root / name
            if folder.is_dir():
                with os.scandir(folder) as entries:
                    for entry in entries:
                        yield from _seen(Path(entry.path))
        home = git_folder(self._root)  # versions come from commits
        for file in (home / "logs" / "HEAD", home / "HEAD") if home else ():
            yield from _seen(file)


def _seen(file: Path) -> Iterator[tuple[str, tuple[int, int]]]:
    try:
        found = file.stat()
    except OSError:
        return
    yield str(file), (found.st_mtime_ns, found.st_size)
