"""The installed command at a terminal: a pseudo-terminal of 80 columns, typed at line by line."""

from __future__ import annotations

import os
import select
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

from tests.conftest import Ran, command

PATIENCE = 30.0
"""Seconds that the program may say nothing before the test gives up."""

END = "\x04"
"""Ctrl-D at the start of a line: the end of what is typed."""


def pair(columns: int) -> tuple[int, int]:
    """The two ends of a pseudo-terminal that neither echoes nor changes line ends."""
    import pty
    import termios

    ours, theirs = pty.openpty()
    settings = termios.tcgetattr(theirs)
    settings[1] &= ~termios.OPOST
    settings[3] &= ~termios.ECHO
    termios.tcsetattr(theirs, termios.TCSANOW, settings)
    if columns:
        termios.tcsetwinsize(theirs, (40, columns))
    return ours, theirs


def _typed(ours: int, process: subprocess.Popen[bytes], answers: list[tuple[str, str]]) -> bytes:
    """What the program says; each answer is typed when the words before it have appeared."""
    said = b""
    seen = 0
    waiting_since = time.monotonic()
    while True:
        if answers:
            wanted = answers[0][0].encode()
            place = said.find(wanted, seen)
            if place >= 0:
                seen = place + len(wanted)
                line = answers.pop(0)[1]
                os.write(ours, line.encode() if line == END else line.encode() + b"\n")
        ready, _, _ = select.select([ours], [], [], 0.05)
        if ready:
            try:
                data = os.read(ours, 65536)
            except OSError:  # Linux says so when the other end is closed
                return said
            if not data:
                return said
            said += data
            waiting_since = time.monotonic()
        elif process.poll() is not None and not select.select([ours], [], [], 0)[0]:
            return said
        elif time.monotonic() - waiting_since > PATIENCE:
            process.kill()
            raise AssertionError(f"no more words after {said.decode(errors='replace')!r}")


def at_terminal(
    *args: str | Path,
    cwd: Path,
    answers: Sequence[tuple[str, str]] = (),
    env: Mapping[str, str | None] | None = None,
    columns: int = 80,
) -> Ran:
    """Runs `labbook ARGS` at a terminal; all that it says is in `out`.

    Args:
        args: what is typed after `labbook`.
        cwd: where the person stands.
        answers: pairs of the words to wait for and the line to type then.
        env: changes of the environment; None removes.
        columns: how wide; 0 for a terminal that was never told its size.
    """
    environment = dict[str, str | None](os.environ) | {"TERM": "dumb"} | dict(env or {})
    ours, theirs = pair(columns)
    with subprocess.Popen(
        [*command("script"), *map(str, args)],
        cwd=cwd,
        env={name: value for name, value in environment.items() if value is not None},
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
    ) as process:
        os.close(theirs)
        left = list(answers)
        try:
            said = _typed(ours, process, left)
        finally:
            os.close(ours)
        code = process.wait(timeout=PATIENCE)
    text = said.decode("utf-8", "surrogateescape")
    assert not left, f"never asked {left[0][0]!r}; it said: {text}"
    return Ran(code, text, "")


if sys.platform == "win32":  # pragma: no cover
    import pytest

    pytest.skip("pseudo-terminals are a matter of POSIX systems", allow_module_level=True)
