"""`journal build`: writes the site, page by page, and takes away what is no longer public.

A page whose parts are what they were isn't written again (`labbook.journal.keys`); what stands in
the folder afterwards is what a build into an empty one would write.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from labbook.journal import keys, state
from labbook.journal.blocks import BrokenBlock
from labbook.journal.names import entry_path
from labbook.journal.page import Found
from labbook.journal.pages import Writer
from labbook.journal.publish import PublicJournal, published
from labbook.model.errors import LabbookError, NotAllowed
from labbook.model.problems import Problem
from labbook.model.results.telling import Built
from labbook.notebook.page_cache import PageCache, Row, program_that_writes
from labbook.notebook.site_folder import SiteFolder
from labbook.work.bench import Bench
from labbook.work.check_journal import Broken
from labbook.work.journal import book_of, state_of, templates
from labbook.work.public_photos import PhotoFile, not_published, photos_of
from labbook.work.rendering import made
from labbook.work.trust import templates_for

SITE = "site"
_OWN = re.compile(r"(?:[A-Za-z0-9_-]+/)*[A-Za-z0-9_-]+\.(?:html|md|css|svg|js|jpg|xml)", re.ASCII)
"""What a build may take away, whatever a record of the last one says."""

_AT_ONCE = 200
"""Pages that are held in memory before they are written."""


def folder_of(bench: Bench, typed: str, here: Path | None = None) -> Path:
    """The folder of the site: what was named, else `site` in the notebook."""
    return ((here or bench.root) / typed).absolute() if typed else bench.root.absolute() / SITE


def state_in(folder: Path) -> state.Published:
    """What was published last into a folder."""
    path = folder / state.FILE
    return state.read(path.read_bytes() if path.is_file() and not path.is_symlink() else None)


def last_published(file: Path) -> state.Published:
    """The state that a file keeps, of a publication elsewhere.

    Raises:
        NotAllowed: it can't be read, or is no such file.
    """
    try:
        found = state.read(file.read_bytes())
    except OSError as error:
        raise NotAllowed(f"{file} can't be read: {error.strerror}.", where=str(file)) from error
    if found == state.Published():
        raise NotAllowed(
            f"{file} says nothing about an earlier journal.",
            where=str(file),
            mend=f"Name the {state.FILE} that a build wrote beside its pages.",
        )
    return found


def build(bench: Bench, folder: Path, since: state.Published | None = None) -> Built:
    """Writes the Markdown and the pages; the folder may hold nothing but an earlier site.

    A file that an earlier build wrote and this one doesn't is taken away: what was made private is
    not left lying about.

    Args:
        bench: the notebook.
        folder: where the site stands.
        since: what was published last; what the folder holds, if left out.

    Raises:
        NotAllowed: the folder holds other things.
    """
    place = SiteFolder(folder)
    held = state.read(place.read(state.FILE))
    _must_be_ours(place, held)
    before = held if since is None else since
    book = book_of(bench)
    journal = published(book)
    told = before.since(journal, bench.today)
    chosen = templates_for(bench, journal, templates())
    writer = Writer(journal, *chosen, told)
    with closing(PageCache(bench.root, folder)) as cache:
        run = _Run(place, cache, held)
        parts = keys.parts_of(journal)
        every = keys.everything(journal, parts, (one.path for one in writer.plan), told)
        program = program_that_writes()
        base = keys.base_of(journal, chosen, program, errata=bool(told))
        run.pages(writer, {one.path: keys.key_of(one, parts, every, base) for one in writer.plan})
        missing = run.photos(photos_of(bench, journal))
        run.beside(writer)
        now = state.published_state(journal, told, run.digests)
        run.close(state.written(now))
    found = state_of(bench, book, journal, run.broken(journal), before)
    return Built(
        folder=str(folder),
        index=str(folder / "index.html"),
        pages=len(writer.plan),
        written=run.written,
        removed=run.removed,
        left=tuple(run.left),
        state=replace(found, problems=(*found.problems, *missing)),
    )


def _must_be_ours(place: SiteFolder, held: state.Published) -> None:
    if place.empty or held.files or state.FILE in place.found:
        return
    raise NotAllowed(
        f"{place.root} holds things that no build of this journal wrote; they are left alone.",
        where=str(place.root),
        mend="Name an empty or a new folder: labbook journal build --output FOLDER",
    )


class _Run:
    """One build: what it kept, wrote and took away."""

    def __init__(self, place: SiteFolder, cache: PageCache, held: state.Published) -> None:
        self.written = self.removed = 0
        self.left: list[str] = []
        self.digests: dict[str, str] = {}
        self._place = place
        self._cache = cache
        self._own = cache.own()
        for path, digest in held.files.items():
            self._own.setdefault(path, set()).add(digest)
        self._rows = cache.rows()
        self._named: list[str] = []
        if state.FILE not in place.found:  # from now on the folder is known as ours
            place.root.mkdir(parents=True, exist_ok=True)
            place.put(state.FILE, state.written(state.Published()))

    # Pages ----------------------------------------------------------------------------------------

    def pages(self, writer: Writer, key_of: Mapping[str, str]) -> None:
        """Writes the pages that are not what they were."""
        wanted = []
        for planned in writer.plan:
            self._named.append(planned.path)
            row = self._rows.get(planned.path)
            if row and row.key == key_of[planned.path] and self._stands(row):
                self.digests |= {path: digest for path, (digest, _) in row.files.items()}
            else:
                wanted.append((planned, key_of[planned.path]))
        new: list[tuple[str, Row, dict[str, bytes]]] = []
        for (planned, _), (files, row) in zip(wanted, made(writer, wanted), strict=True):
            new.append((planned.path, row, files))
            if len(new) >= _AT_ONCE:
                self._write(new)
                new = []
        self._write(new)

    def _stands(self, row: Row) -> bool:
        """Whether the folder holds the files as they were written."""
        return all(self._place.found.get(path) == at for path, (_, at) in row.files.items())

    def _write(self, new: list[tuple[str, Row, dict[str, bytes]]]) -> None:
        digests = [
            {path: state.file_digest(raw) for path, raw in files.items()} for _, _, files in new
        ]
        self._cache.intend((path, digest) for some in digests for path, digest in some.items())
        rows = {}
        for (name, row, files), some in zip(new, digests, strict=True):
            for path, raw in files.items():
                self._put(path, raw)
            self.digests |= some
            at = self._place.found
            rows[name] = replace(row, files={p: (some[p], at[p]) for p in files})
        self._rows |= rows
        self._cache.keep(rows)

    def _put(self, path: str, raw: bytes) -> None:
        if path in self._place.found and path not in self._own and self._place.read(path) != raw:
            raise NotAllowed(
                f"{path} was there already, and no build of this journal wrote it.",
                where=str(self._place.root / path),
                mend="Take it out, or name another folder: labbook journal build --output FOLDER",
            )
        self.written += self._place.put(path, raw)

    # What isn't a page ----------------------------------------------------------------------------

    def photos(self, photos: Iterable[PhotoFile]) -> list[Problem]:
        """Copies pictures; one that didn't change isn't read again. Returns those left out."""
        left_out = []
        for photo in photos:
            name = f"photo {photo.file}"
            row = self._rows.get(name)
            if row and row.key == photo.key and self._stands(row):
                self.digests |= {path: digest for path, (digest, _) in row.files.items()}
            else:
                try:
                    files = photo.copies()
                except LabbookError as error:
                    left_out.append(not_published(photo, error))
                    continue
                self._write([(name, Row(photo.key, {}, None, []), files)])
            self._named.append(name)
        return left_out

    def beside(self, writer: Writer) -> None:
        """Writes what stands beside the pages."""
        files = writer.beside(self._found(writer))
        digests = {path: state.file_digest(raw) for path, raw in files.items()}
        self._cache.intend(digests.items())
        for path, raw in files.items():
            self._put(path, raw)
        self.digests |= digests

    def _found(self, writer: Writer) -> Iterator[Found]:
        for planned in writer.plan:
            told = self._rows[planned.path].found
            if told is not None:
                yield Found(*told)

    def broken(self, journal: PublicJournal) -> Broken:
        """The blocks of entries that can't be shown."""
        return tuple(
            (entry, BrokenBlock(*one))
            for entry in journal.entries
            for one in self._rows[entry_path(entry.name)].broken
        )

    def close(self, raw: bytes) -> None:
        """Takes away what is no longer part of the site, and keeps what it is made of."""
        for path in sorted(self._own.keys() - self.digests.keys()):
            old = self._place.read(path)
            if old is None or not _OWN.fullmatch(path):
                continue
            if state.file_digest(old) in self._own[path]:
                self._place.take(path)
                self.removed += 1
            else:
                self.left.append(path)
        self._place.put(state.FILE, raw)
        self._cache.settle(self._named, self.digests)
