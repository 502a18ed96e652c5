"""kill -9 of a recording command, at chosen system calls and at random moments.

Afterwards the repository is sound, each file has its old or its new content whole, and the next
command works. Where the intent was on the disk, the entry ends in history, once.
"""

import os
import random
import re
import shutil
import signal
import subprocess
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

from labbook.notebook.record import leftovers, record
from tests.notebook.repos import (
    adding,
    assert_sound,
    git_says,
    put,
    python,
    repository,
    run_git,
    subjects,
)

POSIX = pytest.mark.skipif(os.name == "nt", reason="SIGKILL and shell scripts are of POSIX")

OLD, NEW = b"format: 1\nentries: 1\n", b"format: 1\nentries: 1\nmore: " + b"x" * 20_000 + b"\n"

# Everything is imported before the mark, so that what follows is the recording alone.
ENTRY = """
import filelock
git.available()
root = Path.cwd()
old = (root / "a.yaml").read_bytes()
new = old + b"more: " + b"x" * 20_000 + b"\\n"
changes = (Change("a.yaml", old, new), Change("batches/b.yaml", None, b"new\\n"))
print("begin", flush=True)
record(root, lambda: Plan(changes, "The entry"), command="note")
print("end", flush=True)
"""
MARK = 'write(1, "begin'
CALLS = ("openat", "write", "fsync", "rename", "unlink", "mkdir", "flock", "ftruncate", "link")


@pytest.fixture
def template(tmp_path: Path) -> Path:
    root = repository(tmp_path / "template")
    put(root, "a.yaml", OLD)
    put(root, "staged.yaml", "1\n")
    run_git(root, "add", "a.yaml")
    run_git(root, "commit", "-q", "-m", "first")
    run_git(root, "add", "staged.yaml")
    return root


def assert_nothing_lost(root: Path, *, meant: bool | None = None) -> bool:
    """Checks a notebook after a kill, and records once more.

    Returns:
        Whether the entry was kept; `meant` says what it must be, where that is known.
    """
    # A git that outlived labbook may add to the index after fsck has listed the objects; what is
    # really broken stays so.
    for _ in range(50):
        fsck = run_git(root, "fsck", "--strict", check=False)
        if fsck.returncode == 0:
            break
        time.sleep(0.1)
    assert fsck.returncode == 0, fsck
    assert (root / "a.yaml").read_bytes() in (OLD, NEW)
    other = root / "batches" / "b.yaml"
    assert not other.exists() or other.read_bytes() == b"new\n"
    written = (root / "a.yaml").read_bytes() == NEW or other.exists()
    open_intent = any(root.glob(".git/labbook/intents/*/*.json"))
    kept = open_intent or written
    assert bool(leftovers(root)) == open_intent
    if meant is not None:
        assert kept == meant

    done = record(root, adding(root, "next.yaml", "1"), command="look")
    assert done.commit == git_says(root, "rev-parse", "HEAD")
    entry = ["The entry"] if kept else []
    assert subjects(root) == ["first", *entry, "Add 1"]
    assert (root / "a.yaml").read_bytes() == (NEW if kept else OLD)
    assert other.exists() == kept
    assert git_says(root, "status", "--porcelain") == "A  staged.yaml"
    assert leftovers(root) == []
    # A git that outlived labbook may still be at its housekeeping.
    for _ in range(100):
        left = {file.name for file in (root / ".git").rglob("*.lock")}
        if not left:
            break
        time.sleep(0.05)
    assert not left
    assert_sound(root)
    return kept


# At chosen system calls -------------------------------------------------------------------------


@dataclass(frozen=True)
class Point:
    """The n-th call of a kind, from the start of a process."""

    call: str
    number: int


def traced(log: Path, *words: str) -> list[str]:
    """The command line under which strace writes down a process's calls."""
    return ["strace", "-qq", "-o", str(log), "-e", f"trace={','.join(CALLS)}", *words]


def killing(point: Point) -> list[str]:
    """The command line under which strace kills a process at a call, before it is done."""
    inject = f"inject={point.call}:signal=SIGKILL:when={point.number}"
    return ["strace", "-qq", "-o", os.devnull, "-e", f"trace={point.call}", "-e", inject]


def points(log: Path, mark: str = "") -> list[Point]:
    """All points in a log, those after the mark."""
    counts: Counter[str] = Counter()
    found = []
    begun = not mark
    for line in log.read_text(errors="replace").splitlines():
        call = re.match(r"(\w+)\(", line)
        if call:
            counts[call[1]] += 1
            if begun:
                found.append(Point(call[1], counts[call[1]]))
            begun = begun or line.startswith(mark)
    return found


def sample(found: Sequence[Point], size: int, chance: random.Random) -> list[Point]:
    """Some of the points, at least one of each kind of call."""
    by_call: dict[str, list[Point]] = {}
    for point in found:
        by_call.setdefault(point.call, []).append(point)
    chosen = [chance.choice(some) for some in by_call.values()]
    rest = [point for point in found if point not in chosen]
    return chosen + chance.sample(rest, size - len(chosen))


def recording(root: Path, *before: str, path: str = "") -> subprocess.CompletedProcess[str]:
    """Runs the recording command, perhaps under strace or with another git."""
    env = os.environ | ({"PATH": f"{path}{os.pathsep}{os.environ['PATH']}"} if path else {})
    return subprocess.run(
        [*before, *python(ENTRY)],
        cwd=root,
        env=env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )


