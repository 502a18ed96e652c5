"""The folder of a site: each file replaced whole or not at all, nothing of others touched.

What is written can be written again, so nothing waits for the disk: a killed command leaves old or
new files whole, a power cut at worst one that the next build sees by its size.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import stat
from collections.abc import Iterator
from pathlib import Path

from labbook.model.errors import NotAllowed
from labbook.notebook.atomic import TEMPORARY, check_target, not_written, read_if_there

Stat = str
"""When a file was last written, its size, and which file it is; empty for what is no plain file."""

_LEFT = re.compile(re.escape(TEMPORARY) + r"[0-9a-f]{16}", re.ASCII)


class SiteFolder:
    """One folder that a site is written into; links in it are not followed."""

    def __init__(self, root: Path) -> None:
        """Looks at every file once.

        Raises:
            NotAllowed: it is no plain folder.
        """
        self.root = root
        if root.is_symlink() or (root.exists() and not root.is_dir()):
            raise NotAllowed(f"{root} is no plain folder.", mend="Name another: --output FOLDER")
        self.found: dict[str, Stat] = {}
        self._strange = False
        self._checked: set[str] = set()
        if root.is_dir():
            self._look(root, "")

    def _look(self, folder: Path, prefix: str) -> None:
        with os.scandir(folder) as entries:
            for entry in entries:
                if entry.is_dir(follow_symlinks=False):
                    self._look(folder / entry.name, f"{prefix}{entry.name}/")
                elif entry.name.startswith(TEMPORARY) and _LEFT.fullmatch(entry.name):
                    # Left by a build that was killed.
                    (folder / entry.name).unlink(missing_ok=True)
                elif entry.is_file(follow_symlinks=False):
                    self.found[prefix + entry.name] = _stat_of(entry.stat(follow_symlinks=False))
                else:
                    self._strange = True

    @property
    def empty(self) -> bool:
        """Whether it holds no file."""
        return not self.found and not self._strange

    def read(self, path: str) -> bytes | None:
        """The bytes of a file; None where there is no plain file of that name."""
        return read_if_there(self.root / path) if path in self.found else None

    def put(self, path: str, raw: bytes) -> bool:
        """Writes a file where it differs; returns whether it did.

        Raises:
            NotAllowed: a link, a folder or a device stands in its place, or on the way.
            NotWritten: the disk is full, or rights forbid it.
        """
        target = self.root / path
        folder = path.rpartition("/")[0]
        if folder not in self._checked or path not in self.found:
            check_target(target, self.root)
        if self.read(path) == raw:
            return False
        temporary = target.parent / f"{TEMPORARY}{secrets.token_hex(8)}"
        try:
            if folder not in self._checked:
                target.parent.mkdir(parents=True, exist_ok=True)
                self._checked.add(folder)
            temporary.write_bytes(raw)
            temporary.replace(target)
            self.found[path] = _stat_of(target.stat())
        except OSError as error:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
            raise not_written(target, error) from error
        return True

    def take(self, path: str) -> None:
        """Takes a file away, and folders that are empty then."""
        target = self.root / path
        check_target(target, self.root)
        try:
            target.unlink(missing_ok=True)
        except OSError as error:
            raise not_written(target, error) from error
        self.found.pop(path, None)
        for folder in _above(target.parent, self.root):
            with contextlib.suppress(OSError):
                folder.rmdir()


def _above(folder: Path, root: Path) -> Iterator[Path]:
    while folder != root and folder.is_relative_to(root):
        yield folder
        folder = folder.parent


def _stat_of(found: os.stat_result) -> Stat:
    if not stat.S_ISREG(found.st_mode):
        return ""
    return f"{found.st_mtime_ns} {found.st_size} {found.st_ino}"
