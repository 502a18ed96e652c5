"""Photos against their files: each named one is there, and is the picture that was recorded."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.evidence.sightings import jars_by_name, plain_jar
from labbook.model.errors import Unreadable
from labbook.model.photos import Photo
from labbook.model.problems import Place, Problem, Severity
from labbook.notebook.readfile import ReadFile
from labbook.work.bench import Bench
from labbook.work.photos import FILE


def photo_problems(bench: Bench) -> Iterator[Problem]:
    """Pictures that are gone, changed, or of a jar, look or step that isn't there."""
    for batch_id, photos in bench.snapshot.photos.items():
        held = bench.snapshot.of_batch(batch_id, FILE)
        if held is None:
            continue
        for index, photo in enumerate(photos.photos):
            if photo.struck:
                continue
            yield from _file(bench, batch_id, photo, held, index)
            yield from _names(bench, batch_id, photo, held, index)
    for batch_id in bench.snapshot.batches:
        yield from _unnamed(bench, batch_id)


def _file(
    bench: Bench, batch_id: str, photo: Photo, held: ReadFile, index: int
) -> Iterator[Problem]:
    from labbook.notebook.photo import kept

    path = f"{held.path.removesuffix(FILE)}{photo.file}"
    place = held.place("photos", index, "file")
    try:
        found = kept(bench.root, path) is not None
    except Unreadable as error:
        what = f"Photo {photo.id}: {error.what}"
        mend = error.mend or f"Git has it: git log -- {path}"
        yield Problem(Severity.ERROR, "photo-changed", place, what, mend, about=batch_id)
        return
    if not found:
        yield Problem(
            Severity.ERROR,
            "photo-missing",
            place,
            f"Photo {photo.id}: there is no {photo.file} beside it.",
            f"Git has it: git restore -- {path}. Was it taken out on purpose, write struck: "
            '"why" into its entry.',
            about=batch_id,
        )


def _names(
    bench: Bench, batch_id: str, photo: Photo, held: ReadFile, index: int
) -> Iterator[Problem]:
    batch = bench.snapshot.batches.get(batch_id)
    if batch is None:
        return
    looks = bench.snapshot.stability.get(batch_id)
    jars = jars_by_name(batch, bench.snapshot.jars.get(batch_id))
    known: dict[str, tuple[str, set[str]]] = {
        "jar": (plain_jar(batch, photo.jar) if photo.jar else "", {*jars, "bulk"}),
        "look": (photo.look or "", {one.id for one in looks.looks} if looks else set()),
        "step": (photo.step or "", {one.id for one in batch.steps}),
    }
    for key, (name, names) in known.items():
        if name and name not in names:
            yield Problem(
                Severity.WARNING,
                "name-without-file",
                held.place("photos", index, key),
                f"{batch.short} has no {key} {name}.",
                f"It has: {', '.join(sorted(names)) or 'none'}.",
                about=batch_id,
            )


def _unnamed(bench: Bench, batch_id: str) -> Iterator[Problem]:
    """Pictures that lie in the folder and stand in no entry."""
    from labbook.notebook.photo import pictures_in

    photos = bench.snapshot.photos.get(batch_id)
    named = {photo.file for photo in photos.photos} if photos else set()
    folder = bench.batch_path(batch_id).rsplit("/", 1)[0]
    for file in pictures_in(bench.root, folder):
        if file not in named:
            yield Problem(
                Severity.NOTE,
                "photo-not-named",
                Place(f"{folder}/{file}"),
                "The picture lies beside the batch and stands in no entry.",
                f"Take it in: labbook note {batch_id} --photo {folder}/{file}",
                about=batch_id,
            )
