"""Ways in which a hand or another program can harm what a notebook has recorded.

Each changes files as an editor would; a test commits them with plain git, or leaves them there.
They are listed in `corruptions`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests.notebook.repos import run_git
from tests.work.notebooks import PATH, Small

Change = Callable[[Path], None]


@dataclass(frozen=True)
class Harm:
    """One way, and what `check` has to say.

    `which` is the batch: first, second (both closed), open; empty for the formula. `at` is a piece
    of the line that the finding has to point at, empty for a file that is gone; `alone` is False
    where a further finding about the same harm is right. `uncommitted` is the rule where nobody has
    committed it, if that is another.
    """

    name: str
    which: str
    rule: str
    change: Callable[[str], str] | None
    at: str
    file: str = "batch.yaml"
    alone: bool = True
    uncommitted: str = ""

    def path(self, small: Small) -> str:
        """The file that is harmed."""
        if not self.which:
            return PATH
        return small.path(getattr(small, self.which), self.file)

    def do(self, small: Small, root: Path) -> None:
        """Changes the file; without a change it is taken away."""
        file = root / self.path(small)
        if self.change is None:
            file.unlink()
            return
        text = file.read_text(encoding="utf-8")
        harmed = self.change(text)
        assert harmed != text
        file.write_text(harmed, encoding="utf-8")


def swap(old: str, new: str) -> Callable[[str], str]:
    """One piece of text for another; it stands there once."""

    def change(text: str) -> str:
        assert text.count(old) == 1, (old, text.count(old))
        return text.replace(old, new)

    return change


def without(piece: str) -> Callable[[str], str]:
    """The line that holds a piece is taken out."""

    def change(text: str) -> str:
        lines = text.splitlines(keepends=True)
        (found,) = [line for line in lines if piece in line]
        lines.remove(found)
        return "".join(lines)

    return change


def after(piece: str, line: str) -> Callable[[str], str]:
    """A line is added below the one that holds a piece."""

    def change(text: str) -> str:
        lines = text.splitlines(keepends=True)
        (index,) = [n for n, found in enumerate(lines) if piece in found]
        lines.insert(index + 1, line + "\n")
        return "".join(lines)

    return change


def turned(first: str, second: str) -> Callable[[str], str]:
    """Two lines change places."""

    def change(text: str) -> str:
        lines = text.splitlines(keepends=True)
        (a,) = [n for n, found in enumerate(lines) if first in found]
        (b,) = [n for n, found in enumerate(lines) if second in found]
        lines[a], lines[b] = lines[b], lines[a]
        return "".join(lines)

    return change


def emptied(key: str) -> Callable[[str], str]:
    """A list at the end of a file loses all its entries, and its key."""

    def change(text: str) -> str:
        return text[: text.index(f"\n{key}:") + 1]

    return change


def commit_by_hand(root: Path, message: str) -> str:
    """Commits all that changed, as a person with plain git; gives the id."""
    run_git(root, "add", "-A")
    run_git(root, "commit", "-q", "-m", message)
    return run_git(root, "rev-parse", "HEAD").stdout.decode().strip()
