"""`init` that was cut off: typed once more it ends what it began, whole and committed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from labbook.model.errors import GitRefused
from labbook.notebook import desk
from labbook.notebook.record import leftovers
from labbook.work.init import start
from tests.notebook.repos import git_says, subjects


def before_any_file(self: desk.Desk, intent: Any, *_: Any) -> None:
    self.store.save(intent)
    raise KeyboardInterrupt


def before_the_commit(*_: Any) -> None:
    raise KeyboardInterrupt


@pytest.mark.parametrize(
    ("method", "cut"), [("write", before_any_file), ("commit", before_the_commit)]
)
def test_a_start_that_was_cut_off_is_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, method: str, cut: Callable[..., None]
) -> None:
    with monkeypatch.context() as patch, pytest.raises(KeyboardInterrupt):
        patch.setattr(desk.Desk, method, cut)
        start(tmp_path / "nb", title="Studio")
    assert leftovers(tmp_path / "nb")
    start(tmp_path / "nb")
    assert subjects(tmp_path / "nb") == ["Start the notebook Studio"]
    assert git_says(tmp_path / "nb", "status", "--porcelain") == ""
    assert leftovers(tmp_path / "nb") == []


def test_a_git_that_was_cut_off_as_it_began_is_told_how_to_mend(tmp_path: Path) -> None:
    (tmp_path / "nb/.git").mkdir(parents=True)
    (tmp_path / "nb/.git/config.lock").touch()
    with pytest.raises(GitRefused) as caught:
        start(tmp_path / "nb")
    assert "delete the folder .git" in caught.value.mend