@POSIX
@pytest.mark.needs_tool("strace")
def test_killed_at_its_own_system_calls(template: Path, tmp_path: Path) -> None:
    for number in range(2):  # twice: the first run compiles modules
        shutil.copytree(template, tmp_path / f"count{number}")
        log = tmp_path / "log"
        assert recording(tmp_path / f"count{number}", *traced(log)).returncode == 0
    chosen = sample(points(log, MARK), 24, random.Random(20260409))
    assert {"openat", "write", "fsync", "rename", "unlink"} <= {point.call for point in chosen}
    assert len(chosen) == 24
    kept = []
    for number, point in enumerate(chosen):
        root = tmp_path / f"nb{number}"
        shutil.copytree(template, root)
        ran = recording(root, *killing(point))
        assert ran.returncode in (-signal.SIGKILL, 128 + signal.SIGKILL), (point, ran)
        kept.append(assert_nothing_lost(root))
    assert set(kept) == {True, False}  # both sides of the intent were met


def wrapped_git(folder: Path, verb: str, before: Sequence[str], after: str = "") -> str:
    """A folder with a `git` that runs one verb under strace."""
    real = shutil.which("git")
    words = " ".join(f"'{word}'" for word in before)
    text = f"""#!/bin/sh
for word; do [ "$word" = "{verb}" ] && {{ {words} {real} "$@"; code=$?; {after}
exit $code; }}; done
exec {real} "$@"
"""
    put(folder, "git", text).chmod(0o755)
    return str(folder)


@POSIX
@pytest.mark.needs_tool("strace")
@pytest.mark.parametrize("verb", ["add", "commit"])
@pytest.mark.parametrize("alone", [True, False], ids=["git", "git and labbook"])
def test_killed_at_system_calls_of_git(
    template: Path, tmp_path: Path, verb: str, alone: bool
) -> None:
    log = tmp_path / "log"
    shutil.copytree(template, tmp_path / "count")
    path = wrapped_git(tmp_path / "counting", verb, traced(log))
    assert recording(tmp_path / "count", path=path).returncode == 0
    chance = random.Random(f"{verb} {alone}")
    chosen = sample(points(log), 10, chance)
    assert {"openat", "write", "rename"} <= {point.call for point in chosen}
    for number, point in enumerate(chosen):
        root = tmp_path / f"nb{number}"
        shutil.copytree(template, root)
        after = "" if alone else "kill -9 $PPID"
        path = wrapped_git(tmp_path / f"bin{number}", verb, killing(point), after)
        ran = recording(root, path=path)
        assert ran.returncode == (1 if alone else -signal.SIGKILL), (point, ran)
        assert_nothing_lost(root, meant=True)


# At random moments ------------------------------------------------------------------------------


@POSIX
def test_killed_at_random_moments(template: Path, tmp_path: Path) -> None:
    chance = random.Random(20260410)
    for number in range(20):
        root = tmp_path / f"nb{number}"
        shutil.copytree(template, root)
        process = subprocess.Popen(
            python(ENTRY),
            cwd=root,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        assert process.stdout is not None
        assert process.stdout.readline() == b"begin\n"
        time.sleep(chance.uniform(0, 0.06))
        # Half of the time its git goes with it, as when a machine is switched off.
        os.killpg(process.pid, signal.SIGKILL) if number % 2 else process.kill()
        process.communicate()
        assert_nothing_lost(root)


@POSIX
def test_a_session_killed_between_entries_loses_none(template: Path) -> None:
    process = subprocess.Popen(
        python("""
        root = Path.cwd()
        with Session(root, "weigh") as session:
            for line in sys.stdin:
                session.message = f"Weigh: {line.strip()} entries"
                session.write(adding(root, "weighings", line.strip()))
                print("written", flush=True)
        """),
        cwd=template,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    for number in range(1, 6):
        process.stdin.write(b"%d\n" % number)
        process.stdin.flush()
        assert process.stdout.readline() == b"written\n"
        lines = (template / "weighings").read_text().split()
        assert lines == [str(n) for n in range(1, number + 1)]
        assert leftovers(template) == []  # the owner lives
    process.kill()
    process.communicate()
    (said,) = leftovers(template)
    assert said.startswith("weighings: written by the labbook weigh of")
    record(template, adding(template, "next.yaml", "1"), command="look")
    assert subjects(template) == ["first", "Weigh: 5 entries", "Add 1"]
    assert git_says(template, "show", "HEAD~1:weighings").split() == list("12345")
    assert_sound(template)


# Many at once -----------------------------------------------------------------------------------


def test_many_commands_at_once(template: Path) -> None:
    code = """
    root = Path.cwd()
    me = sys.argv[1]
    for number in range(10):
        path = "shared.yaml" if number % 2 else f"own-{me}.yaml"
        record(root, adding(root, path, f"{me}.{number}"), command="note")
    """
    workers = [
        subprocess.Popen([*python(code), str(me)], cwd=template, stderr=subprocess.PIPE)
        for me in range(8)
    ]
    for worker in workers:
        _, errors = worker.communicate()
        assert worker.returncode == 0, errors
    entries = {f"{me}.{number}" for me in range(8) for number in range(10)}
    lines = [line for f in template.glob("*.yaml") for line in f.read_text().splitlines()]
    assert sorted(line for line in lines if line in entries) == sorted(entries)
    assert len((template / "shared.yaml").read_text().splitlines()) == 40
    assert sorted(subjects(template)) == sorted(["first", *(f"Add {e}" for e in entries)])
    assert git_says(template, "rev-list", "--min-parents=2", "HEAD") == ""
    assert git_says(template, "status", "--porcelain") == "A  staged.yaml"
    assert leftovers(template) == []
    assert_sound(template)
