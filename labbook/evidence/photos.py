"""The photos of a batch, in the order of their days, with what each one shows."""

from __future__ import annotations

from labbook.model.moments import day_of, in_order
from labbook.model.photos import Photo, Photos
from labbook.model.results.looking import jar_name
from labbook.model.results.photos import Picture

__all__ = ["Picture", "pictures_of"]


def pictures_of(photos: Photos | None, folder: str) -> tuple[Picture, ...]:
    """The photos that count, the oldest first; struck ones are left out.

    Args:
        photos: what the batch's file of photos holds; None where it has none.
        folder: the batch's folder from the notebook's root.
    """
    if photos is None:
        return ()
    short = photos.batch.rsplit("-", 1)[-1]
    counted = [photo for photo in photos.photos if not photo.struck]
    counted.sort(key=lambda photo: in_order(photo.time))
    return tuple(_picture(photo, short, folder) for photo in counted)


def _picture(photo: Photo, short: str, folder: str) -> Picture:
    return Picture(
        id=photo.id,
        path=f"{folder}/{photo.file}",
        file=photo.file,
        day=day_of(photo.time),
        jar=jar_name(short, photo.jar) if photo.jar else "",
        look=photo.look or "",
        step=photo.step or "",
        caption=photo.caption or "",
        private=photo.private is True,
    )
