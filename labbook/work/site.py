"""`journal build`: writes the site, page by page, and takes away what is no longer public.

A page whose parts are what they were isn't written again (`labbook.journal.keys`); what stands in
the folder afterwards is what a build into an empty one would write.
"""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from functools import partial
from pathlib import Path

from labbook.journal import keys, state
from labbook.journal.errata import errata
from labbook.journal.pages import Writer
from labbook.journal.publish import PublicBatch
from labbook.journal.shelf import Shelf
from labbook.model.errors import NotAllowed
from labbook.model.results.telling import Built
from labbook.notebook.disposable import program_that_writes
from labbook.notebook.page_cache import PageCache
from labbook.notebook.site_folder import SiteFolder
from labbook.work.bench import Bench
from labbook.work.journal import chapters_of, state_of, templates
from labbook.work.memory import many_records
from labbook.work.public_photos import photos_of
from labbook.work.rendering import Plan
from labbook.work.site_run import Run
from labbook.work.trust import templates_for

SITE = "site"


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
    with many_records():
        return _built(bench, folder, since)


def _built(bench: Bench, folder: Path, since: state.Published | None) -> Built:
    place = SiteFolder(folder)
    held = state.read(place.read(state.FILE))
    _must_be_ours(place, held)
    before = held if since is None else since
    chapters = chapters_of(bench)
    shelf = chapters.shelf()
    figures = state.figures_on_shelf(shelf)
    told = errata(before.figures, before.errata, figures, partial(_made, shelf), bench.today)
    chosen = templates_for(bench, chapters.book, templates())
    writer = Writer(shelf, *chosen, told)
    base = keys.base_of(shelf.settings, chosen, program_that_writes(), errata=bool(told))
    with closing(PageCache(bench.root, folder)) as cache:
        run = Run(place, cache, held)
        plan = Plan(writer, base, told, chapters.book.reopen)
        for name, pages in plan.changed(run.groups, run.stands):
            run.write(name, pages)
        missing = run.photos(photos_of(bench, shelf))
        run.beside(writer.beside())
        now = state.Published(state.things_on(shelf), run.digests, figures, told)
        run.close(state.written(now))
    found = state_of(bench, chapters, shelf, run.broken, before)
    return Built(
        folder=str(folder),
        index=str(folder / "index.html"),
        pages=len(writer.paths),
        written=run.written,
        removed=run.removed,
        left=tuple(run.left),
        state=replace(found, problems=(*found.problems, *missing)),
    )


def _made(shelf: Shelf, part: str) -> PublicBatch | None:
    """The public batch of a part's name."""
    kind, _, id_ = part.partition(" ")
    code = shelf.code_of.get(id_) if kind == "batch" else None
    made = shelf.take({code}).batches if code is not None else ()
    return next((one for one in made if one.batch.id == id_), None)


def _must_be_ours(place: SiteFolder, held: state.Published) -> None:
    if place.empty or held.files or state.FILE in place.found:
        return
    raise NotAllowed(
        f"{place.root} holds things that no build of this journal wrote; they are left alone.",
        where=str(place.root),
        mend="Name an empty or a new folder: labbook journal build --output FOLDER",
    )
