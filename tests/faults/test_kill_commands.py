"""kill -9 of the real commands: after each entry of `weigh`, at system calls, at random moments.

Afterwards nothing that was said to be written is lost, the repository is sound, the next command
works, and `check` finds no error.
"""

from __future__ import annotations

import os
import random
import select
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import labbook
from labbook.model.batch import Batch
from labbook.work.bench import Bench
from labbook.work.check import check
from labbook.work.materials import add_lot
from tests.faults.commands import COMMANDS, Command
from tests.faults.test_kill import POSIX, killing, points, sample, traced
from tests.notebook.repos import assert_sound, git_says, run_git
from tests.work.notebooks import PATH, Maker, Small, small_notebook

LABBOOK = [sys.executable, "-m", "labbook"]
LOCK = "/labbook/lock"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Small:
    found = small_notebook(tmp_path_factory.mktemp("made") / "nb")
    # What a first run would write beside the records is there already: caches and compiled modules.
    subprocess.run([*LABBOOK, "check"], cwd=found.root, check=True, capture_output=True)
    package = str(Path(labbook.__file__).parent)
    subprocess.run([sys.executable, "-m", "compileall", "-q", package], check=True)
    scratch = copied(found, tmp_path_factory.mktemp("scratch") / "nb")
    run(scratch, COMMANDS["photo"].words(scratch))  # what reads pictures is compiled too
    return found


def copied(made: Small, folder: Path) -> Small:
    """A notebook to harm, with its formula edited and not saved."""
    shutil.copytree(made.root, folder)
    small = Small(folder, made.first, made.second, made.open)
    Maker(folder).edits(PATH, "percent: 3}", "percent: 2}")
    return small


def opened(small: Small) -> Batch:
    return Bench(small.root).snapshot.batches[small.open]


def sound_after(small: Small) -> None:
    """The next command works, all is committed, nothing lies about, and `check` has no error."""
    for _ in range(50):  # a git that outlived labbook may still be writing
        if run_git(small.root, "fsck", "--strict", check=False).returncode == 0:
            break
        time.sleep(0.1)
    add_lot(Bench(small.root), "glycerin", {"lot": "12"}, "the-next-command")
    result = check(Bench(small.root))
    assert not result.errors, result.problems
    assert not [p for p in result.problems if p.rule != "number-without-version"], result.problems
    assert git_says(small.root, "status", "--porcelain") in ("", f" M {PATH}")
    assert git_says(small.root, "rev-list", "--min-parents=2", "HEAD") == ""
    for _ in range(100):
        if not list((small.root / ".git").rglob("*.lock")):
            break
        time.sleep(0.05)
    assert_sound(small.root)


# Weighing at the terminal ----------------------------------------------------------------------

MASSES = ("14.02", "2.51", "4.5", "74.1", "3,01", "*", "0.5", "0.6")


