"""The pictures that a journal publishes: the recorded ones alone, as they were taken in."""

from __future__ import annotations

from pathlib import Path

from labbook.journal.names import photo_path
from labbook.journal.publish import PublicJournal
from labbook.model.errors import LabbookError
from labbook.model.problems import Place, Problem, Severity
from labbook.work.bench import Bench


def photos_of(bench: Bench, journal: PublicJournal) -> tuple[dict[str, Path], list[Problem]]:
    """Pictures by their path in the site, and those that can't be published.

    A picture whose bytes are not those that were recorded stays inside: nobody took out of it what
    a camera writes, such as the place.
    """
    from labbook.notebook.photo import kept

    found: dict[str, Path] = {}
    problems = []
    for made in journal.batches:
        for photo in made.photos:
            path = bench.batch_path(made.batch.id, photo.file)
            try:
                there = kept(bench.root, path) is not None
                what, mend = f"{path} is not there, so the journal shows no picture.", ""
            except LabbookError as error:
                there, what, mend = False, error.what, error.mend
            if there:
                found[photo_path(photo.file)] = bench.root / path
            else:
                problems.append(
                    Problem(Severity.WARNING, "photo-not-published", Place(path), what, mend)
                )
    return found, problems
