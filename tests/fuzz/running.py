"""Draws inputs and runs the parsers, with a limit on time and memory for each input."""

from __future__ import annotations

import io
import signal
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any

from labbook.work.bench import Bench
from tests.fuzz.mutate import mutated
from tests.fuzz.targets import SAYS_NO, TARGETS, Target, World, made_targets
from tests.work.notebooks import small_notebook
from tests.work.test_sheet_in import sheet

MOST_SECONDS = 10
"""An input that takes longer, on however slow a machine, has no bound worth the name."""


@dataclass(frozen=True)
class Fault:
    """An input that a parser neither took nor refused."""

    target: str
    number: int
    raw: bytes
    said: str

    @property
    def kind(self) -> str:
        """What tells faults of one cause apart: the parser and the last line of the traceback."""
        lines = self.said.splitlines()
        where = [line.strip() for line in lines if line.startswith("  File")]
        return f"{self.target}: {where[-1] if where else ''}: {lines[-1][:90]}"


@dataclass
class Result:
    """How many inputs each parser got, took and refused, the slowest, and the faults."""

    inputs: Counter[str] = field(default_factory=Counter)
    taken: Counter[str] = field(default_factory=Counter)
    slowest: dict[str, float] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


class TooLong(BaseException):
    """Raised by the clock inside a parser; no parser can catch it by mistake."""


@contextmanager
def _in_time() -> Iterator[None]:
    def ring(*_: object) -> None:
        raise TooLong

    before = signal.signal(signal.SIGALRM, ring)
    signal.alarm(MOST_SECONDS)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def world_in(folder: Path) -> World:
    """The small notebook, made anew."""
    small = small_notebook(folder / "nb")
    bench = Bench(small.root)
    _ = bench.snapshot, bench.history
    return World(bench, small.open, folder / "input")


def workbook() -> bytes:
    """A small workbook as a library writes it."""
    from openpyxl import Workbook

    book = Workbook()
    sheet: Any = book.active
    for row in (("Ingredient", "%"), ("Water", 70.5), ("Beeswax", 1.5), ("Oil", "28 %")):
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def every_target(world: World) -> tuple[Target, ...]:
    """All parsers with their seeds."""
    return (*TARGETS, *made_targets(workbook(), sheet_seed(world)))


def sheet_seed(world: World) -> bytes:
    """A bench sheet as the page gives it."""
    at = "at 2026-03-09T10:31:05+00:00"
    return sheet(
        world.batch,
        f"w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | lot beeswax-0815 | {at}",
        f"n1-k3m7qa | note | smelled of honey | {at}",
        "step s2 | temperature A | 71 °C",
        "room | humidity | 45 %",
    )


def run(
    world: World,
    targets: Sequence[Target],
    inputs: int,
    seed: int,
    tell: Callable[[int], None] = lambda number: None,
) -> Result:
    """Runs so many inputs; input number n is the same on every machine."""
    result = Result()
    names = [target for target in targets for _ in range(target.weight)]
    for number in range(inputs):
        chance = Random(f"{seed}-{number}")
        target = chance.choice(names)
        raw = mutated(chance, target.seeds)
        result.inputs[target.name] += 1
        begun = time.process_time()
        try:
            with _in_time():
                target.run(world, raw, chance)
            result.taken[target.name] += 1
        except SAYS_NO:
            pass
        except (Exception, TooLong):  # a fault is whatever a parser raises beside its refusals
            result.faults.append(Fault(target.name, number, raw, traceback.format_exc()))
        took = time.process_time() - begun
        result.slowest[target.name] = max(result.slowest.get(target.name, 0.0), took)
        if number % 1000 == 0:
            tell(number)
    return result
