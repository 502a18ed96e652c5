"""A formula as a maker has it, and the ways in which a hand changes it: one edit, one outcome.

An outcome is either what the file then says (`gives`) or the problem with its place (`says`). The
formula is invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

PATH = "formulas/HC.yaml"
FORMULA = """\
code: HC
title: Hand cream for throwers
id: f-3k8dqa            # permanent
emulsion: water-in-oil
batch size: 100 g
phases:
  - phase: A
    name: oil
    lines:
      caprylic-capric-triglyceride: 14
      jojoba-oil: 8.50
      beeswax: 1.5
  - phase: B
    name: water
    lines:
      - {ingredient: water, percent: qs}
      - {ingredient: glycerin, percent: 4}
      - {ingredient: sodium-chloride, percent: 0.8}
method:
  - {id: s1, do: heat, set: {A: 72 °C, B: 72 °C}, hold: 10 min}
  - {id: s2, do: combine, add: B, into: A, rate: slow}
targets:
  - {of: water phase, reading: pH, from: 4.8, to: 5.0}
notes: |
  Markdown.
"""
LOT_PATH = "lots/jojoba-a.yaml"
LOT = """\
id: l-7h2k9p
ingredient: jojoba-oil
lot: A17
supplier: spring market
size: 250 g
"""


@dataclass(frozen=True)
class Edit:
    """A change to a file by hand.

    `says` holds one line a problem: `error 14:20 rule`; empty when there is none. `gives` are
    expected values by their place in the record. `message` is the whole of the first problem.
    """

    name: str
    change: Callable[[str], str | bytes]
    says: tuple[str, ...] = ()
    gives: tuple[tuple[str, str], ...] = ()
    message: str = ""
    path: str = PATH


def swap(old: str, new: str) -> Callable[[str], str | bytes]:
    """The edit that writes `new` for `old`, which has to be there."""

    def change(text: str) -> str:
        assert old in text, old
        return text.replace(old, new, 1)

    return change


def add(more: str) -> Callable[[str], str | bytes]:
    """The edit that writes more at the end."""
    return lambda text: text + more


A_LINE = "      beeswax: 1.5\n"
TITLE = "title: Hand cream for throwers"
STEPS = FORMULA[FORMULA.index("  - {id: s1") : FORMULA.index("targets:")]

TAKEN = [
    Edit(
        "a percent changed", swap("beeswax: 1.5", "beeswax: 1.75"), gives=(("A/beeswax", "1.75"),)
    ),
    Edit("digits kept", swap("beeswax: 1.5", "beeswax: 1.50"), gives=(("A/beeswax", "1.50"),)),
    Edit(
        "a line moved to another phase",
        lambda t: t.replace(A_LINE, "").replace(
            "      - {ingredient: glycerin",
            "      - {ingredient: beeswax, percent: 1.5}\n      - {ingredient: glycerin",
        ),
        gives=(("A/beeswax", "absent"), ("B/beeswax", "1.5")),
    ),
    Edit(
        "an ingredient renamed",
        swap("jojoba-oil", "golden-jojoba"),
        gives=(("A/golden-jojoba", "8.50"),),
    ),
    Edit(
        "a comment",
        swap("beeswax: 1.5", "beeswax: 1.5   # from the keeper"),
        gives=(("A/beeswax", "1.5"),),
    ),
    Edit("a comment line, blank lines", swap("targets:", "\n# where it should end\n\ntargets:")),
    Edit(
        "keys in another order",
        lambda t: t.replace(TITLE + "\n", "") + TITLE + "\n",
        gives=(("title", "Hand cream for throwers"),),
    ),
    Edit(
        "a tab before a comment",
        swap("beeswax: 1.5", "beeswax: 1.5\t# soft"),
        gives=(("A/beeswax", "1.5"),),
    ),
    Edit(
        "a lot that begins with a zero",
        swap("A17", "0815"),
        path=LOT_PATH,
        gives=(("lot", "0815"),),
    ),
    Edit(
        "a lot that looks like 7 × 10¹²",
        swap("A17", "7E12"),
        path=LOT_PATH,
        gives=(("lot", "7E12"),),
    ),
    Edit(
        "a value like a time of day", swap("A17", "12:30"), path=LOT_PATH, gives=(("lot", "12:30"),)
    ),
    Edit(
        "a time of day in a one-line form",
        swap("rate: slow", "rate: 12:30"),
        gives=(("method/1/rate", "12:30"),),
    ),
    Edit("the word no", swap("spring market", "no"), path=LOT_PATH, gives=(("supplier", "no"),)),
    Edit("a hash in quotes", swap("A17", '"#22"'), path=LOT_PATH, gives=(("lot", "#22"),)),
    Edit(
        "a value with an ampersand inside",
        swap("A17", "a&b*c!"),
        path=LOT_PATH,
        gives=(("lot", "a&b*c!"),),
    ),
    Edit(
        "quotes of either kind",
        swap(TITLE, "title: 'It''s \"soft\"'"),
        gives=(("title", 'It\'s "soft"'),),
    ),
    Edit("a byte order mark", lambda t: "\ufeff" + t, gives=(("code", "HC"),)),
    Edit("Windows line ends", lambda t: t.replace("\n", "\r\n"), gives=(("notes", "Markdown.\n"),)),
    Edit("no final newline", lambda t: t.rstrip("\n"), gives=(("notes", "Markdown."),)),
    Edit(
        "dashes flush with their key",
        swap(STEPS, STEPS.replace("  - ", "- ")),
        gives=(("method/1/id", "s2"),),
    ),
    Edit(
        "dashes far to the right",
        swap(STEPS, STEPS.replace("  - ", "      -   ")),
        gives=(("method/1/id", "s2"),),
    ),
    Edit(
        "a percent sign",
        swap("triglyceride: 14", "triglyceride: 14 %"),
        gives=(("A/caprylic-capric-triglyceride", "14"),),
    ),
    Edit("72 C for 72 °C", swap("A: 72 °C", "A: 72 C"), gives=(("method/0/set/A", "72 °C"),)),
    Edit("q.s. with points", swap("percent: qs", "percent: q.s."), gives=(("B/water", "qs"),)),
    Edit(
        "short lines written long",
        lambda t: t.replace(
            "      caprylic-capric-triglyceride: 14\n      jojoba-oil: 8.50\n" + A_LINE,
            "      - {ingredient: beeswax, percent: 1.5, role: wax}\n",
        ),
        gives=(("A/beeswax", "1.5"),),
    ),
    Edit("a key left empty", add("protocol:\n"), gives=(("protocol", "absent"),)),
    Edit("a document end", add("...\n"), gives=(("code", "HC"),)),
    Edit("a document start", lambda t: "---\n" + t, gives=(("code", "HC"),)),
]

WARNED = [
    Edit(
        "an unknown key in an open place",
        add("colour: white\n"),
        ("warning 26:1 unknown-key",),
        gives=(("code", "HC"),),
        message="the key 'colour' is not known here; it is kept and read by nothing | "
        "A remark goes into notes, or after a #.",
    ),
    Edit(
        "a hash after a blank in a value",
        swap("A17", "A17 #2"),
        ("warning 3:10 hash-in-value",),
        gives=(("lot", "A17"),),
        path=LOT_PATH,
        message="the value ends before the #: it is 'A17' | "
        'If # belongs to it, quote it: "A17 #2"; if not, put a space after #.',
    ),
    Edit(
        "only a remark where a value was",
        swap("A17", "# the label is lost"),
        ("warning 3:6 hash-in-value",),
        gives=(("lot", "absent"),),
        path=LOT_PATH,
    ),
]
