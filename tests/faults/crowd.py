"""Many at once: processes that all write into one notebook, beside somebody's own git.

`python -m tests.faults.crowd --entries 200` runs it whole and states the longest wait.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from labbook.work.bench import Bench
from labbook.work.check import check
from labbook.work.make import Wish, make
from tests.notebook.repos import assert_sound, git_says
from tests.work.notebooks import Small, small_notebook

PROCESSES = 8
WRITER = """
import sys, time
from pathlib import Path
from labbook.work.bench import Bench
from labbook.work.note import note
batches, me, entries = sys.argv[1].split(","), int(sys.argv[2]), int(sys.argv[3])
longest = 0.0
for number in range(entries):
    batch = batches[0] if number % 2 == 0 else batches[1 + (me + number) % (len(batches) - 1)]
    began = time.monotonic()
    note(Bench(Path.cwd()), batch, [f"remark {me}.{number}"])
    longest = max(longest, time.monotonic() - began)
print(longest)
"""
FOREIGN = """
import subprocess, sys, time
from pathlib import Path
done = 0
while not Path("stop").exists():
    Path("shopping.txt").write_text(f"{done}\\n", "utf-8")
    for words in (["status"], ["add", "shopping.txt"], ["commit", "-q", "-m", "shopping"]):
        subprocess.run(["git", *words], capture_output=True)
    done += 1
    time.sleep(0.05)
print(done)
"""
"""Another program that uses git here: it adds and commits a file of its own."""


@dataclass(frozen=True)
class Crowd:
    """What a crowd wrote: the longest that one entry took, in seconds, and foreign commits."""

    entries: int
    seconds: float
    longest: float
    foreign: int


def _started(code: str, root: Path, *words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", code, *words],
        cwd=root, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        encoding="utf-8",
    )  # fmt: skip


def _ended(processes: Sequence[subprocess.Popen[str]]) -> list[str]:
    """What processes said that ended well; all are waited for before one of them is judged."""
    ends = [process.communicate() for process in processes]
    for process, (_, errors) in zip(processes, ends, strict=True):
        assert process.returncode == 0, errors
        assert "Traceback" not in errors
    return [said for said, _ in ends]


def crowded(folder: Path, entries: int, *, foreign: bool) -> Crowd:
    """Lets eight processes write so many entries each, half of them into one batch.

    Raises:
        AssertionError: an entry is missing or doubled, history has a merge, or `check` finds
            anything.
    """
    small = small_notebook(folder)
    batches = [small.open]
    batches += [make(Bench(small.root), "HC", Wish()).batch.id for _ in range(3)]
    before = int(git_says(small.root, "rev-list", "--count", "HEAD"))
    began = time.monotonic()
    other = _started(FOREIGN, small.root) if foreign else None
    words = [",".join(batches)]
    writers = [
        _started(WRITER, small.root, *words, str(me), str(entries)) for me in range(PROCESSES)
    ]
    try:
        longest = max(float(said) for said in _ended(writers))
        seconds = time.monotonic() - began
    finally:
        (small.root / "stop").touch()
        if other is not None:
            _ended([other])
    commits = _all_there(small, batches, entries, before)
    return Crowd(PROCESSES * entries, seconds, longest, commits)


def _all_there(small: Small, batches: Sequence[str], entries: int, before: int) -> int:
    """Checks a notebook after a crowd; gives how many commits of others are among its own."""
    wanted = {f"remark {me}.{number}" for me in range(PROCESSES) for number in range(entries)}
    kept = Bench(small.root).snapshot.batches
    remarks = [one for batch in batches for one in kept[batch].remarks]
    assert sorted(one.text for one in remarks) == sorted(wanted)
    assert len(kept[small.open].remarks) == PROCESSES * -(-entries // 2)
    for batch in batches:
        assert len({one.id for one in kept[batch].remarks}) == len(kept[batch].remarks)
    assert git_says(small.root, "rev-list", "--min-parents=2", "HEAD") == ""
    subjects = git_says(small.root, "log", "--format=%s").splitlines()
    foreign = subjects.count("shopping")
    # One commit each; a foreign `git commit` takes an entry along that is staged in that moment.
    own = len(subjects) - before - foreign
    assert own == PROCESSES * entries if not foreign else own <= PROCESSES * entries
    for name in ("stop", "shopping.txt"):
        (small.root / name).unlink(missing_ok=True)
    dirty = [line[3:] for line in git_says(small.root, "status", "--porcelain").splitlines()]
    assert [name for name in dirty if "shopping.txt" not in name] == []
    assert check(Bench(small.root)).problems == ()
    if not foreign:
        assert_sound(small.root)
    return foreign


def main() -> None:
    """Runs a crowd of the size asked for, alone and beside a busy git."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults.crowd", description=__doc__)
    parser.add_argument("--entries", type=int, default=200, help="of each of the eight processes")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as place:
        for name, foreign in (("alone", False), ("beside a busy git", True)):
            found = crowded(Path(place) / name.replace(" ", "-"), asked.entries, foreign=foreign)
            sys.stdout.write(
                f"{name}: {found.entries} entries in {found.seconds:.0f} s, the longest wait "
                f"{found.longest:.1f} s, {found.foreign} commits of others\n"
            )
            sys.stdout.flush()


if __name__ == "__main__":
    main()
