"""What the README shows is what the program prints; its first week runs as written."""

from __future__ import annotations

import os
import pty
import re
import select
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```console\n(.*?)```", README, re.DOTALL)
SHOWN = [block for block in BLOCKS if block.count("$ ") == 1]
WEEK = next(block for block in BLOCKS if "labbook init" in block)


def at_a_terminal(command: list[str], folder: Path, typed: str = "") -> str:
    """What a person sees at a console of 80 columns that speaks UTF-8."""
    master, slave = pty.openpty()
    env = {**os.environ, "COLUMNS": "80", "PYTHONUTF8": "1", "EDITOR": "true"}
    with subprocess.Popen(
        command, cwd=folder, stdin=slave, stdout=slave, stderr=slave, env=env
    ) as process:
        os.close(slave)
        os.write(master, typed.encode())
        seen = b""
        while True:
            ready, _, _ = select.select([master], [], [], 60)
            if not ready:
                process.kill()
                break
            try:
                part = os.read(master, 65536)
            except OSError:  # Linux says so when the other end is closed
                break
            if not part:
                break
            seen += part
    os.close(master)
    assert process.returncode == 0, seen.decode()
    return seen.decode().replace("\r\n", "\n")


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the sample notebook in it, and what `demo` printed."""
    folder = tmp_path_factory.mktemp("readme")
    (folder / "printed").write_text(
        at_a_terminal([sys.executable, "-m", "labbook", "demo"], folder), encoding="utf-8"
    )
    return folder


@pytest.mark.parametrize("block", SHOWN, ids=lambda block: block.splitlines()[0][2:])
def test_each_screen_is_what_the_program_prints(block: str, sample: Path) -> None:
    first, _, shown = block.partition("\n")
    command = shlex.split(first.removeprefix("$ labbook"))
    if command == ["demo"]:
        assert (sample / "printed").read_text(encoding="utf-8") == shown
        return
    notebook = sample / "hand-cream-notebook"
    assert at_a_terminal([sys.executable, "-m", "labbook", *command], notebook) == shown


def test_the_readme_shows_some_screens() -> None:
    assert len(SHOWN) >= 4


def test_the_first_week_runs_as_written(tmp_path: Path) -> None:
    here = tmp_path
    for line in WEEK.splitlines():
        command = shlex.split(line.removeprefix("$ "))
        if command[0] == "cd":
            here = here / command[1]
            continue
        assert command[0] == "labbook"
        typed = "*\n" * 30 if command[1:] == ["weigh"] else ""
        seen = at_a_terminal([sys.executable, "-m", "labbook", *command[1:]], here, typed)
        assert "Traceback" not in seen
    log = subprocess.run(["git", "log", "--format=%s"], cwd=here, capture_output=True, text=True)
    assert "Close" in log.stdout.splitlines()[0]
