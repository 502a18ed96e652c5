"""Faults from outside: a call of the system that fails, or that the process doesn't survive.

A command is run once under strace to see which calls it makes; then, on a fresh copy of the
notebook for each, one of those calls fails with ENOSPC or EIO, or the process is killed at it. The
calls are those of labbook itself and of every git that it starts.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import labbook
from labbook.work.bench import Bench
from labbook.work.check import check
from labbook.work.materials import add_lot
from tests.notebook.repos import assert_sound, git_says, run_git
from tests.work.notebooks import PATH, Maker, Small, small_notebook

KINDS = {
    "write": "write",
    "pwrite64": "write",
    "ftruncate": "write",
    "openat": "open",
    "rename": "rename",
    "renameat": "rename",
    "renameat2": "rename",
    "link": "link",
    "linkat": "link",
    "unlink": "unlink",
    "unlinkat": "unlink",
    "fsync": "fsync",
    "fdatasync": "fsync",
    "mkdir": "mkdir",
    "mkdirat": "mkdir",
}
"""System calls that change what is on the disk, by what they do; `openat` where it makes a file."""

Fault = Literal["ENOSPC", "EIO", "SIGKILL"]
FAULTS: tuple[Fault, ...] = ("ENOSPC", "EIO", "SIGKILL")
Where = Literal["labbook", "git"]
ENV = {"PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1", "LC_ALL": "C.UTF-8"}
LABBOOK = [sys.executable, "-m", "labbook"]
WRITING = ("add", "commit", "rm", "update-index", "hash-object", "commit-tree", "update-ref")
"""What git is asked for that writes; each of them may start others."""


@dataclass(frozen=True)
class Command:
    """A recording command: its words, and what is there of its entry, in order.

    A command that writes several things one after the other may be cut off between them.
    """

    words: Callable[[Small], list[str]]
    kept: Callable[[Small], list[bool]]


@dataclass(frozen=True)
class Point:
    """The n-th call of one name that a process makes, and what happens to it.

    `git` counts the gits of a command that write, from 0; labbook itself has None. `path` is what
    the call was about when it was seen.
    """

    command: str
    git: int | None
    call: str
    number: int
    path: str
    fault: Fault

    @property
    def where(self) -> Where:
        """In whose process."""
        return "labbook" if self.git is None else "git"

    def __str__(self) -> str:
        process = "labbook" if self.git is None else f"git {self.git}"
        return f"{self.command}: {process}, {self.call} {self.number}, {self.fault}: {self.path}"


# Commands --------------------------------------------------------------------------------------


def _text(small: Small, path: str) -> str:
    file = small.root / path
    return file.read_text(encoding="utf-8") if file.exists() else ""


def _one(path: Callable[[Small], str], words: str) -> Callable[[Small], list[bool]]:
    return lambda small: [words in _text(small, path(small))]


def _batch(small: Small) -> str:
    return small.path(small.open)


def _first(small: Small) -> str:
    return small.path(small.first)


def _looks(small: Small) -> str:
    return small.path(small.first, "stability.yaml")


def _made(small: Small) -> list[bool]:
    bench = Bench(small.root)
    return [bench.formula("HC").version == 4, len(bench.snapshot.batches) == 4]


def _closed(small: Small) -> list[bool]:
    folder = (small.root / _batch(small)).parent
    there = {(folder / name).exists() for name in ("jars.yaml", "stability.yaml")}
    assert len(there) == 1, "the jars and the looks at them come together"
    state = Bench(small.root).snapshot.batches[small.open].state == "closed"
    assert there == {state}
    return [state]


def _entries(small: Small) -> list[bool]:
    return [any((small.root / "journal").glob("*cracked-hands*.md"))]


def _lots(small: Small) -> list[bool]:
    return [any("4711" in f.read_text("utf-8") for f in (small.root / "lots").iterdir())]


COMMANDS = {
    "note": Command(
        lambda small: ["note", small.open[-2:], "pH 5.0; A 71 B 70; smells of wax"],
        _one(_batch, "smells of wax"),
    ),
    "weigh": Command(
        lambda small: ["weigh", small.open[-2:], "beeswax=2.51", "water=73.10"],
        lambda small: [
            "2.51" in _text(small, _batch(small)),
            "73.10" in _text(small, _batch(small)),
        ],
    ),
    "save": Command(
        lambda _: ["save", "HC"], lambda small: [Bench(small.root).formula("HC").version == 4]
    ),
    "make": Command(lambda _: ["make", "HC", "--size", "50g"], _made),
    "close": Command(
        lambda small: ["close", small.open[-2:], "--yield", "96 g", "--jars", "2"], _closed
    ),
    "look": Command(
        lambda small: ["look", f"{small.first[-2:]}.2", "0", "--note", "smooth as before"],
        _one(_looks, "smooth as before"),
    ),
    "correct": Command(
        lambda small: [
            *("batch", "correct", small.first[-2:], "r1.value=5.2", "-m", "read again"),
        ],
        _one(_first, "read again"),
    ),
    "drop": Command(
        lambda small: ["batch", "drop", small.second[-2:], "-m", "the wrong pot"],
        _one(lambda small: small.path(small.second), "the wrong pot"),
    ),
    "restore": Command(
        lambda _: ["restore", "HC@1"],
        lambda small: [Bench(small.root).formula("HC").version == 4],
    ),
    "undo": Command(lambda _: ["undo"], lambda small: ["A 70" not in _text(small, _batch(small))]),
    "lot": Command(
        lambda _: ["ingredient", "lot", "add", "beeswax", "--lot", "4711"],
        lambda small: [
            any("4711" in f.read_text("utf-8") for f in (small.root / "lots").iterdir())
        ],
    ),
    "formula": Command(
        lambda _: ["formula", "new", "BALM", "--type", "anhydrous"],
        lambda small: [(small.root / "formulas" / "BALM.yaml").exists()],
    ),
    "journal": Command(lambda _: ["journal", "new", "Cracked hands"], _entries),
    "plan": Command(
        lambda small: [
            *("stability", "plan", small.first[-2:], "--add", "room 45 d", "-m", "to be sure"),
        ],
        _one(lambda small: small.path(small.first, "jars.yaml"), "looks-hc"),
    ),
}


# Notebooks -------------------------------------------------------------------------------------


def template(folder: Path) -> Small:
    """The notebook that every run begins from, with all caches and compiled modules made."""
    made = small_notebook(folder)
    subprocess.run([*LABBOOK, "check"], cwd=made.root, check=True, capture_output=True)
    package = str(Path(labbook.__file__).parent)
    subprocess.run([sys.executable, "-m", "compileall", "-q", package], check=True)
    return made


def copied(made: Small, folder: Path, command: str) -> Small:
    """A notebook to harm; its formula is edited and not saved, but where a command refuses that."""
    shutil.copytree(made.root, folder, symlinks=True)
    small = Small(folder, made.first, made.second, made.open)
    if command not in ("undo", "restore"):
        Maker(folder).edits(PATH, "percent: 3}", "percent: 2}")
    return small


# Seeing and injecting --------------------------------------------------------------------------


PID_FILE = "process-id"


def _strace(log: Path, *words: str) -> list[str]:
    """Words before a command's own: strace, and a shell that notes the process's id and ends."""
    noted = f'echo $$ > "{log.parent}/{PID_FILE}"; exec "$@"'
    return ["strace", "-qq", "-y", "-s", "40", "-o", str(log), *words, "sh", "-c", noted, "sh"]


def _seeing(log: Path) -> list[str]:
    return _strace(log, "-e", f"trace={','.join(KINDS)}")


def _failing(point: Point, log: Path) -> list[str]:
    """The words under which strace lets one call of a process fail, or kills it there."""
    how = "signal=SIGKILL" if point.fault == "SIGKILL" else f"error={point.fault}"
    inject = f"inject={point.call}:{how}:when={point.number}"
    return _strace(log, "-e", f"trace={point.call}", "-e", inject)


def _git_under(folder: Path, before: Sequence[str], *, only: int | None) -> str:
    """A folder with a git that runs under strace where it writes.

    Args:
        folder: where to put it.
        before: strace and its options; `%` in it becomes the number of the git, from 0.
        only: the one git that is meant; None means each of them.
    """
    real = shutil.which("git")
    folder.mkdir(parents=True)
    words = " ".join(f"'{word}'" for word in before).replace("%", "'$count'")
    meant = "true" if only is None else f"[ $count = {only} ]"
    script = folder / "git"
    script.write_text(
        f"""#!/bin/sh
