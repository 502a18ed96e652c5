"""Faults from outside: a call of the system that fails, or that the process doesn't survive.

A command is run once under strace to see which calls it makes; then, on a fresh copy of the
notebook for each, one of those calls fails with ENOSPC or EIO, or the process is killed at it. The
calls are those of labbook itself and of every git that it starts.
"""

from __future__ import annotations

import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import labbook
from labbook.work.bench import Bench
from labbook.work.check import check
from tests.faults.commands import COMMANDS, STORE, Command
from tests.faults.running import LABBOOK, PID_FILE, Run, cold, noted
from tests.faults.tracing import (
    FAULTS,
    KINDS,
    SEEING,
    Fault,
    Point,
    Where,
    about,
    alike,
    changes_the_disk,
    failing,
    git_under,
    turns,
)
from tests.notebook.repos import assert_sound, git_says, run_git
from tests.work.notebooks import PATH, Small, small_notebook

# Notebooks -------------------------------------------------------------------------------------


def template(folder: Path) -> Small:
    """The notebook that every run begins from, with all caches and compiled modules made."""
    made = small_notebook(folder / "nb")
    subprocess.run([*LABBOOK, "check"], cwd=made.root, check=True, capture_output=True)
    package = str(Path(labbook.__file__).parent)
    subprocess.run([sys.executable, "-m", "compileall", "-q", package], check=True)
    return made


def prepared(made: Small, name: str, folder: Path) -> Small:
    """A copy of the notebook in which all was done that comes before a command is typed."""
    small = copied(made, folder)
    COMMANDS[name].before(small)
    return small


def copied(made: Small, folder: Path) -> Small:
    """A copy of a notebook, and of what stands beside it."""
    shutil.copytree(made.root.parent, folder, symlinks=True)
    return replace(made, root=folder / made.root.name)


# Seeing and injecting --------------------------------------------------------------------------


def points(begun: Small, name: str, folder: Path, run: Run = cold) -> list[Point]:
    """Every call of a command that changes what is on the disk, with each of the faults.

    Args:
        begun: the notebook as `prepared` for it.
        name: the command.
        folder: to work in.
        run: how commands are run.
    """
    command = COMMANDS[name]
    own = copied(begun, folder / "own")
    log = folder / "own.log"
    ran = run(own.root, command.words(own), log, SEEING)
    assert ran.returncode == 0, (name, ran)
    assert all(command.kept(own)), name
    logs: list[tuple[int | None, Path]] = [(None, log)]
    theirs = copied(begun, folder / "theirs")
    path = git_under(folder / "bin", noted(folder / "git%.log", SEEING), only=None)
    ran = run(theirs.root, command.words(theirs), path=path)
    assert ran.returncode == 0, (name, ran)
    logs += [(int(one.stem[3:]), one) for one in sorted(folder.glob("git*.log"))]
    return [
        Point(name, git, call, number, about(rest), fault, turn)
        for git, one in logs
        for call, number, rest, turn in turns(one)
        if changes_the_disk(call, rest)
        for fault in FAULTS
    ]


def _place_in(log: Path, point: Point) -> int | None:
    """The number of the call that is meant, in the log of another run."""
    meant = (point.call, alike(point.path), point.turn)
    for call, number, rest, turn in turns(log):
        if (call, alike(about(rest)), turn) == meant:
            return number
    return None


def _aim(begun: Small, point: Point, folder: Path, run: Run) -> Point:
    """The point with the number that its call has now, as a run without a fault shows it."""
    shutil.rmtree(folder)
    folder.mkdir()
    small = copied(begun, folder / "box")
    log, see = folder / "now.log", ("-e", f"trace={point.call}")
    words = COMMANDS[point.command].words(small)
    if point.git is None:
        run(small.root, words, log, see)
    else:
        run(small.root, words, path=git_under(folder / "bin", noted(log, see), only=point.git))
    number = _place_in(log, point)
    shutil.rmtree(folder)
    folder.mkdir()
    return point if number is None else replace(point, number=number)


@dataclass(frozen=True)
class Outcome:
    """What became of a run: whether the fault was met, its exit code, whether the entry is kept.

    `pid` is the process that met it, `seen` the line of strace with the call and its path, `harm`
    what was wrong afterwards.
    """

    point: Point
    pid: str
    met: bool
    code: int
    kept: bool
    seen: str
    harm: str = ""

    def __str__(self) -> str:
        if self.harm:
            return f"HARMED {self.point}\n    {self.harm}"
        met = "met" if self.met else "not met"
        kept = "kept" if self.kept else "not kept"
        return f"{self.point}\n    process {self.pid}, {met}, exit {self.code}, {kept}: {self.seen}"


