"""Screens and tables of `trace` and of a recall."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.results.tracing import Hop, Recall, Trace, TracedJar
from labbook.show.layout import Column, Screen
from labbook.show.parts import plural, then
from labbook.show.safe_csv import csv_text
from labbook.trade.exact import decimal_text

HOPS = (Column(), Column(), Column(), Column("", "point"), Column("", "unit"), Column())
JARS = (Column(), Column(), Column(), Column())
HEAD = (
    "jar", "full id", "batch", "formula", "product", "filled", "container", "mass", "stands",
    "place", "since", "looks", "last look", "seen",
)  # fmt: skip
PEOPLE = ("given to", "text to send")
LAW = (
    "If any of it was sold, who has to be told, and how soon, is a matter of the law there. The "
    "supplier's or an authority's notice goes before this list."
)
OF_IT = "lot of it"
UNTOLD = (
    "Only what was written down is here: a weighing without its lot, or a jar given away without "
    "a name, can't be found."
)


def trace_screen(result: Trace, screen: Screen) -> str:
    """What it comes from, what it went into, where each jar is."""
    _title(result, screen)
    _hops("comes from", result.back, screen, back=True)
    _hops("went into", result.forward, screen)
    _jars(result.jars, screen, people=result.people)
    _reactions(result, screen)
    _potted(result, screen)
    if not (result.back or result.forward or result.jars):
        screen.row("", "Nothing in the notebook hangs on it.")
    given = any(jar.given for jar in result.jars)
    if given and not result.people:
        screen.blank()
        screen.row("private", "Who has a jar stands in your own terminal, and in a recall.")
    commands = [f"labbook trace {result.name} --recall"] if result.jars else []
    commands += [f"labbook ingredient stock {result.name}"] if result.kind == "lot" else []
    then(screen, commands)
    return screen.text()


def recall_screen(result: Recall, screen: Screen) -> str:
    """People first, then jars that are here, then the words."""
    found = result.trace
    screen.title(f"Recall of {found.name}  {found.told}", plural(len(found.jars), "jar"))
    if found.supplier:
        screen.row("supplier", f"{found.supplier}, private: tell them, or ask them")
    if result.reason:
        screen.row("because", result.reason)
    screen.blank()
    people = [(f"{one.name}", ", ".join(one.jars)) for one in result.holders]
    screen.table(
        (Column("private: who has jars"), Column()),
        [("tell" if not n else "", row) for n, row in enumerate(people)],
    )
    if not people:
        screen.row("tell", "nobody, as far as it was written down who has a jar")
    screen.blank()
    _jars(result.here, screen, people=True, word="here")
    _reactions(found, screen)
    _hops("batches", [hop for hop in found.forward if hop.kind == "batch"], screen)
    _potted(found, screen)
    if result.notice:
        screen.blank()
        screen.row("to send", result.notice)
    screen.blank()
    screen.row("law", LAW)
    screen.row("not here", UNTOLD)
    then(screen, [f"labbook trace {found.name} --recall --csv recall.csv"])
    return screen.text()


def _title(result: Trace, screen: Screen) -> None:
    batches = [hop for hop in result.forward if hop.kind == "batch"]
    right = [plural(len(batches), "batch", "batches")] if batches else []
    right += [plural(len(result.jars), "jar")] if result.jars and result.kind != "jar" else []
    screen.title(f"{result.name}  {result.told}", ", ".join(right))
    if result.supplier:
        screen.row("supplier", f"{result.supplier}, private")


def _hops(word: str, hops: Sequence[Hop], screen: Screen, *, back: bool = False) -> None:
    """Packs and batches in a table, ingredients and tools in words.

    A lot that is named stands for its ingredient when looking back. What they came by is told where
    it is not the same for all.
    """
    tabled = [hop for hop in hops if hop.kind in ("lot", "batch")]
    alike = len({hop.through for hop in tabled if hop.kind == "batch"}) == 1
    if tabled:
        screen.blank()
        rows = [(word if not n else "", _cells(hop, alike)) for n, hop in enumerate(tabled)]
        screen.table(HOPS, rows)
        word = ""
    plain = [hop for hop in hops if hop.kind == "ingredient" and not (back and _in_its_lot(hop))]
    if plain and not tabled:
        screen.blank()
    for number, hop in enumerate(plain):
        blends = [name for name in hop.through if name not in {one.name for one in tabled}]
        by = f", in {', '.join(blends)}" if blends and back else ""
        screen.row(word if not number else "", f"{hop.name}{by}")
    tools = [f"{hop.name} ({', '.join(hop.ways)})" for hop in hops if hop.kind == "equipment"]
    if tools:
        screen.row("made with", ", ".join(tools))


def _in_its_lot(hop: Hop) -> bool:
    return hop.depth > 1 and set(hop.ways) == {OF_IT}


def _cells(hop: Hop, alike: bool) -> list[str]:
    dull = ("weighed", OF_IT, "filled")
    parts = [way for way in hop.ways if way not in dull]
    if hop.kind == "batch" and hop.through and not alike:
        parts.append(f"by {', '.join(hop.through)}")
    parts += [hop.state] if hop.state in ("open", "dropped") else []
    mass = "" if hop.mass is None else decimal_text(hop.mass)
    told = hop.told if hop.kind == "batch" else ""
    return [hop.name, told, hop.made, mass, "g" if mass else "", ", ".join(parts)]


def _jars(jars: Sequence[TracedJar], screen: Screen, *, people: bool, word: str = "jars") -> None:
    if not jars:
        return
    screen.blank()
    rows = []
    for number, jar in enumerate(jars):
        who = (f"with {jar.given_to}" if people and jar.given_to else "given away") * jar.given
        stands = [jar.condition or "not written down", "" if who else jar.place]
        cells = [jar.name, stands[0], who or stands[1], look_words(jar)]
        rows.append((word if not number else "", cells))
    screen.table(JARS, rows)


def _reactions(result: Trace, screen: Screen) -> None:
    """Reactions and complaints; what was said stands in the maker's own terminal only."""
    if not result.reactions:
        return
    screen.blank()
    for number, one in enumerate(result.reactions):
        who = f" of {one.who}" if one.who else ""
        said = f": {one.text}" if one.text else ", private"
        words = f"{one.name}  {one.day}  {one.kind}{who}{said}"
        screen.row("reactions" if not number else "", words)


def look_words(jar: TracedJar) -> str:
    """What was seen of a jar last, or when it failed."""
    if not jar.looks:
        return "not looked at"
    return f"{jar.last_look} {jar.seen}".strip()


def _potted(found: Trace, screen: Screen) -> None:
    if found.potted:
        screen.row("no jars", f"written down for {', '.join(found.potted)}: look in the pot")


# Tables -------------------------------------------------------------------------------------------


def trace_csv(result: Trace) -> str:
    """The jars of a trace for a spreadsheet, without people."""
    return csv_text(HEAD, [_row(jar) for jar in result.jars])


def recall_csv(result: Recall) -> str:
    """The jars of a recall for a spreadsheet, with who has each and what to send them."""
    texts = {one.name: one.text for one in result.holders}
    rows = [
        [*_row(jar), jar.given_to, texts.get(jar.given_to, "") if jar.given else ""]
        for jar in result.trace.jars
    ]
    return csv_text((*HEAD, *PEOPLE), rows)


def _row(jar: TracedJar) -> list[str]:
    return [
        jar.name, jar.id, jar.batch, jar.of, jar.product, jar.filled, jar.container, jar.mass,
        "given away" if jar.given else jar.condition, jar.place, jar.since, str(jar.looks),
        jar.last_look, jar.seen,
    ]  # fmt: skip
