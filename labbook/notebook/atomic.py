"""Replacing a file whole or not at all, and never over something that was not read.

A new content goes into a temporary file in the same folder (`.labbook-tmp-…`), reaches the disk,
and takes the target's place in one step. On any error the old bytes stand and the temporary file
is gone.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import stat
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from labbook.model.errors import UNREADABLE, ChangedMeanwhile, LabbookError, NotAllowed

TEMPORARY = ".labbook-tmp-"
_DEVICE = re.compile(
    r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³]) *(\..*)?", re.IGNORECASE
)
_BUSY_SECONDS = 2.0


class NotWritten(LabbookError):
    """The disk or the file's rights forbid it; what was there before is whole."""

    exit_code = UNREADABLE


_WHY = {
    errno.ENOSPC: ("the disk is full", "Free some space, then type the command again."),
    errno.EDQUOT: ("your share of the disk is used up", "Free some space, then try again."),
    errno.EROFS: ("the disk can only be read", "Move the notebook to one that can be written."),
    errno.EACCES: ("its rights forbid it", "Look at the rights of the file and its folder."),
    errno.EPERM: ("its rights forbid it", "Look at the rights of the file and its folder."),
    errno.ENAMETOOLONG: ("its name is too long", "Choose a shorter name."),
}


def not_written(path: Path, error: OSError) -> NotWritten:
    """An error of the operating system, in a sentence."""
    why, mend = _WHY.get(error.errno or 0, (error.strerror or str(error), "Then try again."))
    return NotWritten(f"{path} can't be written: {why}.", where=str(path), mend=mend)


@contextlib.contextmanager
def _in_words(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise not_written(path, error) from error


def check_target(path: Path, root: Path | None = None) -> None:
    """Makes sure that a path may be written.

    Args:
        path: the file.
        root: the folder that it must lie in, links followed; None asks for no such folder.

    Raises:
        NotAllowed: it leads out of `root` or into git's own folder, is a link or no plain file, or
            has a name that Windows keeps for devices.
    """
    parts: tuple[str, ...] = (path.name,)
    if root is not None:
        folder = _nearest(path.parent).resolve()
        inside = ".." not in path.parts and path.is_relative_to(root)
        if not inside or not folder.is_relative_to(root.resolve()):
            raise NotAllowed(
                f"{path} lies outside the notebook, or a link on the way leads out.",
                where=str(path),
                mend="Keep the notebook's folders real ones, inside it.",
            )
        parts = path.relative_to(root).parts
    for part in parts:
        _check_name(part, path)
    try:
        plain = stat.S_ISREG(path.lstat().st_mode)
    except (FileNotFoundError, NotADirectoryError):
        return
    except OSError as error:
        raise not_written(path, error) from error
    if not plain:
        raise NotAllowed(
            f"{path} is a link, a folder or a device, not a plain file.",
            where=str(path),
            mend="Put a plain file in its place.",
        )


def _check_name(part: str, path: Path) -> None:
    if _DEVICE.fullmatch(part.rstrip(". ")) or (part.endswith((".", " ")) and part not in (".",)):
        raise NotAllowed(
            f"“{part}” can't be a file's name on Windows, where somebody may open this notebook.",
            where=str(path),
            mend="Choose another name.",
        )
    if part.casefold() in (".git", "git~1") or "\0" in part:
        raise NotAllowed(f"{path} is not for labbook to write.", where=str(path))


def _nearest(folder: Path) -> Path:
    """The folder, or the nearest one above it that is there."""
    while not folder.exists() and not folder.is_symlink() and folder != folder.parent:
        folder = folder.parent
    return folder


def read_if_there(path: Path) -> bytes | None:
    """The bytes of a file; None if there is none.

    Raises:
        NotWritten: it is there and can't be read.
    """
    try:
        return path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise not_written(path, error) from error


def sync_folder(folder: Path) -> None:
    """Makes a name in a folder survive a power cut, where the system can do that."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _make_folders(folder: Path) -> None:
    missing = [f for f in (folder, *folder.parents) if not f.exists()]
    for each in reversed(missing):
        each.mkdir(exist_ok=True)
        sync_folder(each.parent)


class Pending:
    """New bytes on the disk, ready to take a file's place.

    Args:
        path: the target.
        data: its new bytes.
        root: the folder that the target must lie in.
        token: makes the temporary file's name known beforehand; random, if left out.
    """

    def __init__(
        self, path: Path, data: bytes, *, root: Path | None = None, token: str = ""
    ) -> None:
        check_target(path, root)
        self.path = path
        self.temporary = path.parent / f"{TEMPORARY}{token or secrets.token_hex(8)}"
        try:
            with _in_words(path):
                _make_folders(path.parent)
                self._fill(data)
        except BaseException:
            self.discard()
            raise

    def _fill(self, data: bytes) -> None:
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        handle = os.open(self.temporary, flags, 0o666)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            with contextlib.suppress(FileNotFoundError):
                mode = stat.S_IMODE(self.path.stat().st_mode)
                if os.name != "nt":
                    os.fchmod(file.fileno(), mode)
            os.fsync(file.fileno())

    def discard(self) -> None:
        """Takes the temporary file away; the target is as it was."""
        with contextlib.suppress(OSError):
            self.temporary.unlink(missing_ok=True)

    def replace(self, expect: bytes | None) -> None:
        """Puts the new bytes in place.

        Raises:
            ChangedMeanwhile: the target is not as it was read.
            NotWritten: the system forbids it.
        """
        try:
            must_be(self.path, expect)
            with _in_words(self.path):
                _while_busy(lambda: self.temporary.replace(self.path))
        except BaseException:
            self.discard()
            raise
        sync_folder(self.path.parent)


def must_be(path: Path, expect: bytes | None) -> None:
    """Makes sure that a file holds what was read (None: that there is none).

    Raises:
        ChangedMeanwhile: it doesn't.
    """
    found = read_if_there(path)
    if found == expect:
        return
    did = "was deleted" if found is None else "appeared" if expect is None else "was changed"
    raise ChangedMeanwhile(
        f"{path} {did} by another program in this moment; nothing was written over it.",
        where=str(path),
        mend="Save it there if an editor has it open, then type the command again.",
    )


def _while_busy(step: Callable[[], object]) -> None:
    """On Windows a virus scanner or a viewer may hold the target for a moment."""
    until = time.monotonic() + _BUSY_SECONDS
    while True:
        try:
            step()
        except PermissionError:
            if os.name != "nt" or time.monotonic() > until:
                raise
            time.sleep(0.05)
        else:
            return


def write_file(path: Path, data: bytes, *, expect: bytes | None, root: Path | None = None) -> None:
    """Replaces a file whole.

    Args:
        path: the target; its folders are made.
        data: its new bytes.
        expect: what was read from it; None if it must not be there yet.
        root: the folder that it must lie in.

    Raises:
        ChangedMeanwhile: it holds something else than `expect`.
        NotAllowed: the path may not be written.
        NotWritten: the disk is full, or rights forbid it.
    """
    Pending(path, data, root=root).replace(expect)


def remove_file(path: Path, *, expect: bytes, root: Path | None = None) -> None:
    """Deletes a file that still holds what was read; errors as in `write_file`."""
    check_target(path, root)
    must_be(path, expect)
    with _in_words(path):
        _while_busy(path.unlink)
    sync_folder(path.parent)
