"""The lock of a notebook's repository: one recording command at a time; who is still alive.

It is the operating system's, so it ends with its process, however that ends. It is never held
while a person is asked something.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from labbook.model.errors import LabbookError
from labbook.notebook.atomic import not_written

if TYPE_CHECKING:
    from filelock import BaseFileLock

Wait = Callable[[str], None]
PATIENCE = 60.0  # seconds; a command holds the lock for a fraction of one
_SOON = 0.5
WAITING = "Another labbook command is recording; waiting for it."


def try_lock(file: Path, patience: float = 0.0) -> BaseFileLock | None:
    """Takes the lock of a file, waiting at most so many seconds; None while another holds it."""
    from filelock import FileLock, Timeout

    lock = FileLock(file)
    try:
        lock.acquire(timeout=patience)
    except Timeout:
        return None
    except OSError as error:
        raise not_written(file, error) from error
    return lock


@contextlib.contextmanager
def locked(folder: Path, wait: Wait | None = None, patience: float = PATIENCE) -> Iterator[None]:
    """Holds the lock of the folder in which the repository keeps what belongs to recording.

    Args:
        folder: `labbook` in the common git directory.
        wait: is told a sentence when it takes longer than half a second.
        patience: seconds until it gives up.

    Raises:
        LabbookError: another command held it all that time.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise not_written(folder, error) from error
    file = folder / "lock"
    lock = try_lock(file, min(_SOON, patience))
    if lock is None:
        if wait is not None:
            wait(WAITING)
        lock = try_lock(file, max(patience - _SOON, 0.0))
    if lock is None:
        raise LabbookError(
            f"Another labbook command has been recording here for {patience:.0f} s; "
            "nothing was written.",
            where=str(folder.parent),
            mend="Finish or close it, then type the command again.",
        )
    try:
        yield
    finally:
        lock.release()


def is_alive(pid: int) -> bool:
    """Whether a process runs; one that ended and was not yet asked after does not."""
    if sys.platform == "win32":
        import ctypes

        handle = ctypes.windll.kernel32.OpenProcess(0x1000, False, pid)
        if not handle:
            return False
        code = ctypes.c_ulong()
        ctypes.windll.kernel32.GetExitCodeProcess(handle, ctypes.byref(code))
        ctypes.windll.kernel32.CloseHandle(handle)
        return code.value == 259  # STILL_ACTIVE
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    with contextlib.suppress(OSError):
        status = Path(f"/proc/{pid}/stat").read_bytes()  # Linux; elsewhere the answer stands
        return status.rpartition(b")")[2].split()[:1] not in ([b"Z"], [b"X"])
    return True
