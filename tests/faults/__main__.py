"""`python -m tests.faults --all`: every fault at every call of every recording command.

It takes hours; `--commands note,look` and `--every 20` take a part, `--jobs 2` runs two at a time.
Each line says the process, the call, the file, and what became of the entry; the end counts them.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from functools import partial
from pathlib import Path

from labbook.model.errors import LabbookError
from tests.conftest import GIT_CONFIG
from tests.faults.commands import COMMANDS
from tests.faults.injecting import Outcome, points, prepared, sampled, suffer, template
from tests.faults.running import Run, cold, loaded, warm
from tests.faults.tracing import KINDS, Point
from tests.work.notebooks import Small


def tell(line: str) -> None:
    """Writes a line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def _sealed() -> None:
    """As in the tests: nothing of the developer's settings of git."""
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        del os.environ[name]
    with tempfile.NamedTemporaryFile("w", suffix="gitconfig", delete=False) as file:
        file.write(GIT_CONFIG)
    os.environ |= {"GIT_CONFIG_GLOBAL": file.name, "GIT_CONFIG_NOSYSTEM": "1"}


def suffered(begun: dict[str, Small], folder: Path, run: Run, job: tuple[int, Point]) -> Outcome:
    """One point in a folder of its own; a notebook that was harmed is left there."""
    number, point = job
    own = folder / f"p{number}"
    own.mkdir()
    try:
        outcome = suffer(begun[point.command], point, own, run)
    except (AssertionError, LabbookError, OSError, subprocess.SubprocessError) as error:
        return Outcome(point, "", False, 0, False, "", f"{type(error).__name__}: {error}"[:2000])
    shutil.rmtree(own, ignore_errors=True)
    return outcome


def main() -> int:
    """Runs the points asked for; gives 1 where one of them harmed a notebook."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("--all", action="store_true", help="every point; else a sample")
    parser.add_argument("--size", type=int, default=60, help="how many points the sample has")
    parser.add_argument("--seed", type=int, default=20260409)
    parser.add_argument("--every", type=int, default=1, help="of all points each n-th")
    parser.add_argument("--from", type=int, default=0, dest="first", help="begin with that one")
    parser.add_argument("--commands", default=",".join(COMMANDS))
    parser.add_argument("--cold", action="store_true", help="each in a process from the start")
    parser.add_argument("--jobs", type=int, default=1)
    asked = parser.parse_args()
    _sealed()
    run = cold if asked.cold else warm
    loaded()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as place:
        folder = Path(place)
        made = template(folder / "made")
        begun = {}
        found: list[Point] = []
        for name in asked.commands.split(","):
            begun[name] = prepared(made, name, folder / name / "begun")
            found += points(begun[name], name, folder / name, run)
        tell(f"{len(found)} points: {dict(Counter(f'{p.where} {KINDS[p.call]}' for p in found))}")
        tell(f"{dict(Counter(p.command for p in found))}")
        tell(
            f"{sum(point.of_index for point in found)} of them are about the index; they come last"
        )
        chance = random.Random(asked.seed)
        every = found[asked.first :: asked.every]
        chosen = every if asked.all else sampled(found, asked.size, chance)
        chosen.sort(key=lambda point: point.of_index)
        job = partial(suffered, begun, folder, run)
        began = time.monotonic()
        with multiprocessing.get_context("fork").Pool(asked.jobs) as pool:
            outcomes = []
            for outcome in pool.imap_unordered(job, enumerate(chosen)):
                tell(str(outcome))
                outcomes.append(outcome)
        took = time.monotonic() - began
    met = [one for one in outcomes if one.met]
    harmed = [one for one in outcomes if one.harm]
    inside = sum(one.point.where == "git" for one in met)
    for one in harmed:
        tell(str(one))
    tell(
        f"{len(found)} points known, {len(chosen)} run in {took:.0f} s, {len(met)} faults met, "
        f"{inside} of them inside git; {sum(one.kept for one in met)} entries kept; "
        f"{len(harmed)} notebooks harmed"
    )
    return bool(harmed)


if __name__ == "__main__":
    sys.exit(main())