def weighing(small: Small, *, terminal: bool) -> tuple[subprocess.Popen[bytes], int, int]:
    """`labbook weigh` with a person's end of a terminal or of pipes: process, input, output."""
    words = [*LABBOOK, "weigh", small.open[-2:]]
    env = os.environ | {"TERM": "dumb"}
    if terminal:
        ours, theirs = os.openpty()
        process = subprocess.Popen(
            words, cwd=small.root, env=env, stdin=theirs, stdout=theirs, stderr=theirs
        )
        os.close(theirs)
        return process, ours, ours
    process = subprocess.Popen(
        words, cwd=small.root, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert process.stdin is not None
    assert process.stdout is not None
    return process, process.stdin.fileno(), process.stdout.fileno()


def read_until(output: int, wanted: str, count: int) -> str:
    """What was said up to the count-th appearance of a word."""
    said = ""
    while said.count(wanted) < count:
        ready, _, _ = select.select([output], [], [], 60)
        assert ready, said
        got = os.read(output, 4096)
        assert got, said
        said += got.decode("utf-8", "replace")
    return said


@POSIX
@pytest.mark.parametrize(
    ("entries", "terminal"),
    [*((n, True) for n in range(1, len(MASSES) + 1)), (1, False), (5, False)],
)
def test_weighing_killed_after_an_entry(
    made: Small, tmp_path: Path, entries: int, terminal: bool
) -> None:
    small = copied(made, tmp_path / "nb")
    process, answers, output = weighing(small, terminal=terminal)
    # A pipe shows what was written with the next question; the last entry ends the command.
    for number, mass in enumerate(MASSES[:entries], 1):
        os.write(answers, f"{mass}\n".encode())
        read_until(output, "written: ", 1)
        on_disk = (small.root / small.path(small.open)).read_text(encoding="utf-8")
        assert on_disk.count("line: ") == number
    process.kill()
    process.communicate()
    if terminal:
        os.close(output)
    assert len(opened(small).weighings) == entries
    sound_after(small)
    batch = opened(small)
    values = [m.replace(",", ".") for m in MASSES[:entries]]
    wanted = [v if v != "*" else "0.80" for v in values]
    assert [str(w.mass.value) for w in batch.weighings] == wanted
    assert [w.as_target for w in batch.weighings if w.as_target] == [True] * (entries >= 6)
    held = git_says(small.root, "show", f"HEAD:{small.path(small.open)}")
    assert held.count("line: ") == entries
    # Going on asks for the next line, not for the ones that were weighed.
    went_on = subprocess.run(
        [*LABBOOK, "weigh", small.open[-2:]],
        cwd=small.root, input=b"end\n", capture_output=True, check=False,
    )  # fmt: skip
    assert went_on.returncode == 0, went_on
    assert len(opened(small).weighings) == entries


# Recording commands ----------------------------------------------------------------------------


MET = ("photo", "save", "make")
"""As a person starts them; warm processes meet faults in every command (`test_injecting`)."""


def run(
    small: Small, words: list[str], *before: str, timeout: float | None = None
) -> subprocess.CompletedProcess[str]:
    """Runs a command, perhaps under strace."""
    return subprocess.run(
        [*before, *LABBOOK, *words],
        cwd=small.root,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        timeout=timeout,
        check=False,
    )


def nothing_lost(small: Small, command: Command, said: str) -> bool:
    """Checks a notebook after a kill; gives whether the whole entry is there."""
    begun = any((small.root / ".git" / "labbook" / "intents").glob("*/*.json"))
    at_once = command.kept(small) if not begun else []
    sound_after(small)
    kept = command.kept(small)
    assert kept == sorted(kept, reverse=True)  # none before the one that it follows from
    assert all(now or not before for before, now in zip(at_once, kept, strict=False))
    assert any(kept) or not begun
    if said.strip():  # it was told: then it is there
        assert all(kept), said
    return all(kept)


@POSIX
@pytest.mark.needs_tool("strace")
@pytest.mark.parametrize("name", MET)
def test_killed_at_system_calls(made: Small, tmp_path: Path, name: str) -> None:
    command = COMMANDS[name]
    words = command.words(made)
    log = tmp_path / "log"
    counted = copied(made, tmp_path / "count")
    ran = run(counted, words, *traced(log))
    assert ran.returncode == 0, ran
    assert all(command.kept(counted))
    begin = next(line for line in log.read_text(errors="replace").splitlines() if LOCK in line)
    chosen = sample(points(log, begin), 8, random.Random(f"kill {name}"))
    kept = []
    for number, point in enumerate(chosen):
        small = copied(made, tmp_path / f"nb{number}")
        ran = run(small, words, *killing(point))
        assert ran.returncode in (-signal.SIGKILL, 128 + signal.SIGKILL), (point, ran)
        kept.append(nothing_lost(small, command, ran.stdout))
    assert set(kept) == {True, False}, kept  # both sides of the entry were met


@POSIX
@pytest.mark.parametrize("number", range(10))
def test_killed_at_random_moments(made: Small, tmp_path: Path, number: int) -> None:
    chance = random.Random(20260310 + number)
    command = COMMANDS[chance.choice(MET)]
    small = copied(made, tmp_path / "nb")
    process = subprocess.Popen(
        [*LABBOOK, *command.words(small)],
        cwd=small.root,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
        encoding="utf-8",
    )
    locked = small.root / ".git" / "labbook" / "intents"
    before = set(locked.glob("*/*")) if locked.exists() else set()
    for _ in range(3000):  # until it begins to write, then a moment more
        if process.poll() is not None or set(locked.glob("*/*")) != before:
            break
        time.sleep(0.001)
    time.sleep(chance.uniform(0, 0.08))
    # Half of the time its git goes with it, as when a machine is switched off.
    if process.poll() is None:
        os.killpg(process.pid, signal.SIGKILL) if number % 2 else process.kill()
    said, _ = process.communicate()
    nothing_lost(small, command, said)