LOG = "injected.log"
AIMS = 3


def with_fault(
    small: Small, point: Point, folder: Path, run: Run = cold, *, and_labbook: bool = False
) -> subprocess.CompletedProcess[str]:
    """Runs a command with one fault; perhaps labbook is killed right after its git."""
    words, options = COMMANDS[point.command].words(small), failing(point)
    if point.git is None:
        return run(small.root, words, folder / LOG, options)
    before = noted(folder / LOG, options)
    after = "kill -9 $PPID" if and_labbook else ""
    path = git_under(folder / "bin", before, only=point.git, after=after)
    return run(small.root, words, path=path)


def suffer(begun: Small, point: Point, folder: Path, run: Run = cold) -> Outcome:
    """Runs a command with one fault, and checks that nothing is lost and nothing half there.

    Raises:
        AssertionError: the notebook is not sound afterwards, or more or less was kept than said.
    """
    command = COMMANDS[point.command]
    for left in reversed(range(AIMS)):
        small = copied(begun, folder / "box")
        ran = with_fault(small, point, folder, run)
        log = folder / LOG
        text = log.read_text(errors="replace") if log.exists() else ""
        hits = [line for line in text.splitlines() if "(INJECTED)" in line or "SIGKILL" in line]
        aimed = bool(hits) and _place_in(log, point) == point.number
        if aimed or not left:
            break
        point = _aim(begun, point, folder, run)
    killed = point.fault == "SIGKILL" and point.git is None
    if killed:
        assert ran.returncode in (0, -signal.SIGKILL, 128 + signal.SIGKILL), (point, ran)
    else:
        assert "Traceback" not in ran.stderr, (point, ran)
        assert ran.returncode != 70, (point, ran)
        assert ran.returncode == 0 or ran.stderr.strip(), (point, ran)
    kept = _sound_after(small, command, ran)
    seen = hits[0][:160] if hits else ran.stderr[:160]
    held = folder / PID_FILE
    pid = held.read_text(encoding="utf-8").strip() if held.exists() else "none"
    return Outcome(point, pid, aimed, ran.returncode, kept, seen)


def _sound_after(small: Small, command: Command, ran: subprocess.CompletedProcess[str]) -> bool:
    """The next command works, all is committed, and `check` has no error; whether all is kept."""
    place = replace(small, root=command.place(small))
    repositories = [place.root, *small.root.parent.glob(STORE)]
    for _ in range(50 if ran.returncode < 0 or ran.returncode > 128 else 0):
        # A git that outlived labbook may still be writing.
        if run_git(place.root, "fsck", "--strict", check=False).returncode == 0:
            break
        time.sleep(0.1)
    begun = any((place.root / ".git" / "labbook" / "intents").glob("*/*.json"))
    at_once = command.kept(small) if not begun and ran.returncode == 0 else []
    command.then(small)
    result = check(Bench(place.root))
    assert not result.errors, result.problems
    kept = command.kept(small)
    assert kept == sorted(kept, reverse=True), kept  # none before the one that it follows from
    assert all(now or not before for before, now in zip(at_once, kept, strict=False))
    if ran.returncode == 0:
        assert all(kept), ran
    lines = git_says(place.root, "status", "--porcelain").splitlines()
    dirty = [line.strip() for line in lines]
    assert dirty in ([], [f"M {PATH}"]), dirty
    if not command.merges:
        assert git_says(place.root, "rev-list", "--min-parents=2", "HEAD") == ""
    for repository in repositories:
        for _ in range(100):
            if not list(repository.rglob("*.lock")):
                break
            time.sleep(0.05)
        assert_sound(repository)
    return all(kept)


def sampled(found: Sequence[Point], size: int, chance: random.Random) -> list[Point]:
    """Some of the points: each kind of call with each fault at least once, a third inside git."""
    groups: dict[tuple[Where, str, Fault], list[Point]] = {}
    for point in found:
        groups.setdefault((point.where, KINDS[point.call], point.fault), []).append(point)
    chosen = [chance.choice(groups[key]) for key in sorted(groups)]
    rest = [point for point in found if point not in chosen]
    chance.shuffle(rest)
    return [*chosen, *rest][:size] if len(chosen) < size else chosen