count=$(cat '{folder}/count' 2>/dev/null || echo 0)
for word; do case "$word" in {"|".join(WRITING)})
  echo $((count + 1)) > '{folder}/count'
  if {meant}; then exec {words} '{real}' "$@"; fi
  exec '{real}' "$@";;
esac; done
exec '{real}' "$@"
""",
        encoding="utf-8",
    )
    script.chmod(0o755)
    return str(folder)


def run(
    small: Small, words: Sequence[str], *before: str, path: str = ""
) -> subprocess.CompletedProcess[str]:
    """Runs a command, perhaps under strace or with another git."""
    env = os.environ | ENV
    if path:
        env["PATH"] = f"{path}{os.pathsep}{env['PATH']}"
    return subprocess.run(
        [*before, *LABBOOK, *words],
        cwd=small.root, env=env, stdin=subprocess.DEVNULL, capture_output=True,
        encoding="utf-8", errors="replace", timeout=120, check=False,
    )  # fmt: skip


_CALL = re.compile(r"(\w+)\((.*)")


def calls(log: Path) -> Iterator[tuple[str, int, str]]:
    """The calls of a process in a log: name, number among its namesakes, what it is about."""
    counts: Counter[str] = Counter()
    for line in log.read_text(errors="replace").splitlines():
        found = _CALL.match(line)
        if found is None:
            continue
        call, rest = found[1], found[2]
        counts[call] += 1
        yield call, counts[call], rest


def _changes_the_disk(call: str, rest: str) -> bool:
    if PID_FILE in rest:
        return False
    if call == "openat":
        return "O_CREAT" in rest
    to = rest.split(",")[0]
    return not re.match(r"[012]<(?!/tmp)", to) if call == "write" else True


def points(made: Small, name: str, folder: Path) -> list[Point]:
    """Every call of a command that changes what is on the disk, with each of the faults."""
    command = COMMANDS[name]
    words = command.words(made)
    own = copied(made, folder / "own", name)
    log = folder / "own.log"
    ran = run(own, words, *_seeing(log))
    assert ran.returncode == 0, (name, ran)
    assert all(command.kept(own)), name
    logs: list[tuple[int | None, Path]] = [(None, log)]
    theirs = copied(made, folder / "theirs", name)
    path = _git_under(folder / "bin", _seeing(folder / "git%.log"), only=None)
    ran = run(theirs, words, path=path)
    assert ran.returncode == 0, (name, ran)
    logs += [(int(one.stem[3:]), one) for one in sorted(folder.glob("git*.log"))]
    return [
        Point(name, git, call, number, _about(rest), fault)
        for git, one in logs
        for call, number, rest in calls(one)
        if _changes_the_disk(call, rest)
        for fault in FAULTS
    ]


def _about(rest: str) -> str:
    """The file that a call is about, without the folders of this run."""
    quoted = re.search(r'"([^"]*)"', rest) if "AT_FDCWD" in rest or rest[:1] == '"' else None
    handle = re.search(r"<([^>]*)>", rest)
    found = quoted or handle
    name = found[1] if found else rest
    return re.sub(r"^/.*/(own|theirs|nb)/", "", name)


@dataclass(frozen=True)
class Outcome:
    """What became of a run: whether the fault was met, its exit code, whether the entry is kept.

    `pid` is the process that met it, `seen` the line of strace with the call and its path.
    """

    point: Point
    pid: str
    met: bool
    code: int
    kept: bool
    seen: str

    def __str__(self) -> str:
        met = "met" if self.met else "not met"
        kept = "kept" if self.kept else "not kept"
        return f"{self.point}\n    process {self.pid}, {met}, exit {self.code}, {kept}: {self.seen}"


def suffer(made: Small, point: Point, folder: Path) -> Outcome:
    """Runs a command with one fault, and checks that nothing is lost and nothing half there.

    Raises:
        AssertionError: the notebook is not sound afterwards, or more or less was kept than said.
    """
    command = COMMANDS[point.command]
    small = copied(made, folder / "nb", point.command)
    log = folder / "injected.log"
    before = _failing(point, log)
    words = command.words(small)
    if point.git is None:
        ran = run(small, words, *before)
    else:
        ran = run(small, words, path=_git_under(folder / "bin", before, only=point.git))
    text = log.read_text(errors="replace") if log.exists() else ""
    hits = [line for line in text.splitlines() if "(INJECTED)" in line or "SIGKILL" in line]
    killed = point.fault == "SIGKILL" and point.git is None
    if killed:
        assert ran.returncode in (0, -signal.SIGKILL, 128 + signal.SIGKILL), (point, ran)
    else:
        assert "Traceback" not in ran.stderr, (point, ran)
        assert ran.returncode != 70, (point, ran)
        assert ran.returncode == 0 or ran.stderr.strip(), (point, ran)
    kept = _sound_after(small, command, ran)
    seen = hits[0][:160] if hits else ran.stderr[:160]
    noted = folder / PID_FILE
    pid = noted.read_text(encoding="utf-8").strip() if noted.exists() else "none"
    return Outcome(point, pid, bool(hits), ran.returncode, kept, seen)


def _sound_after(small: Small, command: Command, ran: subprocess.CompletedProcess[str]) -> bool:
    """The next command works, all is committed, and `check` has no error; whether all is kept."""
    for _ in range(50):  # a git that outlived labbook may still be writing
        if run_git(small.root, "fsck", "--strict", check=False).returncode == 0:
            break
        time.sleep(0.1)
    begun = any((small.root / ".git" / "labbook" / "intents").glob("*/*.json"))
    at_once = command.kept(small) if not begun else []
    add_lot(Bench(small.root), "glycerin", {"lot": "12"}, "the-next-command")
    result = check(Bench(small.root))
    assert not result.errors, result.problems
    kept = command.kept(small)
    assert kept == sorted(kept, reverse=True), kept  # none before the one that it follows from
    assert all(now or not before for before, now in zip(at_once, kept, strict=False))
    if ran.returncode == 0:
        assert all(kept), ran
    dirty = [line for line in git_says(small.root, "status", "--porcelain").splitlines() if line]
    assert dirty in ([], [f"M {PATH}"], [f" M {PATH}"]), dirty
    assert git_says(small.root, "rev-list", "--min-parents=2", "HEAD") == ""
    for _ in range(100):
        if not list((small.root / ".git").rglob("*.lock")):
            break
        time.sleep(0.05)
    assert_sound(small.root)
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
