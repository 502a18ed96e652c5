"""Photos as rows: of each jar over its days, then of the batch; pictures that are public alone."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.journal.markdown import Md, md
from labbook.journal.names import photo_path
from labbook.journal.publish import PublicBatch
from labbook.journal.views import View
from labbook.model.moments import day_of, in_order
from labbook.model.photos import Photo
from labbook.model.results.looking import jar_name


def rows_of(made: PublicBatch, up: str, jar: str = "") -> list[View]:
    """A batch's photos by what they show, each row in the order of time.

    Args:
        made: the batch.
        up: the way from the page to the top of the site.
        jar: only those of this jar, like `1`; empty for all.
    """
    rows: dict[str, list[Photo]] = {}
    for photo in sorted(made.photos, key=lambda one: (one.jar is None, one.jar or "")):
        if not jar or photo.jar == jar:
            rows.setdefault(photo.jar or "", []).append(photo)
    return [
        {
            "of": jar_name(made.batch.short, name) if name else "the batch",
            "row": Md("\n".join(_images(made, sorted(found, key=_time), up))),
        }
        for name, found in rows.items()
    ]


def _time(photo: Photo) -> tuple[object, str]:
    return in_order(photo.time), photo.id


def _images(made: PublicBatch, photos: list[Photo], up: str) -> Iterator[str]:
    """Markdown images; what is shown is the text alternative, caption and day the title."""
    for photo in photos:
        of = jar_name(made.batch.short, photo.jar) if photo.jar else made.batch.short
        when = _when(made, photo)
        told = f"{when}: {photo.caption}" if photo.caption else when
        # The Markdown stands a folder below the site, the pictures beside the pages.
        source = f"{up}../{photo_path(photo.file)}"
        yield f'![Photo of {md(of)}, {md(when)}]({source} "{_title(told)}")'


def _title(text: str) -> str:
    return md(text).replace('"', "&quot;")


def _when(made: PublicBatch, photo: Photo) -> str:
    """The day since the jar was filled; of the making the step, where one is named."""
    if photo.jar:
        jars = made.jars.jars if made.jars else ()
        filled = next((one.filled for one in jars if one.jar == photo.jar and one.filled), None)
        age = (day_of(photo.time) - day_of(filled or made.batch.made)).days
        return f"day {age}"
    for number, step in enumerate(made.batch.steps, start=1):
        if step.id == photo.step and step.plan is not None:
            return f"step {number}, {step.plan.do}"
    age = (day_of(photo.time) - day_of(made.batch.made)).days
    return f"day {age}" if age else "the day it was made"
