"""Edits by hand that YAML refuses, or would read as something else than was meant."""

from __future__ import annotations

from tests.notebook.hand_edits import A_LINE, LOT_PATH, TITLE, Edit, add, swap

SLIPS = [
    Edit(
        "a tab for indentation",
        swap("    name: oil", "\tname: oil"),
        ("error 8:1 yaml-syntax",),
        message="a tab indents this line; YAML takes spaces only | Put two spaces for it.",
    ),
    Edit(
        "a decimal comma in a block",
        swap("beeswax: 1.5", "beeswax: 1,5"),
        ("error 12:16 decimal-comma",),
        message="percent of beeswax: 1,5 has a decimal comma; files take a point: 1.5 | ",
    ),
    Edit(
        "a decimal comma in a one-line form",
        swap("percent: 0.8", "percent: 0,8"),
        ("error 18:48 decimal-comma",),
        message="percent: 0,8 has a decimal comma; files take a point: 0.8 | ",
    ),
    Edit(
        "a decimal comma before a unit",
        swap("hold: 10 min", "hold: 7,5 min"),
        ("error 20:57 decimal-comma",),
        message="hold: 7,5 min has a decimal comma; files take a point: 7.5 min | ",
    ),
    Edit(
        "two decimal commas in one line",
        swap("from: 4.8, to: 5.0", "from: 4,8, to: 5,8"),
        ("error 23:42 decimal-comma", "error 23:51 decimal-comma"),
    ),
    Edit(
        "a key twice",
        swap("emulsion: water-in-oil", f"emulsion: water-in-oil\n{TITLE}"),
        ("error 5:1 duplicate-key",),
        message="title stands here a second time, after line 2 | "
        "Keep one of the two; YAML readers differ on which one counts.",
    ),
    Edit("an ingredient twice, short", swap(A_LINE, A_LINE * 2), ("error 13:7 duplicate-key",)),
    Edit(
        "an unquoted hash",
        swap("A17", "#22"),
        ("error 3:6 hash-in-value",),
        path=LOT_PATH,
        message="lot is empty: everything from # on is a comment | "
        'If it is the value, quote it: lot: "#22"',
    ),
    Edit(
        "a hash in a one-line form",
        swap("rate: slow", "rate: slow #2"),
        ("error 21:55 yaml-syntax",),
        message="everything from # on is a comment here, also the } that closes the line | "
        'Quote the value that holds the #: "# 7".',
    ),
    Edit(
        "an alias",
        swap("name: water", "name: *oil"),
        ("error 14:11 yaml-feature",),
        message="*oil is an alias of YAML, which files of a notebook don't use | "
        'Write the value out; if the text begins with *, quote it: "*oil"',
    ),
    Edit(
        "an anchor",
        swap("name: oil", "name: &oil oil"),
        ("error 8:11 yaml-feature",),
        message="& makes this an anchor of YAML, which files of a notebook don't use | "
        'If it begins the value, quote it: "&oil oil"',
    ),
    Edit(
        "a value that begins with &",
        swap("spring market", "&Co"),
        ("error 4:11 yaml-feature",),
        path=LOT_PATH,
    ),
    Edit(
        "a tag",
        swap("name: oil", "name: !oil"),
        ("error 8:11 yaml-feature",),
        message="! makes this a tag of YAML, which files of a notebook don't use | "
        'If it begins the value, quote it: "!oil"',
    ),
    Edit(
        "a tag before a value",
        swap("percent: 4", "percent: !!int 4"),
        ("error 17:41 yaml-feature",),
    ),
    Edit(
        "an empty file",
        lambda t: "",
        ("error 1:1 empty-file",),
        message="the file is empty | Write its keys, or delete it; git has what stood here before.",
    ),
    Edit("only comments", lambda t: "# all gone\n", ("error 1:1 empty-file",)),
    Edit(
        "a second document",
        add("---\ncode: SOFT\n"),
        ("error 26:1 yaml-feature",),
        message="a second document begins here | "
        "A file holds one; delete the line --- or ... before it.",
    ),
    Edit(
        "what git leaves of a merge",
        swap(A_LINE, f"<<<<<<< HEAD\n{A_LINE}=======\n      beeswax: 2\n>>>>>>> other\n"),
        ("error 12:1 merge-conflict",),
        message="git left both sides of a merge here | The two sides stand between <<<<<<< and "
        ">>>>>>>, parted by =======. Keep what is right and delete the marker lines.",
    ),
    Edit("nested too deep", add("x: " + "[" * 120 + "\n"), ("error 26:103 too-deep",)),
    Edit("brackets without end", add("x: " + "[" * 30_000 + "\n"), ("error 26:103 too-deep",)),
    Edit("more than 2 MB", add("#" * 2_000_000), ("error 0:0 unreadable-file",)),
    Edit("another encoding", lambda t: t.encode("latin-1"), ("error 20:36 unreadable-file",)),
    Edit("UTF-16", lambda t: t.encode("utf-16"), ("error 1:1 unreadable-file",)),
    Edit(
        "an invisible character", swap("name: oil", "name: oil\0"), ("error 8:14 unreadable-file",)
    ),
    Edit(
        "a line separator from the web",
        swap("Markdown", "Mark\u2028down"),
        ("error 25:7 unreadable-file",),
    ),
    Edit("line ends of old Macs", lambda t: t.replace("\n", "\r"), ("error 1:9 unreadable-file",)),
    Edit("a colon missing", swap("emulsion: w", "emulsion w"), ("error 4:1 yaml-syntax",)),
    Edit(
        "a space missing after the colon",
        swap("emulsion: w", "emulsion:w"),
        ("error 4:1 yaml-syntax",),
        message="a space is missing after the colon | Write emulsion: water-in-oil",
    ),
    Edit(
        "a colon in a value",
        swap("cream for", "cream: for"),
        ("error 2:8 yaml-syntax",),
        message="this value holds a colon and a space, which begin a new key | "
        'Put quotes around it: title: "Hand cream: for throwers"',
    ),
    Edit(
        "a bracket that stays open", swap("percent: 4}", "percent: 4"), ("error 17:9 yaml-syntax",)
    ),
    Edit("a quote that stays open", swap("title: ", 'title: "'), ("error 2:8 yaml-syntax",)),
    Edit(
        "an apostrophe in single quotes",
        swap(TITLE, "title: 'A thrower's'"),
        ("error 2:19 yaml-syntax",),
    ),
    Edit(
        "a line one space short",
        swap("    name: water", "   name: water"),
        ("error 14:4 yaml-syntax",),
    ),
]
