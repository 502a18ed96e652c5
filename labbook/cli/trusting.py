"""trust: let a notebook's own templates run."""

from __future__ import annotations

from typing import Annotated

import typer

from labbook.cli.place import bench_of, nobody_to_ask


def trust(
    context: typer.Context,
    yes: Annotated[bool, typer.Option("--yes", help="Trust them without asking.")] = False,
    forget: Annotated[bool, typer.Option("--forget", help="Trust none any more.")] = False,
) -> None:
    """Let the notebook's own templates write its journal, on this machine."""
    import sys

    from labbook.cli import say
    from labbook.show.trusting import trust_screen
    from labbook.work import trust as work
    from labbook.work.journal import templates

    bench = bench_of(context)
    if forget:
        done = work.forget(bench)
        say.write("no template is trusted any more\n" if done else "none was trusted\n")
        return
    found = work.look(bench, templates())
    say.show(found, trust_screen)
    if found.trusted:
        return
    if not yes:
        if not sys.stdin.isatty():
            raise nobody_to_ask("labbook trust --yes")
        if not typer.confirm("Let them run?"):
            return
    work.trust(bench, found.digest)
    say.write("trusted     until one of them changes\n")
