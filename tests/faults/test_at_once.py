"""Eight processes at once, each with five whole `labbook note`: every entry is there, once.

Three of the five go into one batch that all share, the others into several.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from labbook.work.bench import Bench
from labbook.work.check import check
from labbook.work.make import Wish, make
from tests.notebook.repos import assert_sound, git_says
from tests.work.notebooks import small_notebook

PROCESSES, NOTES = 8, 5
WORKER = """
import subprocess, sys
batches, me, notes = sys.argv[1].split(","), int(sys.argv[2]), int(sys.argv[3])
for number in range(notes):
    batch = batches[0] if number % 2 == 0 else batches[1 + (me + number) % 3]
    command = [sys.executable, "-m", "labbook", "note", batch, f"remark {me}.{number}"]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
"""


def test_notes_at_once(tmp_path: Path) -> None:
    small = small_notebook(tmp_path / "nb")
    batches = [small.open]
    batches += [make(Bench(small.root), "HC", Wish()).batch.id for _ in range(3)]
    before = int(git_says(small.root, "rev-list", "--count", "HEAD"))
    workers = [
        subprocess.Popen(
            [sys.executable, "-c", WORKER, ",".join(batches), str(me), str(NOTES)],
            cwd=small.root,
            stdin=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            encoding="utf-8",
        )
        for me in range(PROCESSES)
    ]
    for worker in workers:
        _, errors = worker.communicate()
        assert worker.returncode == 0, errors
        assert "Traceback" not in errors
    wanted = {f"remark {me}.{number}" for me in range(PROCESSES) for number in range(NOTES)}
    kept = Bench(small.root).snapshot.batches
    remarks = [one for batch in batches for one in kept[batch].remarks]
    assert sorted(one.text for one in remarks) == sorted(wanted)
    assert len(kept[small.open].remarks) == PROCESSES * 3
    for batch in batches:
        assert len({one.id for one in kept[batch].remarks}) == len(kept[batch].remarks)
    count = int(git_says(small.root, "rev-list", "--count", "HEAD"))
    assert count == before + PROCESSES * NOTES  # one commit each
    assert git_says(small.root, "rev-list", "--min-parents=2", "HEAD") == ""
    changed = git_says(
        small.root, "log", "--format=", "--numstat", f"-{PROCESSES * NOTES}"
    ).splitlines()
    # The first remark of a batch brings the list's key with it.
    assert all(line.split("\t")[:2] in (["1", "0"], ["2", "0"]) for line in changed if line)
    assert git_says(small.root, "status", "--porcelain") == ""
    assert check(Bench(small.root)).problems == ()
    assert_sound(small.root)
