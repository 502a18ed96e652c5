"""How long `diff` of two versions takes, as a ratio against a general YAML differ in git.

The peer is told by git what two revisions hold, as its diff driver, and tells apart two trees of
keys and lists of any meaning. Both sides are whole runs from the shell: start, git, both contents,
the difference, the screen. `python -m tests.benchmarks.test_diff` prints the times.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import sysconfig
import tempfile
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

PAIRS = 15
HALF = 0.5
CODE = "SBC"
"""The sample's hand cream; its file in git is what both sides read."""


@dataclass(frozen=True)
class Bench:
    """The sample notebook, two revisions of a formula in it, and the environment of both sides."""

    folder: Path
    first: str
    second: str
    env: Mapping[str, str]

    def ours(self) -> list[str]:
        return [sys.executable, "-m", "labbook", "diff", CODE, "1", "2"]

    def theirs(self) -> list[str]:
        driver = Path(sysconfig.get_path("scripts")) / "graphtage-git-diff"
        return [
            *("git", "-c", f"diff.external={driver.as_posix()}", "--no-pager"),
            *("diff", "--ext-diff", self.first, self.second, "--", f"formulas/{CODE}.yaml"),
        ]

    def run(self, command: list[str]) -> str:
        done = subprocess.run(
            command, cwd=self.folder, env=self.env, capture_output=True, encoding="utf-8"
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def seconds(self, command: list[str]) -> float:
        before = time.perf_counter()
        self.run(command)
        return time.perf_counter() - before


def bench_in(folder: Path) -> Bench:
    """The sample replayed in a folder; both sides may keep their compiled modules there.

    Without them every start would compile each module anew, which is nobody's morning.
    """
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env |= {"PYTHONPYCACHEPREFIX": str(folder / "compiled"), "COLUMNS": "80"}
    demo = [sys.executable, "-m", "labbook", "demo", "sample"]
    subprocess.run(demo, cwd=folder, env=env, check=True, capture_output=True)
    # The peer is git's driver here, in place of the one that the notebook names.
    (folder / "sample" / ".git" / "info").mkdir(exist_ok=True)
    (folder / "sample" / ".git" / "info" / "attributes").write_text("** !diff\n", "ascii")
    log = ["git", "log", "--reverse", "--format=%H", "--", f"formulas/{CODE}.yaml"]
    found = subprocess.run(
        log, cwd=folder / "sample", check=True, capture_output=True, encoding="utf-8"
    ).stdout.split()
    return Bench(folder / "sample", found[0], found[1], env)


def in_turn(bench: Bench, pairs: int) -> Iterator[tuple[float, float]]:
    """Times of both sides, one after the other, so that a busy machine slows both alike."""
    for command in (bench.ours(), bench.theirs()):  # warm: compiled, and the notebook's cache full
        bench.run(command)
    for number in range(pairs):
        if number % 2:
            theirs = bench.seconds(bench.theirs())
            yield bench.seconds(bench.ours()), theirs
        else:
            ours = bench.seconds(bench.ours())
            yield ours, bench.seconds(bench.theirs())


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return bench_in(tmp_path_factory.mktemp("pace"))


def test_both_sides_tell_the_same_two_versions_apart(bench: Bench) -> None:
    ours = bench.run(bench.ours())
    theirs = bench.run(bench.theirs())
    for before, after in (("4.5", "3.6"), ("0.8", "0.4")):
        assert f"{before}0" in ours
        assert f"{after}0" in ours
        assert f"percent: {before} -> {after}" in theirs


def test_a_diff_takes_at_most_half_the_time_of_a_general_differ(bench: Bench) -> None:
    times = list(in_turn(bench, PAIRS))
    ratio = statistics.median(ours / theirs for ours, theirs in times)
    assert ratio <= HALF, f"{ratio:.2f} of the general differ's time"


if __name__ == "__main__":
    here = bench_in(Path(tempfile.mkdtemp()))
    told = list(in_turn(here, PAIRS))
    medians = [statistics.median(side) * 1000 for side in zip(*told, strict=True)]
    share = statistics.median(ours / theirs for ours, theirs in told)
    sys.stdout.write(f"labbook diff {CODE} 1 2     {medians[0]:.0f} ms\n")
    sys.stdout.write(f"general differ in git  {medians[1]:.0f} ms\n")
    sys.stdout.write(f"median of {PAIRS} ratios    {share:.2f}, at most {HALF}\n")
