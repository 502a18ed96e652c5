"""Eight processes at once, each with 25 notes, half of them into one batch: all there, once."""

from __future__ import annotations

from pathlib import Path

from tests.faults.crowd import crowded

ENTRIES, FEW = 25, 8


def test_notes_at_once(tmp_path: Path) -> None:
    crowded(tmp_path / "nb", ENTRIES, foreign=False)


def test_notes_beside_a_busy_git(tmp_path: Path) -> None:
    assert crowded(tmp_path / "nb", FEW, foreign=True).foreign
