"""Two machines with one notebook: random edits on both, exchanged in random order.

`python -m tests.notebook.two_machines 500` runs as many interleavings and counts what happened.
The data are invented. Every entry carries a mark of its own, so that a lost one is seen.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Callable, MutableMapping, Set
from dataclasses import dataclass, field
from random import Random

from labbook.notebook import edit
from labbook.notebook.merge import Merged, merge
from labbook.notebook.nodes import MERGE_CONFLICT, parse_all, plain
from labbook.notebook.spans import Source, written

FORMULA, BATCH, JARS, LOOKS = (
    "formulas/HC.yaml",
    "batches/2026/HC-260302-4M/batch.yaml",
    "batches/2026/HC-260302-4M/jars.yaml",
    "batches/2026/HC-260302-4M/stability.yaml",
)
KINDS = {FORMULA: "formula", BATCH: "batch", JARS: "jars", LOOKS: "stability"}
START = {
    FORMULA: """\
code: HC   # on the jar
title: "Hand cream"
id: "f-hc0001"
version: 1
emulsion: water-in-oil
phases:
  - phase: A
    lines:
      - {ingredient: sunflower-oil, percent: 14}
      # from the keeper
      - {ingredient: beeswax, percent: 1.5}
      - {ingredient: polyglyceryl-3-diisostearate, percent: 4.5}
  - phase: B
    lines:
      water: qs
      glycerin: 4
      sodium-chloride: 0.8
method:
  - {id: s1, do: heat, set: {A: 72 °C, B: 72 °C}, hold: 10 min}
  - {id: s2, do: combine, add: B, into: A, rate: slow}
notes: |
  The first one.
""",
    BATCH: """\
id: HC-260302-4M
state: open
made: "2026-03-02T09:00+00:00"
formula: {code: HC, id: "f-hc0001", version: 1, digest: "d", blob: "b"}
size: 100 g
lines:
  - {id: "a1", phase: A, ingredient: sunflower-oil, sheet: s1, percent: 14, target: 14 g}
weighings: []
""",
    JARS: """\
batch: HC-260302-4M
jars:
  - {id: "j1", jar: "1", filled: "2026-03-02T11:00+00:00"}
""",
    LOOKS: """\
batch: HC-260302-4M
looks:
  - {id: "o1", jar: "1", time: "2026-03-03T09:00+00:00", grade: 0, note: "m0"}
