"""Photos: a picture taken into a batch's folder, with what it shows, by the one way of writing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from labbook.evidence.photos import Picture, pictures_of
from labbook.model.batch import Batch
from labbook.model.errors import Unclear
from labbook.model.ids import matching_batches, next_entry_id
from labbook.model.moments import Moment, day_of
from labbook.model.photos import Photo
from labbook.model.results.making import Noted
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.look import jar_of
from labbook.work.note import guard_kept

if TYPE_CHECKING:
    from labbook.notebook.photo import Taken
    from labbook.notebook.record import Plan

FILE = "photos.yaml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shows:
    """What a picture shows; `time` is when that was so, not when it was taken in."""

    time: Moment
    caption: str = ""
    jar: str = ""
    look: str = ""
    step: str = ""
    private: bool = False

    def same(self, photo: Photo) -> bool:
        """Whether a photo of the batch says it shows the same."""
        return (photo.jar or "", photo.look or "", photo.step or "") == (
            self.jar, self.look, self.step
        )  # fmt: skip


def taken(files: Sequence[Path]) -> tuple[Taken, ...]:
    """The pictures, drawn anew; done before anything is locked, since large ones take a second.

    Raises:
        NotAllowed: one of them can't be taken in; then none is.
    """
    from labbook.notebook.photo import take

    return tuple(take(file) for file in files)


def note_photos(
    bench: Bench,
    typed: str | None,
    files: Sequence[Path],
    *,
    caption: str = "",
    step: str = "",
    private: bool = False,
) -> Noted:
    """Takes pictures into a batch, open or closed, and says what they are called there.

    Args:
        bench: the notebook.
        typed: the batch, or a jar of it; None takes the only open batch.
        files: the pictures, anywhere.
        caption: what they show.
        step: the step of the method that they belong to.
        private: they are never published.

    Raises:
        NotAllowed: one can't be taken in, or the batch was dropped; nothing is written.
        Unclear, UnknownName: no such batch, jar or step.
    """
    chosen, jar = _subject(bench, typed)
    _guard(chosen, step)
    pictures = taken(files)

    def plan() -> Plan:
        fresh = bench.afresh()
        batch = fresh.snapshot.batches[chosen.id]
        _guard(batch, step)
        draft = Draft(bench.root)
        shows = Shows(time=bench.now, caption=caption, jar=jar, step=step, private=private)
        said, remarks = put_photos(fresh, draft, batch, pictures, shows)
        result = Noted(id=batch.id, short=batch.short, what=said, remarks=remarks)
        count = "photo" if len(said) == 1 else f"{len(said)} photos"
        told = f": {caption}" if caption else ""
        return draft.plan(f"{batch.short}: {count}{told}", result)

    result: Noted = bench.record(plan, command="note --photo").result
    return result


def _subject(bench: Bench, typed: str | None) -> tuple[Batch, str]:
    """The batch, and the jar as its file names it, where one was named."""
    if typed and not matching_batches(typed, bench.snapshot.batches) and "." in typed:
        named = jar_of(bench, typed)
        return named.batch, named.as_written
    return bench.the_open_batch(typed), ""


def _guard(batch: Batch, step: str) -> None:
    guard_kept(batch)
    if step and step not in {one.id for one in batch.steps}:
        have = ", ".join(one.id for one in batch.steps) or "none"
        raise Unclear(f"{batch.short} has no step {step}.", mend=f"Its steps: {have}")


def put_photos(
    bench: Bench, draft: Draft, batch: Batch, pictures: Sequence[Taken], shows: Shows
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Adds pictures and their entries to a draft; called with the lock held.

    A picture that the batch has of the same thing is not taken in twice; one that it has of
    another thing gets a further entry with the same file.

    Returns:
        What was taken in, and what has to be said beside it.
    """
    held = bench.snapshot.photos.get(batch.id)
    known = list(held.photos) if held else []
    used = [photo.id for photo in known]
    said, remarks = [], []
    listed = bench.batch_path(batch.id, FILE)
    for picture in pictures:
        again = [p for p in known if p.original == picture.original and not p.struck]
        if twin := next((p for p in again if shows.same(p)), None):
            remarks.append(f"That picture is in {batch.short} already, as {twin.id} ({twin.file}).")
            continue
        file = again[0].file if again else picture.name(day_of(shows.time))
        path = bench.batch_path(batch.id, file)
        if not draft.exists(path):
            draft.put_bytes(path, picture.data)
        id_ = next_entry_id("p", used)
        used.append(id_)
        entry = _entry(id_, file, picture.original, shows)
        draft.begin(listed, batch.id, "photos")
        draft.append(listed, "photos", entry)
        known.append(Photo(**entry))
        said.append(_told(id_, file, shows))
    return tuple(said), tuple(remarks)


def photos_of(bench: Bench, batch: Batch) -> tuple[Picture, ...]:
    """The photos of a batch that count, the oldest first."""
    folder = bench.batch_path(batch.id).rsplit("/", 1)[0]
    return pictures_of(bench.snapshot.photos.get(batch.id), folder)


def _entry(id_: str, file: str, original: str, shows: Shows) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "id": id_,
        "file": file,
        "original": original,
        "caption": shows.caption or None,
        "jar": shows.jar or None,
        "look": shows.look or None,
        "step": shows.step or None,
        "time": shows.time,
        "private": True if shows.private else None,
    }
    return {key: value for key, value in entry.items() if value is not None}


def _told(id_: str, file: str, shows: Shows) -> str:
    told = f"photo {id_}: {file}"
    return f"{told}, {shows.caption}" if shows.caption else told
