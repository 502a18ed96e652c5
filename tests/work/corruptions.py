"""Ways in which a hand or another program can harm what a notebook has recorded.

Each changes files as an editor would; a test commits them with plain git, or leaves them there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests.notebook.repos import run_git
from tests.work.notebooks import PATH, Small

Change = Callable[[Path], None]


@dataclass(frozen=True)
class Harm:
    """One way, and what `check` has to say.

    `which` is the batch: first, second (both closed), open; empty for the formula. `at` is a piece
    of the line that the finding has to point at, empty for a file that is gone; `alone` is False
    where a second finding about the same harm is right.
    """

    name: str
    which: str
    rule: str
    change: Callable[[str], str] | None
    at: str
    file: str = "batch.yaml"
    alone: bool = True

    def path(self, small: Small) -> str:
        """The file that is harmed."""
        if not self.which:
            return PATH
        return small.path(getattr(small, self.which), self.file)

    def do(self, small: Small, root: Path) -> None:
        """Changes the file; without a change it is taken away."""
        file = root / self.path(small)
        if self.change is None:
            file.unlink()
            return
        text = file.read_text(encoding="utf-8")
        harmed = self.change(text)
        assert harmed != text
        file.write_text(harmed, encoding="utf-8")


def swap(old: str, new: str) -> Callable[[str], str]:
    """One piece of text for another; it stands there once."""

    def change(text: str) -> str:
        assert text.count(old) == 1, (old, text.count(old))
        return text.replace(old, new)

    return change


def without(piece: str) -> Callable[[str], str]:
    """The line that holds a piece is taken out."""

    def change(text: str) -> str:
        lines = text.splitlines(keepends=True)
        (found,) = [line for line in lines if piece in line]
        lines.remove(found)
        return "".join(lines)

    return change


def after(piece: str, line: str) -> Callable[[str], str]:
    """A line is added below the one that holds a piece."""

    def change(text: str) -> str:
        lines = text.splitlines(keepends=True)
        (index,) = [n for n, found in enumerate(lines) if piece in found]
        lines.insert(index + 1, line + "\n")
        return "".join(lines)

    return change


def turned(first: str, second: str) -> Callable[[str], str]:
    """Two lines change places."""

    def change(text: str) -> str:
        lines = text.splitlines(keepends=True)
        (a,) = [n for n, found in enumerate(lines) if first in found]
        (b,) = [n for n, found in enumerate(lines) if second in found]
        lines[a], lines[b] = lines[b], lines[a]
        return "".join(lines)

    return change


def emptied(key: str) -> Callable[[str], str]:
    """A list at the end of a file loses all its entries, and its key."""

    def change(text: str) -> str:
        return text[: text.index(f"\n{key}:") + 1]

    return change


BEESWAX = "ingredient: beeswax"
ADDED = "  - {id: a9, phase: B, ingredient: allantoin, sheet: allantoin, percent: 0.2}"
DIGEST = "0" * 64
CLOSED = "closed-batch-changed"
LINES = "copied-lines-differ"

PINS = (
    Harm("pinned code", "open", "pin-code-differs", swap("  code: HC", "  code: LO"), "code: LO"),
    Harm("pinned id", "open", "pin-id-differs", swap("f-hc0001", "f-other1"), "f-other1"),
    Harm("pinned number", "open", "pin-version-differs", swap("version: 3", "version: 1"), "n: 1"),
    Harm("number that never was", "open", "pin-version-differs", swap("version: 3", "version: 9"),
         "n: 9"),
    Harm("pinned digest", "open", "pin-digest-differs", swap('digest: "', 'digest: "0'), "digest"),
    Harm("pinned blob", "open", "pin-blob-differs", swap('blob: "', 'blob: "0'), "blob"),
    Harm("digest of a closed batch", "first", "pin-digest-differs",
         swap('digest: "', 'digest: "0'), "digest"),
    Harm("number of a closed batch", "second", "pin-version-differs",
         swap("version: 2", "version: 1"), "n: 1"),
)  # fmt: skip
COPIES = (
    Harm("phase", "open", LINES, swap("phase: A, ingredient: beeswax", "phase: B, ingredient: beeswax"), BEESWAX),
    Harm("ingredient", "open", LINES, swap(BEESWAX, "ingredient: candelilla-wax"), "candelilla"),
    Harm("percent", "open", LINES, swap("percent: 2.5", "percent: 3.5"), BEESWAX),
    Harm("q.s.", "open", LINES, swap("qs: yes, ", ""), "ingredient: water"),
    Harm("q.s. elsewhere", "open", LINES, swap("percent: 0.8", "percent: 0.8, qs: yes"), "sodium-chloride"),
    Harm("adjust", "open", LINES, swap("pH to 4.8", "pH to 3.8"), "citric"),
    Harm("role", "open", LINES, swap(', role: "preservative"', ""), "benzoate"),
    Harm("line taken out", "open", LINES, without("ingredient: glycerin"), '"a1"'),
    Harm("line added", "open", LINES, after("ingredient: citric", ADDED), "allantoin"),
    Harm("order of lines", "open", LINES, turned("ingredient: beeswax", "ingredient: polyg"), "polyg"),
    Harm("percent in a closed batch", "second", LINES, swap("percent: 2.5", "percent: 3.5"), BEESWAX),
    Harm("planned step", "open", "copied-steps-differ", swap("set: {A: 72 °C, B: 72 °C}", "set: {A: 72 °C, B: 52 °C}"), "B: 52 °C"),
    Harm("step taken out", "open", "copied-steps-differ", without('{id: "s3"'), '"s1"'),
)  # fmt: skip
MAKINGS = (
    Harm("weighed mass", "first", CLOSED, swap("mass: 14.02 g", "mass: 14.20 g"), '"w1"'),
    Harm("lot", "first", CLOSED, swap("beeswax-0815", "beeswax-0816"), '"w2"', alone=False),
    Harm("lot taken out", "first", CLOSED, swap(' lot: "beeswax-0815",', ""), '"w2"'),
    Harm("time of a weighing", "first", CLOSED,
         swap('line: "a3", mass: 4.50 g, time: "2026-03-02T10', 'line: "a3", mass: 4.50 g, time: "2026-03-02T11'),
         '"w3"'),
    Harm("weighing struck", "first", CLOSED, swap("mass: 1.52 g", 'mass: 1.52 g, struck: "x"'), '"w2"'),
    Harm("weighing taken out", "first", CLOSED, without('"w3"'), '"w1"'),
    Harm("weighing added", "first", CLOSED,
         after('"w7"', '  - {id: "w8", line: "a8", mass: 0.60 g}'), '"w8"'),
    Harm("order of weighings", "first", CLOSED, turned('{id: "w1"', '{id: "w2"'), '"w2"'),
    Harm("value of a reading", "first", CLOSED, swap("value: 5.1", "value: 4.9"), '"r1"'),
    Harm("what it was measured in", "first", CLOSED, swap("of: \"water phase\"", "of: \"bulk\""), '"r1"'),
    Harm("remark", "first", CLOSED, swap("by hand at first", "by hand"), '"n1"'),
    Harm("temperature reached", "first", CLOSED, swap("A: 72 °C, B: 71 °C", "A: 72 °C, B: 72 °C"), '"s1"'),
    Harm("done taken out", "first", CLOSED, swap(", done: {temperatures: {A: 72 °C, B: 71 °C}}", ""), '"s1"'),
    Harm("yield", "first", CLOSED, swap("97.3 g", "99.3 g"), "99.3 g"),
    Harm("size", "first", CLOSED, swap("size: 100 g", "size: 200 g"), "200 g"),
    Harm("target", "first", CLOSED, swap("target: 1.50 g", "target: 1.52 g"), BEESWAX),
    Harm("aim taken out", "first", CLOSED, without("aim:"), "id: "),
    Harm("opened again", "first", CLOSED,
         lambda text: without("closed: ")(swap("state: closed", "state: open")(text)),
         "state: open", alone=False),
    Harm("correction changed", "first", CLOSED, swap("14.20 g", "14.10 g"), '"c1"'),
    Harm("correction taken out", "first", CLOSED, emptied("corrections"), "id: "),
    Harm("batch taken away", "first", "batch-taken-away", None, "", alone=False),
    Harm("open batch taken away", "open", "batch-taken-away", None, ""),
)  # fmt: skip
LISTS = (
    Harm("look taken out", "first", "entry-changed", without('"o2"'), '"o1"', "stability.yaml"),
    Harm("grade of a look", "first", "entry-changed", swap("grade: 1", "grade: 0"), '"o2"',
         "stability.yaml"),
    Harm("modes of a look", "first", "entry-changed", swap(", modes: [separation]", ""), '"o2"',
         "stability.yaml"),
    Harm("grade added", "first", "entry-changed", swap("grade: 0", "grade: 0, modes: [odour]"),
         '"o1"', "stability.yaml"),
    Harm("looks taken away", "first", "entries-taken-away", None, "", "stability.yaml"),
    Harm("jar taken out", "second", "entry-changed", without('"j1"'), "jars:", "jars.yaml",
         alone=False),
    Harm("stay taken out", "first", "entry-changed", without('"y2"'), '"y1"', "jars.yaml"),
    Harm("where a jar stood", "first", "entry-changed", swap('"fridge"', '"room"'), '"y3"',
         "jars.yaml"),
    Harm("when it was filled", "first", "entry-changed",
         swap('"2", filled: "2026-03-02', '"2", filled: "2026-03-01'), '"j2"', "jars.yaml"),
    Harm("jars taken away", "first", "entries-taken-away", None, "", "jars.yaml", alone=False),
)  # fmt: skip
NUMBERS = (
    Harm("number raised", "", "number-without-change", swap("version: 3", "version: 4"),
         "version: 4"),
    Harm("number raised by far", "", "number-skipped",
         lambda text: swap("percent: 3}", "percent: 2}")(text).replace("version: 3", "version: 8"),
         "version: 8"),
    Harm("number set back", "", "number-set-back", swap("version: 3", "version: 2"), "version: 2"),
)  # fmt: skip

ALL = PINS + COPIES + MAKINGS + LISTS + NUMBERS


def commit_by_hand(root: Path, message: str) -> str:
    """Commits all that changed, as a person with plain git; gives the id."""
    run_git(root, "add", "-A")
    run_git(root, "commit", "-q", "-m", message)
    return run_git(root, "rev-parse", "HEAD").stdout.decode().strip()
