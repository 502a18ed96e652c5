"""sync: exchanging entries with a copy elsewhere."""

from __future__ import annotations

from typing import Annotated

import typer

from labbook.cli.place import Json, bench_of


def sync(
    context: typer.Context,
    remote: Annotated[
        str | None, typer.Argument(metavar="[COPY]", help="Which copy, where there are several.")
    ] = None,
    send: Annotated[
        bool, typer.Option("--send/--no-send", help="Send as well, or fetch and merge alone.")
    ] = True,
    json: Json = False,
) -> None:
    """Fetch, merge and send: exchange entries with a copy on another disk or machine."""
    import sys

    from labbook.cli import say
    from labbook.model.errors import GIT_REFUSED
    from labbook.show.syncing import synced_screen
    from labbook.work.syncing import sync as work

    asked = sys.stdin.isatty()
    result = work(bench_of(context), remote or "", send=send, ask=asked)
    say.show(result, synced_screen, json=json)
    if result.open:
        raise typer.Exit(GIT_REFUSED)
