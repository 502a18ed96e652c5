"""Real repositories for the tests: plain git, plans, and scripts in processes of their own."""

import os
import subprocess
import sys
import textwrap
from collections.abc import Callable, Mapping
from pathlib import Path

from labbook.notebook.record import Change, Plan

ROOT = Path(__file__).resolve().parents[2]


def run_git(
    root: Path, *words: str, env: Mapping[str, str] | None = None, check: bool = True
) -> subprocess.CompletedProcess[bytes]:
    """Plain git, not the module under test."""
    return subprocess.run(
        ["git", "-C", str(root), *words],
        env=os.environ | dict(env or {}),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=check,
    )


def git_says(root: Path, *words: str) -> str:
    """What plain git prints, without its last line break."""
    return os.fsdecode(run_git(root, *words).stdout).removesuffix("\n")


def repository(folder: Path, *options: str) -> Path:
    """An empty repository."""
    folder.mkdir(parents=True, exist_ok=True)
    run_git(folder, "init", "--quiet", *options)
    return folder


def put(root: Path, path: str, data: bytes | str) -> Path:
    """A file, written as an editor would."""
    file = root / path
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(data if isinstance(data, bytes) else data.encode())
    return file


def commit(root: Path, message: str, *paths: str) -> str:
    """A commit of all that changed, or of some paths, by plain git."""
    run_git(root, "add", "-A", *(("--", *paths) if paths else ()))
    run_git(root, "commit", "--quiet", "-m", message)
    return git_says(root, "rev-parse", "HEAD")


def plan(root: Path, path: str, new: bytes | None, message: str = "") -> Callable[[], Plan]:
    """A plan that gives a file a content."""

    def made() -> Plan:
        file = root / path
        old = file.read_bytes() if file.exists() else None
        return Plan((Change(path, old, new),), message or f"Write {path}")

    return made


def adding(root: Path, path: str, line: str) -> Callable[[], Plan]:
    """A plan that adds a line to a file."""

    def made() -> Plan:
        file = root / path
        old = file.read_bytes() if file.exists() else None
        return Plan((Change(path, old, (old or b"") + line.encode() + b"\n"),), f"Add {line}")

    return made


def python(code: str) -> list[str]:
    """The command line of a script that may import the program and these helpers."""
    head = (
        f"import os, sys\nsys.path.insert(0, {str(ROOT)!r})\nfrom pathlib import Path\n"
        "from labbook.notebook import git\nfrom labbook.notebook.record import *\n"
        "from tests.notebook.repos import *\n"
    )
    return [sys.executable, "-c", head + textwrap.dedent(code)]


def run_script(
    code: str, cwd: Path, env: Mapping[str, str] | None = None, check: bool = True
) -> subprocess.CompletedProcess[str]:
    """Runs a script in a folder."""
    return subprocess.run(
        python(code),
        cwd=cwd,
        env=os.environ | dict(env or {}),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        check=check,
    )


def hook(root: Path, name: str, body: str) -> None:
    """Installs a hook, a shell script."""
    file = root / git_says(root, "rev-parse", "--git-path", f"hooks/{name}")
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(f"#!/bin/sh\n{body}\n", encoding="utf-8")
    file.chmod(0o755)


def subjects(root: Path) -> list[str]:
    """The subjects of all commits, oldest first."""
    said = git_says(root, "log", "--reverse", "--format=%s")
    return said.split("\n") if said else []


def dead_process() -> int:
    """The id of a process that has ended."""
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


def assert_sound(root: Path) -> None:
    """The repository is whole, and nothing of recording lies about."""
    fsck = run_git(root, "fsck", "--strict", "--full", check=False)
    assert fsck.returncode == 0, fsck.stderr
    lines = fsck.stderr.splitlines() + fsck.stdout.splitlines()
    said = [line for line in lines if not line.startswith((b"notice", b"dangling"))]
    assert not said
    assert not list(root.rglob(".labbook-tmp-*"))
