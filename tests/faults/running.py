"""Running a command for the faults: as a person does, or in a process that is warm already.

A warm one is a child of this process, which has every module of the program loaded: it makes the
same calls that change the disk, in a third of the time. strace holds on to it before it begins.
"""

from __future__ import annotations

import contextlib
import importlib
import os
import pkgutil
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn, Protocol

import labbook

ENV = {"PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1", "LC_ALL": "C.UTF-8"}
LABBOOK = [sys.executable, "-m", "labbook"]
PID_FILE = "process-id"
"""Stands beside a log: the process that the log is of."""


class Run(Protocol):
    """Runs `labbook WORDS` in a folder: under strace where there is a log, or with another git."""

    def __call__(
        self,
        root: Path,
        words: Sequence[str],
        log: Path | None = None,
        options: Sequence[str] = (),
        path: str = "",
    ) -> subprocess.CompletedProcess[str]:
        """What it ended with and said."""
        ...


def _strace(log: Path, options: Sequence[str]) -> list[str]:
    return ["strace", "-qq", "-y", "-s", "40", "-o", str(log), *options]


def noted(log: Path, options: Sequence[str]) -> list[str]:
    """Words before a command's own: strace, and a shell that notes the process's id and ends."""
    shell = f'echo $$ > "{log.parent}/{PID_FILE}"; exec "$@"'
    return [*_strace(log, options), "sh", "-c", shell, "sh"]


def _environment(path: str) -> dict[str, str]:
    found = os.environ | ENV
    if path:
        found["PATH"] = f"{path}{os.pathsep}{found['PATH']}"
    return found


def cold(
    root: Path,
    words: Sequence[str],
    log: Path | None = None,
    options: Sequence[str] = (),
    path: str = "",
) -> subprocess.CompletedProcess[str]:
    """In a process of its own, from the start."""
    before = noted(log, options) if log is not None else []
    return subprocess.run(
        [*before, *LABBOOK, *words],
        cwd=root, env=_environment(path), stdin=subprocess.DEVNULL, capture_output=True,
        encoding="utf-8", errors="replace", timeout=120, check=False,
    )  # fmt: skip


def loaded() -> None:
    """Loads every module of the program, so that each warm process makes the same calls."""
    for module in pkgutil.walk_packages(labbook.__path__, "labbook."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)


def warm(
    root: Path,
    words: Sequence[str],
    log: Path | None = None,
    options: Sequence[str] = (),
    path: str = "",
) -> subprocess.CompletedProcess[str]:
    """In a child of this process, which is told to go on when strace holds it."""
    (out, to_out), (err, to_err) = os.pipe(), os.pipe()
    pid = os.fork()
    if not pid:
        _as_labbook(root, words, path, to_out, to_err)
    for handle in (to_out, to_err):
        os.close(handle)
    os.waitpid(pid, os.WUNTRACED)
    tracer = None
    if log is not None:
        (log.parent / PID_FILE).write_text(f"{pid}\n", encoding="ascii")
        tracer = subprocess.Popen([*_strace(log, options), "-p", str(pid)])
        while b"\nTracerPid:\t0\n" in Path(f"/proc/{pid}/status").read_bytes():
            assert tracer.poll() is None, "strace could not hold the process"
            time.sleep(0.001)
    os.kill(pid, signal.SIGCONT)
    said = [_whole(handle) for handle in (out, err)]
    _, status = os.waitpid(pid, 0)
    if tracer is not None:
        tracer.wait()
    code = os.waitstatus_to_exitcode(status)
    return subprocess.CompletedProcess(list(words), code, *said)


def _whole(handle: int) -> str:
    with os.fdopen(handle, "rb") as file:
        return file.read().decode("utf-8", "replace")


def _as_labbook(root: Path, words: Sequence[str], path: str, out: int, err: int) -> NoReturn:
    code = 70
    try:
        nothing = os.open(os.devnull, os.O_RDONLY)
        for number, handle in enumerate((nothing, out, err)):
            os.dup2(handle, number)
            os.set_inheritable(number, True)
        os.chdir(root)
        wanted = _environment(path)
        os.environ.clear()
        os.environ.update(wanted)
        sys.argv = ["labbook", *words]
        from labbook.cli.main import run

        os.kill(os.getpid(), signal.SIGSTOP)
        time.sleep(0.002)  # strace holds it a moment before it sees its calls
        code = run()
    finally:
        with contextlib.suppress(OSError):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)
