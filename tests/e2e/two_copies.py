"""Two people with a copy each of one notebook, and the place through which they exchange."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from tests.conftest import Ran
from tests.e2e.bench import through_the_door
from tests.notebook.repos import put, run_git
from tests.work.harm import swap
from tests.work.notebooks import PATH


@dataclass(frozen=True)
class Copy:
    """One person's copy."""

    root: Path

    def types(self, *words: str | Path, code: int = 0) -> str:
        """Types a command that has to end so; all that it printed, on one line."""
        ran = self.ran(*words)
        assert "Traceback" not in ran.err, ran.err
        assert ran.code == code, ran
        return " ".join((ran.out + ran.err).split())

    def ran(self, *words: str | Path) -> Ran:
        """Types a command."""
        return through_the_door(*words, cwd=self.root)

    def text(self, path: str = PATH) -> str:
        """A file."""
        return (self.root / path).read_text(encoding="utf-8")

    def edits(self, old: str, new: str, path: str = PATH) -> None:
        """Changes a file as an editor would."""
        put(self.root, path, swap(old, new)(self.text(path)))

    def mends(self, path: str = PATH) -> None:
        """Puts a conflict right: keeps what stands there."""
        text = self.text(path)
        put(self.root, path, text[: text.index("# Two machines changed")])


def two_copies(root: Path, folder: Path) -> tuple[Copy, Copy, Path]:
    """Two copies of a notebook, and the bare repository between them."""
    store = folder / "store.git"
    run_git(folder, "init", "-q", "--bare", "-b", "main", str(store))
    shutil.copytree(root, folder / "first")
    first = Copy(folder / "first")
    run_git(first.root, "remote", "add", "origin", str(store))
    first.types("sync")
    run_git(folder, "clone", "-q", str(store), "second")
    second = Copy(folder / "second")
    second.types("init")
    return first, second, store
