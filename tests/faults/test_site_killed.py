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
from tests.faults.tracing import calls
from tests.notebook.repos import put
from tests.work.notebooks import Small, small_notebook

AT = datetime(2026, 3, 20, 12, tzinfo=UTC)
SEEING = ("-e", "trace=openat,write,rename,unlink,mkdir")
CHANGES = ("openat", "write", "rename", "unlink", "mkdir")


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


def kill(log: Path, part: float) -> tuple[str, int]:
    """The call of a build that changes its site so far into it."""
    found = [
        (call, number) for call, number, rest in calls(log)
        if call in CHANGES and "/site/" in rest and (call != "openat" or "O_CREAT" in rest)
    ]  # fmt: skip
    return found[round(part * (len(found) - 1))]


def killed(root: Path, log: Path, call: str, number: int) -> None:
    options = ("-e", f"trace={call}", "-e", f"inject={call}:signal=SIGKILL:when={number}")
    ran = cold(root, ["journal", "build"], log, options)
    assert ran.returncode in (-signal.SIGKILL, 128 + signal.SIGKILL), ran


@POSIX
@pytest.mark.needs_tool("strace")
@pytest.mark.parametrize(("first", "parts"), [(True, (0.6,)), (False, (0.4, 1.0))])
def test_the_build_after_a_killed_one_is_whole(
    public: Small, tmp_path: Path, first: bool, parts: tuple[float, ...]
) -> None:
    root = shutil.copytree(public.root, tmp_path / "nb") if first else changed(public, tmp_path)
    since = None
    if not first:
        since = tmp_path / state.FILE
        shutil.copy(root / "site" / state.FILE, since)
    whole = built(root, tmp_path / "whole", since)
    shutil.copytree(root, tmp_path / "seen")
    ran = cold(tmp_path / "seen", ["journal", "build"], tmp_path / "log", SEEING)
    assert ran.returncode == 0, ran
    for part in parts:
        call, number = kill(tmp_path / "log", part)
        own = Path(shutil.copytree(root, tmp_path / f"nb{part}"))
        killed(own, tmp_path / "killed", call, number)
        assert built(own, own / "site", since) == whole, (call, number)
