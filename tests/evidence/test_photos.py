"""The photos of a batch, listed: by their days, without struck ones, with the jar's name."""

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest

from labbook.evidence.photos import pictures_of
from labbook.model.photos import Photo, Photos, photo_file

FILE = "2026-04-16-0123456789abcdef.jpg"
FOLDER = "batches/2026/SBC-260409-7K"


def photo(id_: str, day: int, **keys: Any) -> Photo:
    time = datetime(2026, 4, day, 9, tzinfo=UTC)
    return replace(Photo(id=id_, file=FILE, original="0" * 64, time=time), **keys)


def test_by_their_days_and_without_struck_ones() -> None:
    photos = Photos(
        batch="SBC-260409-7K",
        photos=(
            photo("p1", 16, jar="1", look="o3", caption="the rim"),
            photo("p2", 9, step="s2", private=True),
            photo("p3", 10, struck="the other jar"),
            photo("p4", 12, jar="7K.2", time=date(2026, 4, 12)),
        ),
    )
    found = pictures_of(photos, FOLDER)
    assert [(one.id, one.jar, one.look, one.step) for one in found] == [
        ("p2", "", "", "s2"),
        ("p4", "7K.2", "", ""),
        ("p1", "7K.1", "o3", ""),
    ]
    assert [one.private for one in found] == [True, False, False]
    assert found[-1].caption == "the rim"
    assert found[-1].day == date(2026, 4, 16)
    assert found[-1].path == f"{FOLDER}/{FILE}"


def test_a_batch_without_photos_has_none() -> None:
    assert pictures_of(None, FOLDER) == ()


@pytest.mark.parametrize(
    "name",
    ["../../../labbook.yaml", "/etc/passwd", "a/2026-04-16-0123456789abcdef.jpg", "IMG_2034.JPG",
     "2026-04-16-0123456789abcdef.jpg\n", "2026-04-16-0123456789ABCDEF.jpg", ""],
)  # fmt: skip
def test_a_name_that_could_lead_elsewhere_is_none(name: str) -> None:
    with pytest.raises(ValueError, match="no photo's name"):
        photo_file(name)
