"""A notebook that may only be read: all of it is shown, and what would write ends in a sentence."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.e2e.bench import Hand

READING = (("show", "HC"), ("check",), ("due",), ("batch", "list"))
WRITING = (("note", "pH 5.0"), ("journal", "build"), ("init",))
HELD_BACK = ["setpriv", "--bounding-set=-dac_override,-dac_read_search"]
"""Root as any other owner of a file: without the right to pass over rights."""

pytestmark = [
    pytest.mark.skipif(not hasattr(os, "geteuid"), reason="rights of files are of Unix"),
    pytest.mark.needs_tool("setpriv"),
]


@pytest.fixture
def locked(hand: Hand) -> Iterator[Hand]:
    hand.does("check")
    shutil.rmtree(hand.root / ".labbook", ignore_errors=True)
    places = [hand.root, *(path for path in hand.root.rglob("*") if not path.is_symlink())]
    for path in places:
        path.chmod(path.stat().st_mode & ~0o222)
    yield hand
    for path in places:
        path.chmod(path.stat().st_mode | 0o200)


def ended(root: Path, *words: str) -> subprocess.CompletedProcess[str]:
    before = HELD_BACK if os.geteuid() == 0 else []
    return subprocess.run(
        [*before, sys.executable, *words],
        cwd=root, stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip


def test_a_notebook_that_may_only_be_read(locked: Hand) -> None:
    assert "PermissionError" in ended(locked.root, "-c", "open('x', 'w')").stderr  # they hold here
    for words in READING:
        ran = ended(locked.root, "-m", "labbook", *words)
        assert ran.returncode == 0 and ran.stdout, (words, ran)
    for words in WRITING:
        ran = ended(locked.root, "-m", "labbook", *words)
        assert ran.returncode == 3, (words, ran)
        assert "stopped" in ran.stderr and "rights" in ran.stderr, (words, ran)
        assert str(locked.root) in ran.stderr.replace("\n            ", ""), (words, ran)
