"""The harms that `check` has to name: to pins, copies, makings, lists of entries, numbers."""

from tests.work.harm import Harm, after, emptied, swap, turned, without

BEESWAX = "ingredient: beeswax"
ADDED = "  - {id: a9, phase: B, ingredient: allantoin, sheet: allantoin, percent: 0.2}"
DIGEST = "0" * 64
CLOSED = "closed-batch-changed"
LINES = "copied-lines-differ"

PINS = (
    Harm("pinned code", "open", "pin-code-differs", swap("  code: HC", "  code: LO"), "code: LO"),
    Harm("pinned id", "open", "pin-id-differs", swap("f-hc0001", "f-other1"), "f-other1"),
    Harm("pinned number", "open", "pin-version-differs", swap("version: 3", "version: 1"), "n: 1"),
    Harm(
        "number that never was",
        "open",
        "pin-version-differs",
        swap("version: 3", "version: 9"),
        "n: 9",
    ),
    Harm("pinned digest", "open", "pin-digest-differs", swap('digest: "', 'digest: "0'), "digest"),
    Harm("pinned blob", "open", "pin-blob-differs", swap('blob: "', 'blob: "0'), "blob"),
    Harm(
        "digest of a closed batch",
        "first",
        "pin-digest-differs",
        swap('digest: "', 'digest: "0'),
        "digest",
    ),
    Harm(
        "number of a closed batch",
        "second",
        "pin-version-differs",
        swap("version: 2", "version: 1"),
        "n: 1",
    ),
)
COPIES = (
    Harm(
        "phase",
        "open",
        LINES,
        swap("phase: A, ingredient: beeswax", "phase: B, ingredient: beeswax"),
        BEESWAX,
    ),
    Harm("ingredient", "open", LINES, swap(BEESWAX, "ingredient: candelilla-wax"), "candelilla"),
    Harm("percent", "open", LINES, swap("percent: 2.5", "percent: 3.5"), BEESWAX),
    Harm("q.s.", "open", LINES, swap("qs: yes, ", ""), "ingredient: water"),
    Harm(
        "q.s. elsewhere",
        "open",
        LINES,
        swap("percent: 0.8", "percent: 0.8, qs: yes"),
        "sodium-chloride",
    ),
    Harm("adjust", "open", LINES, swap("pH to 4.8", "pH to 3.8"), "citric"),
    Harm("role", "open", LINES, swap(', role: "preservative"', ""), "benzoate"),
    Harm("line taken out", "open", LINES, without("ingredient: glycerin"), '"a1"'),
    Harm("line added", "open", LINES, after("ingredient: citric", ADDED), "allantoin"),
    Harm(
        "order of lines", "open", LINES, turned("ingredient: beeswax", "ingredient: polyg"), "polyg"
    ),
    Harm(
        "percent in a closed batch", "second", LINES, swap("percent: 2.5", "percent: 3.5"), BEESWAX
    ),
    Harm(
        "planned step",
        "open",
        "copied-steps-differ",
        swap("set: {A: 72 °C, B: 72 °C}", "set: {A: 72 °C, B: 52 °C}"),
        "B: 52 °C",
    ),
    Harm("step taken out", "open", "copied-steps-differ", without('{id: "s3"'), '"s1"'),
)
MAKINGS = (
    Harm("weighed mass", "first", CLOSED, swap("mass: 14.02 g", "mass: 14.20 g"), '"w1"'),
    Harm("lot", "first", CLOSED, swap("beeswax-0815", "beeswax-0816"), '"w2"', alone=False),
    Harm("lot taken out", "first", CLOSED, swap(' lot: "beeswax-0815",', ""), '"w2"'),
    Harm(
        "time of a weighing",
        "first",
        CLOSED,
        swap(
            'line: "a3", mass: 4.50 g, time: "2026-03-02T10',
            'line: "a3", mass: 4.50 g, time: "2026-03-02T11',
        ),
        '"w3"',
    ),
    Harm(
        "weighing struck",
        "first",
        CLOSED,
        swap("mass: 1.52 g", 'mass: 1.52 g, struck: "x"'),
        '"w2"',
    ),
    Harm("weighing taken out", "first", CLOSED, without('"w3"'), '"w1"'),
    Harm(
        "weighing added",
        "first",
        CLOSED,
        after('"w7"', '  - {id: "w8", line: "a8", mass: 0.60 g}'),
        '"w8"',
    ),
    Harm("order of weighings", "first", CLOSED, turned('{id: "w1"', '{id: "w2"'), '"w2"'),
    Harm("value of a reading", "first", CLOSED, swap("value: 5.1", "value: 4.9"), '"r1"'),
    Harm(
        "what it was measured in", "first", CLOSED, swap('of: "water phase"', 'of: "bulk"'), '"r1"'
    ),
    Harm("remark", "first", CLOSED, swap("by hand at first", "by hand"), '"n1"'),
    Harm(
        "temperature reached",
        "first",
        CLOSED,
        swap("A: 72 °C, B: 71 °C", "A: 72 °C, B: 72 °C"),
        '"s1"',
    ),
    Harm(
        "done taken out",
        "first",
        CLOSED,
        swap(", done: {temperatures: {A: 72 °C, B: 71 °C}}", ""),
        '"s1"',
        alone=False,
    ),
    Harm("yield", "first", CLOSED, swap("97.3 g", "99.3 g"), "99.3 g"),
    Harm("size", "first", CLOSED, swap("size: 100 g", "size: 200 g"), "200 g"),
    Harm("target", "first", CLOSED, swap("target: 1.50 g", "target: 1.52 g"), BEESWAX),
    Harm("aim taken out", "first", CLOSED, without("aim:"), "id: "),
    Harm(
        "opened again",
        "first",
        CLOSED,
        lambda text: without("closed: ")(swap("state: closed", "state: open")(text)),
        "state: open",
        alone=False,
    ),
    Harm("correction changed", "first", CLOSED, swap("14.20 g", "14.10 g"), '"c1"'),
    Harm("correction taken out", "first", CLOSED, emptied("corrections"), "id: "),
    Harm("batch taken away", "first", "batch-taken-away", None, "", alone=False),
    Harm("open batch taken away", "open", "batch-taken-away", None, ""),
)
LISTS = (
    Harm("look taken out", "first", "entry-changed", without('"o2"'), '"o1"', "stability.yaml"),
    Harm(
        "grade of a look",
        "first",
        "entry-changed",
        swap("grade: 1", "grade: 0"),
        '"o2"',
        "stability.yaml",
    ),
    Harm(
        "modes of a look",
        "first",
        "entry-changed",
        swap(", modes: [separation]", ""),
        '"o2"',
        "stability.yaml",
    ),
    Harm(
        "grade added",
        "first",
        "entry-changed",
        swap("grade: 0", "grade: 0, modes: [grains]"),
        '"o1"',
        "stability.yaml",
    ),
    Harm("looks taken away", "first", "entries-taken-away", None, "", "stability.yaml"),
    Harm(
        "jar taken out", "first", "entry-changed", without('"j2"'), '"j1"', "jars.yaml", alone=False
    ),
    Harm("stay taken out", "first", "entry-changed", without('"y2"'), '"y1"', "jars.yaml"),
    Harm(
        "where a jar stood",
        "first",
        "entry-changed",
        swap('"fridge"', '"room"'),
        '"y3"',
        "jars.yaml",
    ),
    Harm(
        "when it was filled",
        "first",
        "entry-changed",
        swap('"2", filled: "2026-03-02', '"2", filled: "2026-03-01'),
        '"j2"',
        "jars.yaml",
    ),
    Harm("jars taken away", "first", "entries-taken-away", None, "", "jars.yaml", alone=False),
)
NUMBERS = (
    Harm(
        "number raised",
        "",
        "number-without-change",
        swap("version: 3", "version: 4"),
        "version: 4",
        uncommitted="number-without-version",
    ),
    Harm(
        "number raised by far",
        "",
        "number-skipped",
        lambda text: swap("percent: 3}", "percent: 2}")(text).replace("version: 3", "version: 8"),
        "version: 8",
        uncommitted="number-without-version",
    ),
    Harm("number set back", "", "number-set-back", swap("version: 3", "version: 2"), "version: 2"),
)

ALL = PINS + COPIES + MAKINGS + LISTS + NUMBERS
