"""Files as hands and editors write them, none of them by this program; the data are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

FILES = {
    "indented lists": """\
# Hand cream, invented
code: HC          # on the jar
title: 'Hand cream, "thick"'

phases:
    -   phase: A
        name: "oil"        # warm
        lines:
            caprylic-capric-triglyceride:  14     # as bought
            beeswax:                        1.50  # from the keeper

    -   phase: B
        lines: {water: qs, glycerin: 4}
notes: |
    First line.

      Indented line.

# the end
looks:
    - {id: "o1", grade: 0}   # first
    - {id: "o2", grade: 1}
protocol: home
""",
    "flush lists": """\
looks:
- # the first, with a comment behind its dash
  id: o1
  grade: 0\t# a tab before a comment
- id: o2
  note: >-
    folded
    text
  grade: "1"
- {id: o3,
   grade: 2,   # in the middle
   modes: [separation, oil on top]}
code: HC
""",
    "one-line forms": """\
{code: HC, looks: [{id: o1, grade: 0}, {id: o2, grade: 1}], title: "x",
  notes: 'it''s', empty, deep: {a: {b: [1, 2]}}}
""",
    "several lines in brackets": """\
looks: [
  {id: o1, grade: 0},
  {id: o2, grade: 1},   # trailing comma
]
modes: [
  a,
  b
]
""",
    "keys without values": """\
code: HC
aim:
looks:
title:      # later
stays: []   # none yet
done: {}
last:
""",
    "document marks": """\
%YAML 1.2
---
code: HC
looks:
  - id: o1
...
""",
}
VARIANTS: dict[str, Callable[[str], str]] = {
    "as it is": lambda text: text,
    "Windows line ends": lambda text: text.replace("\n", "\r\n"),
    "byte order mark": lambda text: "\ufeff" + text,
    "no final newline": lambda text: text.rstrip("\n"),
    "all of it": lambda text: "\ufeff" + text.rstrip("\n").replace("\n", "\r\n"),
}
ALL = [
    pytest.param(vary(text), id=f"{name}, {how}")
    for name, text in FILES.items()
    for how, vary in VARIANTS.items()
]
TEXTS = [vary(text) for text in FILES.values() for vary in VARIANTS.values()]
