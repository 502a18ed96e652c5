"""`sync` killed, and its git killed or out of disk: the next command works, and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from labbook.model.errors import GitRefused
from labbook.work.bench import Bench
from labbook.work.syncing import sync
from tests.faults.commands import COMMANDS, another_entry
from tests.faults.injecting import copied, points, prepared, suffer, template, with_fault
from tests.faults.test_kill import POSIX
from tests.faults.tracing import Fault, Point
from tests.notebook.repos import git_says, put, run_git
from tests.work.notebooks import PATH, Small

POINTS: dict[str, tuple[Fault, Callable[[Point], bool]]] = {
    "labbook, as the merge begins": (
        "SIGKILL", lambda p: p.git is None and p.call == "write" and p.path.endswith(".log"),
    ),
    "git, writing a file": (
        "SIGKILL", lambda p: p.git is not None and p.call == "write" and "batch.yaml" in p.path,
    ),
    "git, before the index": (
        "SIGKILL", lambda p: p.call == "rename" and p.path == ".git/index.lock",
    ),
    "git, after the index": (
        "SIGKILL", lambda p: p.call == "write" and p.path == ".git/MERGE_HEAD",
    ),
    "git, no room to begin": (
        "ENOSPC", lambda p: p.call == "openat" and p.path == ".git/index.lock" and p.number < 100,
    ),
}  # fmt: skip
"""Where a fault comes: the last such call that git or labbook makes."""


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Small:
    made = template(tmp_path_factory.mktemp("made") / "box")
    return prepared(made, "sync", tmp_path_factory.mktemp("at") / "box")


@pytest.fixture(scope="module")
def known(begun: Small, tmp_path_factory: pytest.TempPathFactory) -> list[Point]:
    return points(begun, "sync", tmp_path_factory.mktemp("points"))


@POSIX
@pytest.mark.needs_tool("strace")
@pytest.mark.parametrize("name", POINTS)
def test_an_exchange_cut_off_loses_nothing(
    begun: Small, known: list[Point], tmp_path: Path, name: str
) -> None:
    fault, chosen = POINTS[name]
    point = [p for p in known if p.fault == fault and chosen(p)][-1]
    assert suffer(begun, point, tmp_path).met


@POSIX
@pytest.mark.needs_tool("strace")
def test_an_entry_right_after_a_killed_exchange_is_recorded(
    begun: Small, known: list[Point], tmp_path: Path
) -> None:
    """The merge that was begun is ended, or taken back, before anything is written."""
    found = [p for p in known if p.fault == "SIGKILL" and p.path == ".git/index.lock"]
    point = [p for p in found if p.call == "rename"][-1]
    small = copied(begun, tmp_path / "box")
    with_fault(small, point, tmp_path, and_labbook=True)
    another_entry(small)
    assert "lots/the-next-command.yaml" in git_says(small.root, "ls-tree", "-r", "HEAD")
    assert git_says(small.root, "status", "--porcelain") in ("", f" M {PATH}")
    sync(Bench(small.root))
    assert all(COMMANDS["sync"].kept(small))


def test_a_merge_that_only_lacks_its_index_is_not_committed(begun: Small, tmp_path: Path) -> None:
    """Such a commit would say that all of the other side is in, and hold none of it."""
    small = copied(begun, tmp_path / "box")
    run_git(small.root, "fetch", "-q", "origin", "+refs/heads/*:refs/remotes/origin/*")
    put(small.root, ".git/MERGE_HEAD", git_says(small.root, "rev-parse", "origin/main") + "\n")
    sync(Bench(small.root))
    assert all(COMMANDS["sync"].kept(small))


def test_what_a_person_had_in_the_way_of_a_merge_stays(begun: Small, tmp_path: Path) -> None:
    """Staged or not: git refuses before it touches it, and nothing is taken back."""
    small = copied(begun, tmp_path / "box")
    path = small.path(small.open)
    text = (small.root / path).read_text(encoding="utf-8") + "# by hand\n"
    put(small.root, path, text)
    for words in ((), ("add", path)):
        if words:
            run_git(small.root, *words)
        with pytest.raises(GitRefused):
            sync(Bench(small.root))
        assert (small.root / path).read_text(encoding="utf-8") == text
