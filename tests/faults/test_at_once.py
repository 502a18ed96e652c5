"""Eight processes at once, each with 25 notes, half of them into one batch: all there, once."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.crowd import crowded

ENTRIES = 25


@pytest.mark.parametrize("foreign", [False, True], ids=["alone", "beside a busy git"])
def test_notes_at_once(tmp_path: Path, foreign: bool) -> None:
    found = crowded(tmp_path / "nb", ENTRIES, foreign=foreign)
    assert bool(found.foreign) == foreign
