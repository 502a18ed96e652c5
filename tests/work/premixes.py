"""A premix in the small notebook: a solution that holds a fifth of preservative."""

from __future__ import annotations

from datetime import timedelta

from labbook.work.close import Filling, close
from labbook.work.make import Wish, make
from labbook.work.save import save
from labbook.work.weigh import weigh
from tests.notebook.repos import put
from tests.work.notebooks import START, Maker, Small

SOLUTION = """\
code: SBW
title: Benzoate solution, 20 percent   # invented
id: "f-sbw001"
emulsion: solution
batch size: 50 g
phases:
  - phase: A
    lines:
      - {ingredient: water, percent: qs}
      - {ingredient: sodium-benzoate, percent: 20, role: preservative}
method:
  - {id: s1, do: mix, with: by hand}
"""


def with_premix(small: Small) -> Small:
    """The same notebook with a batch of the solution, made after the others and closed."""
    maker = Maker(small.root, START + timedelta(days=20))
    put(small.root, "formulas/SBW.yaml", SOLUTION)
    save(maker.bench, "SBW")
    premix = make(maker.bench, "SBW", Wish()).batch.id
    weigh(maker.bench, premix, ["water=40.04", "sodium-benzoate=10.01"])
    close(maker.bench, premix, Filling(jars=0))
    return small
