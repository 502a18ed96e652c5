"""`edit`: the maker's own editor on a file of the notebook, journal entries too."""

import os
import stat
from pathlib import Path

import pytest

from tests.e2e.bench import Hand
from tests.notebook.repos import git_says, put

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the editor here is a shell script")


@pytest.fixture
def editor(tmp_path: Path) -> dict[str, str | None]:
    """An editor that adds a line to the file that it is given."""
    script = tmp_path / "editor.sh"
    script.write_text('#!/bin/sh\nprintf \'%s\\n\' "$LINE" >> "$1"\n', encoding="utf-8")
    script.chmod(script.stat().st_mode | stat.S_IXUSR)
    return {"EDITOR": str(script), "VISUAL": None, "LINE": "# typed in the editor"}


@pytest.fixture
def entry(hand: Hand) -> Path:
    hand.does("journal", "new", "A pool under the cream")
    return next((hand.root / "journal").glob("*-a-pool-under-the-cream.md"))


def test_a_formula_a_batch_a_sheet(hand: Hand, editor: dict[str, str | None]) -> None:
    for name in ("HC", "hc", hand.small.first, "beeswax", "beeswax-0815", "home"):
        assert "reads well" in hand.does("edit", name, env=editor)
    assert "formulas/HC.yaml" in git_says(hand.root, "status", "--porcelain")


def test_an_entry_by_its_name_its_path_or_a_part(
    hand: Hand, editor: dict[str, str | None], entry: Path
) -> None:
    path = entry.relative_to(hand.root).as_posix()
    for count, name in enumerate((entry.stem, path, entry.name, "pool-under"), 1):
        assert hand.says("edit", name, env=editor) == f"{path}: reads well\n"
        assert entry.read_text(encoding="utf-8").count("# typed in the editor") == count


def test_a_head_that_cant_be_read_is_told(hand: Hand, editor: dict[str, str | None]) -> None:
    put(hand.root, "journal/2026-03-04-slip.md", "---\ntitle: Slip\ndate: 4.3.2026\n---\n")
    out = hand.does("edit", "slip", env=editor)
    assert "'4.3.2026' is no day" in out
    assert "reads well" not in out


def test_a_name_of_several_entries_is_asked_about(
    hand: Hand, editor: dict[str, str | None], entry: Path
) -> None:
    put(hand.root, "journal/2026-03-04-another-pool.md", "Words.\n")
    said = hand.does("edit", "pool", env=editor, code=2)
    assert "in the name of 2 entries" in " ".join(said.split())


def test_a_name_of_nothing(hand: Hand, editor: dict[str, str | None]) -> None:
    assert "There is no file of nothing." in hand.does("edit", "nothing", env=editor, code=2)


def test_nothing_outside_the_notebook_is_opened(
    hand: Hand, editor: dict[str, str | None], tmp_path: Path
) -> None:
    outside = tmp_path / "secret.md"
    outside.write_text("Mine.\n", encoding="utf-8")
    for name in (str(outside), "../secret.md", "journal/../../secret.md"):
        assert "There is no file of" in " ".join(
            hand.does("edit", name, env=editor, code=2).split()
        )
    assert outside.read_text(encoding="utf-8") == "Mine.\n"
