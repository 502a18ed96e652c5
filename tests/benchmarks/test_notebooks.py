"""The notebooks that measurements use are whole ones, and the same on every machine."""

import subprocess
from pathlib import Path

from labbook.model.problems import Severity
from labbook.work.bench import Bench
from labbook.work.check import check
from tests.benchmarks.notebooks import Size, write

TINY = Size(3, 3, 12)


def _head(folder: Path) -> str:
    words = ["git", "-C", str(folder), "rev-parse", "HEAD"]
    return subprocess.run(words, check=True, capture_output=True, encoding="ascii").stdout


def test_one_seed_gives_one_notebook(tmp_path: Path) -> None:
    first, again = write(tmp_path / "a", TINY), write(tmp_path / "b", TINY)
    assert _head(first) == _head(again) != _head(write(tmp_path / "c", TINY, seed=2))


def test_it_is_a_notebook_in_which_check_finds_no_fault(tmp_path: Path) -> None:
    bench = Bench(write(tmp_path / "a", TINY))
    assert len(bench.snapshot.batches) == TINY.batches
    assert len(bench.history.of("F001")) == TINY.versions
    found = [one for one in check(bench).problems if one.severity is Severity.ERROR]
    assert found == []
