"""trace: what hangs on a lot, a batch, a jar, an ingredient, a piece of equipment."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from labbook.cli.place import Json, Message, bench_of, written_to

PRIVATE = "It names people: keep it out of what you publish."


def trace(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="A lot, batch, jar, ingredient or tool.")],
    recall: Annotated[
        bool, typer.Option("--recall", help="Who has jars of it, and words to send; private.")
    ] = False,
    message: Message = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="The jars into a table.")] = None,
    json: Json = False,
) -> None:
    """Tell what it comes from, what it went into, and where each jar is; only reads."""
    import sys

    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show import tracing as view
    from labbook.work import tracing as work

    if json and csv:
        raise Unclear("--json and --csv?", mend="One of the two.")
    bench = bench_of(context)
    if recall:
        called = work.recall(bench, name, message or "")
        if csv:
            _written(csv, view.recall_csv(called))
            say.aside(PRIVATE)
            return
        say.show(called, view.recall_screen, json=json)
        return
    if message:
        raise Unclear("A reason goes with a recall.", mend=f"labbook trace {name} --recall -m ...")
    # Who has a jar is for the maker's own eyes: not into a pipe, a file or JSON.
    found = work.trace(bench, name, people=sys.stdout.isatty() and not json and not csv)
    if csv:
        _written(csv, view.trace_csv(found))
        return
    say.show(found, view.trace_screen, json=json)


def _written(file: Path, text: str) -> None:
    """Writes a table; the mark in front tells spreadsheets that it is UTF-8."""
    from labbook.cli import say

    written_to(file, b"\xef\xbb\xbf" + text.encode("utf-8", "replace"))
    say.write(f"{file}\n")
