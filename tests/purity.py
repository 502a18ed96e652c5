"""The watch over tests of the pure rooms: none of them may read, write, start or call anything.

Python reports files, processes and sockets as audit events (PEP 578). While such a test runs, an
event that project code causes is refused and fails the test, also where the code swallows the
refusal. Imports, which read files, and the test tools' own files are let through.
"""

import importlib.util
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

PURE_ROOMS = ("model", "trade", "evidence", "show", "journal")

WATCHED = {
    "open",
    "builtins.input",
    "mmap.__new__",
    "os.chdir",
    "os.chmod",
    "os.chown",
    "os.exec",
    "os.fork",
    "os.forkpty",
    "os.link",
    "os.listdir",
    "os.mkdir",
    "os.posix_spawn",
    "os.remove",
    "os.rename",
    "os.rmdir",
    "os.scandir",
    "os.spawn",
    "os.startfile",
    "os.symlink",
    "os.system",
    "os.truncate",
    "os.utime",
    "pty.spawn",
    "subprocess.Popen",
    "webbrowser.open",
}
WATCHED_FAMILIES = {
    "ftplib",
    "glob",
    "http",
    "shutil",
    "smtplib",
    "socket",
    "sqlite3",
    "tempfile",
    "urllib",
}


class ImpureError(RuntimeError):
    """Project code reached outside the process in a test of a pure room."""


def _folder(package: str) -> str:
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        raise LookupError(f"{package} can't be found: install with pip install -e '.[test]'")
    return str(Path(spec.origin).parent)


PROJECT = (str(Path(__file__).resolve().parent), _folder("labbook"))
TOOLS = tuple(
    _folder(name) for name in ("_pytest", "execnet", "hypothesis", "pluggy", "pytest", "xdist")
)

_seen: list[str] | None = None


def _caused_by_project(frame: FrameType | None) -> bool:
    """Whether project code, not an import or a test tool, stands behind this frame."""
    while frame is not None:
        file = frame.f_code.co_filename
        if file.startswith(PROJECT):
            return True
        if file.startswith(("<frozen importlib", "<frozen zipimport", *TOOLS)):
            return False
        frame = frame.f_back
    return True


def _watch(event: str, args: tuple[object, ...]) -> None:
    global _seen
    if _seen is None:
        return
    if event not in WATCHED and event.partition(".")[0] not in WATCHED_FAMILIES:
        return
    seen, _seen = _seen, None  # what looking itself causes is not looked at
    try:
        caused = _caused_by_project(sys._getframe(1))
    finally:
        _seen = seen
    if caused:
        what = f"{event} {args[0]!r}" if args else event
        seen.append(what)
        raise ImpureError(
            f"{what}: the rooms {', '.join(PURE_ROOMS)} do no input or output; hand the value in. "
            "A test reads its data at module level or in a fixture."
        )


sys.addaudithook(_watch)


@contextmanager
def watched() -> Iterator[list[str]]:
    """Refuse and list what project code does outside the process while the block runs."""
    global _seen
    seen: list[str] = []
    _seen = seen
    try:
        yield seen
    finally:
        _seen = None
