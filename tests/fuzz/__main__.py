"""`python -m tests.fuzz --inputs 100000 [--seed 1] [--only PARSER]`: counts, and every fault."""

from __future__ import annotations

import argparse
import resource
import sys
import tempfile
from pathlib import Path

from tests.fuzz.running import Result, every_target, run, world_in

MEMORY = 3_000_000_000


def main() -> int:
    """Runs it; 1 where a fault was found."""
    parser = argparse.ArgumentParser(prog="tests.fuzz")
    parser.add_argument("--inputs", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="parsers whose name begins so")
    asked = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    with tempfile.TemporaryDirectory() as folder:
        world = world_in(Path(folder))
        targets = [one for one in every_target(world) if one.name.startswith(asked.only)]
        result = run(world, targets, asked.inputs, asked.seed, _tell)
    _report(result)
    return 1 if result.faults else 0


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")


def _tell(number: int) -> None:
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{number}")


def _report(result: Result) -> None:
    for name, count in sorted(result.inputs.items()):
        taken, slowest = result.taken[name], result.slowest[name]
        _say(f"{name:24} {count:8} inputs, {taken:7} taken, slowest {slowest:.3f} s")
    _say(f"{sum(result.inputs.values())} inputs, {len(result.faults)} faults")
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    _say(f"most memory {most} MB")
    first = {fault.kind: fault for fault in reversed(result.faults)}
    for kind, fault in first.items():
        same = sum(1 for one in result.faults if one.kind == kind)
        _say(f"\n{kind}\n{same} times; first: input {fault.number}, {fault.raw[:200]!r}")
        _say(fault.said)


if __name__ == "__main__":
    sys.exit(main())
