"""A small real notebook, made by the program's own commands: invented, a pottery studio's creams.

HC is a water-in-oil hand cream with three versions. One batch of HC@1 is closed, corrected, and
its jars were looked at; one of HC@2 is closed; one of HC@3 is open. LO is a second formula.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

from labbook.model.problems import Problem
from labbook.model.quantities import Quantity, parse_quantity
from labbook.work.bench import Bench
from labbook.work.check import check
from labbook.work.close import Filling, close
from labbook.work.correct import correct
from labbook.work.formulas import new_formula
from labbook.work.init import start
from labbook.work.look import look
from labbook.work.make import Wish, make
from labbook.work.materials import add_lot
from labbook.work.note import note
from labbook.work.save import save
from labbook.work.seeing import Seen
from labbook.work.weigh import weigh
from tests.notebook.repos import put

HC = """\
code: HC
title: Hand cream for throwers   # invented
id: "f-hc0001"
emulsion: water-in-oil
batch size: 100 g
phases:
  - phase: A
    name: oil
    lines:
      sunflower-oil: 14
      beeswax: 1.5
      polyglyceryl-3-diisostearate: 4.5
  - phase: B
    name: water
    lines:
      - {ingredient: water, percent: qs}
      - {ingredient: glycerin, percent: 4}
      - {ingredient: sodium-chloride, percent: 0.8}
      - {ingredient: sodium-benzoate, percent: 0.5, role: preservative}
      - {ingredient: citric-acid-20-percent, percent: 0.6, adjust: "pH to 4.8 to 5.0"}
method:
  - {id: s1, do: heat, set: {A: 72 °C, B: 72 °C}, hold: 10 min}
  - {id: s2, do: combine, add: B, into: A, rate: slow, over: 6 min, then mix: 5 min}
  - {id: s3, do: cool, stir until: 30 °C}
notes: |
  The first one for the studio.
"""
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PATH = "formulas/HC.yaml"


@dataclass
class Maker:
    """A person at the bench: every command some minutes after the one before."""

    root: Path
    now: datetime = START

    def __post_init__(self) -> None:
        self._random = Random(7)

    @property
    def bench(self) -> Bench:
        """The bench as it stands now."""
        self.now += timedelta(minutes=10)
        return Bench(self.root, self.now, self._random)

    def edits(self, path: str, old: str, new: str) -> None:
        """A change in an editor, of text that stands there once."""
        text = (self.root / path).read_text(encoding="utf-8")
        assert text.count(old) == 1, (path, old, text)
        put(self.root, path, text.replace(old, new))


@dataclass(frozen=True)
class Small:
    """Where the notebook stands, and the ids of its batches."""

    root: Path
    first: str
    second: str
    open: str

    def path(self, batch_id: str, file: str = "batch.yaml") -> str:
        """A file of a batch."""
        return f"batches/2026/{batch_id}/{file}"


def grams(text: str) -> Quantity:
    """A mass."""
    return parse_quantity(text, "mass", default="g")


def weigh_all(maker: Maker, batch_id: str) -> None:
    """All lines but the one that is adjusted, near their targets."""
    entries = ["sunflower-oil=14.02", "beeswax=1.52", "polyglyceryl-3-diisostearate=4.50"]
    entries += ["water=74.10", "glycerin=4.01", "sodium-chloride=0.80", "sodium-benzoate=0.50"]
    weigh(maker.bench, batch_id, entries)


def small_notebook(folder: Path) -> Small:
    """Makes the notebook."""
    maker = Maker(folder)
    start(folder, title="Studio notebook")
    put(folder, PATH, HC)
    save(maker.bench, "HC")
    new_formula(maker.bench, "LO", title="A lotion", emulsion="oil-in-water")
    save(maker.bench, "LO")
    add_lot(maker.bench, "beeswax", {"lot": "0815"}, "beeswax-0815")
    first = make(maker.bench, "HC", Wish(aim="The first one.")).batch.id
    weigh_all(maker, first)
    note(maker.bench, first, ["A 72 B 71", "pH 5.1", "stirred by hand at first"])
    filling = Filling(yield_=grams("97.3 g"), jars=3, conditions=["room", "room", "fridge"])
    close(maker.bench, first, filling)
    short = first.rsplit("-", 1)[-1]
    for day, grade in ((1, 0), (7, 1)):
        maker.now = START + timedelta(days=day)
        look(maker.bench, f"{short}.1", Seen(grade=grade, modes=("separation",) if grade else ()))
    correct(maker.bench, first, "sunflower-oil=14.20", "read off the wrong way round")
    maker.edits(PATH, "beeswax: 1.5", "beeswax: 2.5")
    second = make(maker.bench, "HC", Wish()).batch.id
    weigh_all(maker, second)
    close(maker.bench, second, Filling(jars=1, conditions=["room"]))
    maker.edits(PATH, "glycerin, percent: 4}", "glycerin, percent: 3}")
    third = make(maker.bench, "HC", Wish()).batch.id
    note(maker.bench, third, ["A 70 B 70"])
    return Small(folder, first, second, third)


def findings(small: Small) -> tuple[Problem, ...]:
    """All that `check` says, read anew."""
    return check(Bench(small.root)).problems


def rules(small: Small) -> list[str]:
    """The names of the findings' rules."""
    return [problem.rule for problem in findings(small)]
