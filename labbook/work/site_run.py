"""One build of a site: what it keeps, writes and takes away."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from labbook.journal import state
from labbook.journal.blocks import BrokenBlock
from labbook.model.errors import LabbookError, NotAllowed
from labbook.model.problems import Problem
from labbook.notebook.page_cache import Group, PageCache, Row
from labbook.notebook.site_folder import SiteFolder
from labbook.work.public_photos import PhotoFile, not_published
from labbook.work.rendering import Pages

_OWN = re.compile(r"(?:[A-Za-z0-9_-]+/)*[A-Za-z0-9_-]+\.(?:html|md|css|svg|js|jpg|xml)", re.ASCII)
"""What a build may take away, whatever a record of the last one says."""


class Run:
    """Writes groups of pages into a folder, and knows afterwards all that stands there.

    Attributes:
        groups: the groups of the last build, and of this one as far as it has come.
        digests: every file of the site so far, with the digest of its content.
    """

    def __init__(self, place: SiteFolder, cache: PageCache, held: state.Published) -> None:
        self.written = self.removed = 0
        self.left: list[str] = []
        self.digests: dict[str, str] = {}
        self.groups = cache.groups()
        self._place = place
        self._cache = cache
        self._begun = cache.begun()
        self._held = held.files
        self._known = dict(_files(self.groups.values()))
        self._named: list[str] = []
        if state.FILE not in place.found:  # from now on the folder is known as ours
            place.root.mkdir(parents=True, exist_ok=True)
            place.put(state.FILE, state.written(state.Published()))

    def stands(self, row: Row) -> bool:
        """Whether the folder holds the files of a page as they were written."""
        return all(self._place.found.get(path) == at for path, (_, at) in row.files.items())

    # Pages ----------------------------------------------------------------------------------------

    def write(self, name: str, pages: Pages) -> None:
        """Writes what is to be written of a group."""
        self._named.append(name)
        before = self.groups.get(name, Group()).pages
        if pages.drawn is not None:
            new = {one.path: one.written for one in pages.drawn if one.written}
            stats = self._put({p: raw for one in new.values() for p, raw in one.files.items()})
            rows = {}
            for one in pages.drawn:
                if one.written is None:
                    rows[one.path] = before[one.path]
                else:
                    broken = [(b.line, b.command, b.why) for b in one.written.broken]
                    rows[one.path] = Row(one.key, {p: stats[p] for p in one.written.files}, broken)
            self.groups[name] = Group(pages.key, rows)
            self._cache.keep({name: self.groups[name]})
        self.digests.update(_files([self.groups[name]]))

    def _is_own(self, path: str) -> bool:
        """Whether a build of this journal wrote a file of this name."""
        return path in self._known or path in self._held or path in self._begun

    def _put(self, files: Mapping[str, bytes]) -> dict[str, Sequence[str]]:
        digests = {path: state.file_digest(raw) for path, raw in files.items()}
        self._cache.intend(digests.items())
        for path, raw in files.items():
            found = self._place.found
            if path in found and not self._is_own(path) and self._place.read(path) != raw:
                raise NotAllowed(
                    f"{path} was there already, and no build of this journal wrote it.",
                    where=str(self._place.root / path),
                    mend="Take it out, or name another folder:"
                    " labbook journal build --output FOLDER",
                )
            self.written += self._place.put(path, raw)
        return {path: (digest, self._place.found[path]) for path, digest in digests.items()}

    @property
    def broken(self) -> list[tuple[str, BrokenBlock]]:
        """The blocks that can't be shown, by the path of their page."""
        return [
            (path, BrokenBlock(*one))
            for name in self._named
            for path, row in self.groups[name].pages.items()
            for one in row.broken
        ]

    # What isn't a page ----------------------------------------------------------------------------

    def photos(self, photos: Iterable[PhotoFile]) -> list[Problem]:
        """Copies pictures; one that didn't change isn't read again. Returns those left out."""
        left_out = []
        for photo in photos:
            name = f"photo {photo.file}"
            old = self.groups.get(name, Group())
            same = old.key == photo.key and all(map(self.stands, old.pages.values()))
            if not (old.pages and same):
                try:
                    files = photo.copies()
                except LabbookError as error:
                    left_out.append(not_published(photo, error))
                    continue
                self.groups[name] = Group(photo.key, {name: Row(photo.key, self._put(files))})
                self._cache.keep({name: self.groups[name]})
            self._named.append(name)
            self.digests.update(_files([self.groups[name]]))
        return left_out

    def beside(self, files: Mapping[str, bytes]) -> None:
        """Writes what stands beside the pages."""
        self.digests |= {path: digest for path, (digest, _) in self._put(files).items()}

    def close(self, raw: bytes) -> None:
        """Takes away what is no longer part of the site, and keeps what it is made of."""
        own = self._known.keys() | self._held.keys() | self._begun.keys()
        for path in sorted(own - self.digests.keys()):
            old = self._place.read(path)
            if old is None or not _OWN.fullmatch(path):
                continue
            ours = {self._known.get(path), self._held.get(path), *self._begun.get(path, ())}
            if state.file_digest(old) in ours:
                self._place.take(path)
                self.removed += 1
            else:
                self.left.append(path)
        self._place.put(state.FILE, raw)
        self._cache.settle(self._named)


def _files(groups: Iterable[Group]) -> Iterator[tuple[str, str]]:
    """All files of groups, with the digests of their contents."""
    for group in groups:
        for row in group.pages.values():
            for path, (digest, _) in row.files.items():
                yield path, digest
