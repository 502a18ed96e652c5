"""Edits by hand that YAML takes and the format doesn't: wrong keys, values, and lines together."""

from __future__ import annotations

from tests.notebook.hand_edits import LOT_PATH, STEPS, TITLE, Edit, add, swap

MISTAKES = [
    Edit(
        "an ingredient twice, long",
        swap("ingredient: glycerin", "ingredient: Water"),
        ("error 17:22 line-twice",),
        message="Water stands twice in phase B | "
        "Add the two percents together in one line, or move one to its phase.",
    ),
    Edit(
        "a code that is not the file's",
        swap("code: HC", "code: SOFT"),
        ("error 1:7 name-of-file",),
        message="the code is SOFT, but the file is HC.yaml | "
        "Rename the file to SOFT.yaml, or write code: HC",
    ),
    Edit("a code in small letters", swap("code: HC", "code: hc"), ("error 1:7 code",)),
    Edit(
        "a mistyped key in an open place",
        swap("batch size", "bacth size"),
        ("error 5:1 mistyped-key",),
        message="there is no key 'bacth size' here; it looks like batch size | Write batch size:",
    ),
    Edit(
        "a mistyped key in a line",
        swap("percent: 0.8", "procent: 0.8"),
        ("error 18:39 mistyped-key",),
        message="there is no key 'procent' here; it looks like percent | Write percent:",
    ),
    Edit(
        "an underscore for the blank in a key",
        swap("batch size", "batch_size"),
        ("error 5:1 mistyped-key",),
    ),
    Edit(
        "an unknown key in a line",
        swap("percent: 4}", "percent: 4, supplier: x}"),
        ("error 17:44 unknown-key",),
        message="there is no key 'supplier' here | "
        "The keys are: ingredient, percent, active percent, adjust, role, note.",
    ),
    Edit(
        "a comma in an unquoted value",
        swap("rate: slow}", "rate: slow, then fast}"),
        ("error 21:56 unknown-key",),
        message="the comma before 'then fast' ends the value and begins a new key | "
        'Quote a value with a comma in it: "slow, then fast"',
    ),
    Edit(
        "a temperature without unit",
        swap("A: 72 °C", "A: 72"),
        ("error 20:33 wrong-value",),
        message="set A of s1: 72 has no unit; write it with one: 72 °C | ",
    ),
    Edit(
        "two lines with qs",
        swap("percent: 4", "percent: qs"),
        ("error 17:41 two-qs",),
        message="glycerin: a second line has qs | "
        "Only one line can fill up to 100 %; give this one a number.",
    ),
    Edit(
        "no percent",
        swap(", percent: 4", ""),
        ("error 17:9 percent-missing",),
        message="glycerin has no percent | "
        "Write it: percent: 1.5, or qs in the one line that fills up to 100 %.",
    ),
    Edit(
        "no percent in the short form",
        swap("beeswax: 1.5", "beeswax:"),
        ("error 12:15 percent-missing",),
    ),
    Edit(
        "a power of ten",
        swap("percent: 4", "percent: 1e5"),
        ("error 17:41 wrong-value",),
        message="percent of glycerin: '1e5' is not a number | "
        "Write digits with a point, like 0.8, or qs in the line that fills up.",
    ),
    Edit(
        "an underscore in a number",
        swap("percent: 4", "percent: 1_000"),
        ("error 17:41 wrong-value",),
    ),
    Edit("not a number", swap("percent: 4", "percent: NaN"), ("error 17:41 wrong-value",)),
    Edit(
        "digits of another script", swap("percent: 4", "percent: ٤"), ("error 17:41 wrong-value",)
    ),
    Edit("the sign for a half", swap("beeswax: 1.5", "beeswax: 1½"), ("error 12:16 wrong-value",)),
    Edit(
        "below zero",
        swap("percent: 4", "percent: -4"),
        ("error 17:41 wrong-value",),
        message="percent of glycerin: -4 is below zero | ",
    ),
    Edit("a word of no list", swap("do: heat", "do: haet"), ("error 20:18 wrong-value",)),
    Edit(
        "a needed key left empty",
        swap(TITLE, "title:"),
        ("error 2:1 missing-key",),
        message="title is missing | Add it: title: …",
    ),
    Edit("a needed key deleted", swap(TITLE + "\n", ""), ("error 1:1 missing-key",)),
    Edit(
        "a list for one value",
        swap("water-in-oil", "[water-in-oil]"),
        ("error 4:11 wrong-value",),
        message="emulsion: one value belongs here, not a list | ",
    ),
    Edit("text for a list", swap(STEPS, "  heat, then combine\n"), ("error 20:3 wrong-value",)),
    Edit("an id twice", swap("id: s2", "id: s1"), ("error 21:10 id-twice",)),
    Edit("an id that is a number", swap("id: s2", "id: 2"), ("error 21:10 wrong-value",)),
    Edit("a phase twice", swap("phase: B", "phase: A"), ("error 13:12 phase-twice",)),
    Edit("a range backwards", swap("from: 4.8", "from: 5.8"), ("error 23:42 range-backwards",)),
    Edit("drops", swap("100 g", "20 drops"), ("error 5:13 wrong-value",)),
    Edit(
        "more than a percent in the short form",
        swap("beeswax: 1.5", "beeswax: {percent: 1.5}"),
        ("error 12:16 wrong-value",),
    ),
    Edit("an empty entry", swap("targets:\n", "targets:\n  -\n"), ("error 23:3 empty-entry",)),
    Edit("day before month", add("bought: 3.1.2026\n"), ("error 6:9 wrong-value",), path=LOT_PATH),
    Edit(
        "a time without offset",
        add("opened: 2026-02-20 12:30\n"),
        ("error 6:9 wrong-value",),
        path=LOT_PATH,
    ),
    Edit(
        "several slips at once",
        lambda t: (
            t.replace("beeswax: 1.5", "beeswax: 1,5")
            .replace("do: heat", "do: haet")
            .replace("batch size", "batch syze")
            .replace("percent: 4", "percent: qs")
        ),
        (
            "error 5:1 mistyped-key",
            "error 12:16 decimal-comma",
            "error 17:41 two-qs",
            "error 20:18 wrong-value",
        ),
    ),
]