""",
}
LISTS = (
    (BATCH, "weighings", "w"),
    (BATCH, "readings", "r"),
    (BATCH, "deviations", "d"),
    (BATCH, "remarks", "n"),
    (BATCH, "corrections", "c"),
    (JARS, "stays", "y"),
    (LOOKS, "looks", "o"),
)

Texts = MutableMapping[str, str]


@dataclass(frozen=True)
class Edit:
    """One edit: what it touches, and what it does to the texts of a machine.

    Two edits with one `place` collide. `mark` is what must be found again at the end, once.
    """

    kind: str
    place: str
    path: str
    apply: Callable[[str], str]
    mark: str = ""


def adds(random: Random, mark: str, which: int) -> Edit:
    """A further entry of a list, as a command adds it."""
    path, name, prefix = LISTS[which % len(LISTS)]
    moment = f"2026-04-{random.randint(1, 28):02}T{random.randint(8, 18):02}:00+00:00"

    def apply(text: str) -> str:
        held = written(Source.of(text).root).get(name) or []
        number = max((int(row["id"][1:]) for row in held), default=0) + 1
        entry = {"id": f"{prefix}{number}", "time": moment, "note": mark}
        return edit.append(text, (name,), entry)

    return Edit(f"entry of {name}", f"list {name}", path, apply, mark)


def sets(random: Random, mark: str, which: int) -> Edit:
    """Another amount of a line."""
    names = ("sunflower-oil", "beeswax", "polyglyceryl-3-diisostearate", "glycerin")
    name = names[which % len(names)]
    amount = f"{random.randint(1, 400) / 100:.2f}"

    def apply(text: str) -> str:
        return re.sub(rf"(\b{name}(?:, percent)?: )[0-9.]+", lambda m: m[1] + amount, text, count=1)

    return Edit("amount", f"line {name}", FORMULA, apply)


def line(random: Random, mark: str, which: int) -> Edit:
    """A line of an ingredient of its own."""
    phase = which % 2
    name = f"oil-{mark}"
    amount = f"{random.randint(1, 30) / 10}"

    def apply(text: str) -> str:
        if phase:
            return edit.put(text, ("phases", 1, "lines", name), amount)
        return edit.append(text, ("phases", 0, "lines"), {"ingredient": name, "percent": amount})

    return Edit("line", f"list lines {phase}", FORMULA, apply, name)


def comment(random: Random, mark: str, which: int) -> Edit:
    """A comment above a key or an entry."""
    path, above = (
        (FORMULA, "title:"),
        (FORMULA, "method:"),
        (FORMULA, "      - {ingredient: beeswax"),
        (BATCH, "size:"),
        (LOOKS, "looks:"),
    )[which % 5]
    indent = above[: len(above) - len(above.lstrip())]

    def apply(text: str) -> str:
        at = re.search(rf"^{re.escape(above)}", text, re.MULTILINE)
        if at is None:
            return text
        return f"{text[: at.start()]}{indent}# {mark}\n{text[at.start() :]}"

    return Edit("comment", f"above {above}", path, apply, f"# {mark}\n")


def title(random: Random, mark: str, which: int) -> Edit:
    """Another title."""
    return Edit(
        "title",
        "title",
        FORMULA,
        lambda text: edit.set_value(text, ("title",), f"Cream {random.randint(1, 9)} {mark}"),
    )


def saves(random: Random, mark: str, which: int) -> Edit:
    """The next number, as `save` gives it; an amount changes with it."""
    amount = f"{random.randint(1, 300) / 100:.2f}"

    def apply(text: str) -> str:
        text = edit.set_value(text, ("version",), number_of(text) + 1)
        return re.sub(r"(sodium-chloride: )[0-9.]+", lambda m: m[1] + amount, text)

    return Edit("number", "number", FORMULA, apply)


def takes_out(random: Random, mark: str, which: int) -> Edit:
    """A line taken out, where it is still there."""

    def apply(text: str) -> str:
        return re.sub(r"^      - \{ingredient: sunflower-oil.*\n", "", text, flags=re.MULTILINE)

    return Edit("line taken out", "line sunflower-oil", FORMULA, apply)


def strikes(random: Random, mark: str, which: int) -> Edit:
    """An entry struck, with the reason; twice on one machine, the later reason stands."""

    def apply(text: str) -> str:
        return edit.put(text, ("looks", 0, "struck"), "the wrong jar")

    return Edit("look struck", "look o1", LOOKS, apply)


def words(random: Random, mark: str, which: int) -> Edit:
    """Another note on the first look."""
    note = f"note {random.randint(1, 99)}"
    return Edit(
        "look's note", "look o1", LOOKS, lambda text: edit.put(text, ("looks", 0, "note"), note)
    )


EDITS = (
    *(adds, adds, adds, adds, sets, sets, line, line, comment, comment),
    *(title, saves, saves, takes_out, strikes, words),
)


@dataclass
class Machine:
    """One machine: its files, and what they were when it last exchanged."""

    texts: dict[str, str]
    base: dict[str, str]
    since: list[tuple[Callable[..., Edit], int]] = field(default_factory=list)
    numbers: set[int] = field(default_factory=lambda: {1})


@dataclass
class Run:
    """One interleaving, and what was seen of it."""

    random: Random
    seen: Counter[str] = field(default_factory=Counter)
    marks: list[Edit] = field(default_factory=list)
    given_up: set[str] = field(default_factory=set)

    def edit_of(self, mine: Machine, other: Machine, mark: str) -> Edit:
        """A random edit; in part the like of one that the other machine has not sent yet."""
        make, which = self.random.choice(EDITS), self.random.randrange(20)
        if other.since and self.random.random() < 0.4:
            make, which = self.random.choice(other.since)
        mine.since.append((make, which))
        made = make(self.random, mark, which)
        places = [m(Random(0), "", w).place for m, w in other.since]
        self.seen["edits"] += 1
        self.seen["colliding"] += made.place in places
        self.seen[made.kind] += 1
        return made

    def exchanged(
        self, base: str, here: str, there: str, path: str, numbers: Set[int] = frozenset()
    ) -> str:
        """One file as both sides then have it; a conflict is put right, always in one way."""
        found = merge(base, here, there, KINDS[path])
        assert merge(base, there, here, KINDS[path]) == found, "the sides are not alike"
        self.seen["merges"] += bool(here != base and there != base and here != there)
        text = found.text
        if found.conflicts:
            self.seen["merges with a conflict"] += 1
            text = self.put_right(found)
        self.seen["entries renamed"] += len(found.renamed)
        if path == FORMULA and found.number is not None:
            self.seen["numbers given"] += 1
            assert found.number not in numbers, "a merge gave a number that was taken"
        return text

    def put_right(self, found: Merged) -> str:
        """What a person does: keep what stands there, and delete the rest."""
        node, problems = parse_all(found.text, "x.yaml")
        assert node is not None, problems
        assert {p.rule for p in problems} == {MERGE_CONFLICT}
        other = "".join(entry.get("other", "") for entry in plain(node)["conflict"])
        # What is given up was in the file for the person to see.
        self.given_up |= {edit.mark for edit in self.marks if edit.mark and edit.mark in other}
        return found.text[: found.text.index("# Two machines changed")]


def number_of(text: str) -> int:
    """The number of a formula."""
    return int(str(written(Source.of(text).root)["version"]))


def interleaving(seed: int, steps: int = 14) -> Run:
    """Edits on two machines, exchanged through a third place; ends when both are alike."""
    run = Run(Random(seed))
    store = dict(START)
    numbers = {1}
    machines = [Machine(dict(START), dict(START)) for _ in range(2)]

    def exchange(number: int) -> None:
        mine = machines[number]
        for path in START:
            known = numbers | mine.numbers
            text = run.exchanged(mine.base[path], mine.texts[path], store[path], path, known)
            mine.texts[path] = mine.base[path] = store[path] = text
        numbers.update(mine.numbers, {number_of(store[FORMULA])})
        mine.numbers |= numbers
        mine.since.clear()

    for step in range(steps):
        number = run.random.randrange(2)
        if run.random.random() < 0.2:
            exchange(number)
            continue
        mine, other = machines[number], machines[1 - number]
        made = run.edit_of(mine, other, f"m{seed}x{step}e")
        mine.texts[made.path] = made.apply(mine.texts[made.path])
        run.marks.append(made)
        mine.numbers.add(number_of(mine.texts[FORMULA]))
    for number in (0, 1, 0):
        exchange(number)
    assert machines[0].texts == machines[1].texts == store, "the machines differ"
    check_nothing_is_lost(run, store)
    return run


def check_nothing_is_lost(run: Run, store: Texts) -> None:
    """Every entry, line and comment once, and every file readable."""
    for path, text in store.items():
        node, problems = parse_all(text, path)
        assert node is not None, (path, problems)
        assert not problems, (path, problems)
    for made in run.marks:
        if made.mark and made.mark not in run.given_up:
            assert store[made.path].count(made.mark) == 1, (made.kind, made.mark)
            run.seen[f"kept: {made.kind}"] += 1
        elif made.mark:
            run.seen[f"given up in a conflict: {made.kind}"] += 1
    for path, name, _ in LISTS:
        rows = written(Source.of(store[path]).root).get(name) or []
        ids = [row["id"] for row in rows]
        assert len(ids) == len(set(ids)), (path, ids)


def main() -> None:
    """Runs many and prints the counts."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    total: Counter[str] = Counter()
    for seed in range(count):
        try:
            total += interleaving(seed).seen
        except AssertionError as error:
            sys.exit(f"seed {seed}: {error}")
    lines = [f"{count} interleavings; both machines ended alike in every one"]
    lines += [f"{number:7} {key}" for key, number in sorted(total.items())]
    lines.append(f"{100 * total['colliding'] / total['edits']:7.1f} % of the edits collide")
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
