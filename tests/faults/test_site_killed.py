"""`journal build` killed in the middle: the next one leaves what a build into nothing would."""

from __future__ import annotations

import random
import shutil
import signal
from datetime import UTC, datetime
from pathlib import Path

import pytest

from labbook.journal import state
from labbook.work.bench import Bench
from labbook.work.journal import mark
from labbook.work.note import note
from labbook.work.site import build, last_published
from tests.faults.running import cold
from tests.faults.test_kill import POSIX
from tests.notebook.repos import put
from tests.work.notebooks import Small, small_notebook

AT = datetime(2026, 3, 20, 12, tzinfo=UTC)


def bench(root: Path) -> Bench:
    return Bench(root, AT, random.Random(7))


@pytest.fixture(scope="module")
def public(tmp_path_factory: pytest.TempPathFactory) -> Small:
    """A public notebook, whose clock stands still as the dates on its pages do."""
    small = small_notebook(tmp_path_factory.mktemp("public") / "nb")
    head = (small.root / "labbook.yaml").read_text(encoding="utf-8")
    put(small.root, "labbook.yaml", f"{head}today: {AT:%Y-%m-%d}\n")
    for code in ("HC", "LO"):
        mark(bench(small.root), code, public=True, with_batches=True)
    return small


def built(root: Path, folder: Path, since: Path | None = None) -> dict[str, bytes]:
    """What a build leaves in a folder."""
    build(bench(root), folder, None if since is None else last_published(since))
    return held(folder)


def held(folder: Path) -> dict[str, bytes]:
    """The files of a folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def changed(public: Small, folder: Path) -> Path:
    """The notebook with its site, and then something new, something changed, something gone."""
    root = Path(shutil.copytree(public.root, folder / "nb"))
    built(root, root / "site")
    note(bench(root), public.open, ["smells of wax"])
    mark(bench(root), "LO", public=False)
    return root


def killed(root: Path, log: Path, page: int) -> None:
    """A build that is killed as so many pages take their places."""
    options = ("-e", "trace=rename", "-e", f"inject=rename:signal=SIGKILL:when={page}")
    ran = cold(root, ["journal", "build"], log, options)
    assert ran.returncode in (-signal.SIGKILL, 128 + signal.SIGKILL), ran


@POSIX
@pytest.mark.needs_tool("strace")
@pytest.mark.parametrize(("first", "page"), [(True, 12), (False, 4)])
def test_the_build_after_a_killed_one_is_whole(
    public: Small, tmp_path: Path, first: bool, page: int
) -> None:
    root = shutil.copytree(public.root, tmp_path / "nb") if first else changed(public, tmp_path)
    since = None
    if not first:
        since = tmp_path / state.FILE
        shutil.copy(root / "site" / state.FILE, since)
    killed(root, tmp_path / "killed", page)
    whole = built(root, tmp_path / "whole", since)
    assert held(root / "site") != whole  # it was cut off before its end
    assert built(root, root / "site", since) == whole
