"""The group `journal`."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from labbook.cli.group import group_of
from labbook.cli.place import Json, Place, bench_of

Name = Annotated[str, typer.Argument(help="A formula's code, a batch, or an entry.")]
Output = Annotated[
    str, typer.Option("--output", metavar="FOLDER", help="Where the site is written.")
]


def group() -> typer.Typer:
    """The group of commands."""
    found = group_of("The lab journal: private by default, published when you say so.")
    found.command("new")(new)
    found.command("public")(public)
    found.command("private")(private)
    found.command("check")(check)
    found.command("build")(build)
    return found


def new(
    context: typer.Context,
    title: Annotated[list[str], typer.Argument(help="What it is about.")],
) -> None:
    """Begin an entry of today."""
    from labbook.cli import say
    from labbook.show.telling import entry_screen
    from labbook.work.journal import new_entry

    say.show(new_entry(bench_of(context), " ".join(title)), entry_screen)


def public(
    context: typer.Context,
    name: Name,
    with_batches: Annotated[
        bool, typer.Option("--with-batches", help="A formula's batches too.")
    ] = False,
) -> None:
    """Make a formula, a batch or an entry public; the next build shows it."""
    from labbook.cli import say
    from labbook.show.telling import marked_screen
    from labbook.work.journal import mark

    result = mark(bench_of(context), name, public=True, with_batches=with_batches)
    say.show(result, marked_screen)


def private(context: typer.Context, name: Name) -> None:
    """Make a formula, a batch or an entry private; the next build takes it away."""
    from labbook.cli import say
    from labbook.show.telling import marked_screen
    from labbook.work.journal import mark

    say.show(mark(bench_of(context), name, public=False), marked_screen)


def check(context: typer.Context, output: Output = "", json: Json = False) -> None:
    """Say what would become public, what blocks are broken, which words to look at."""
    from labbook.cli import say
    from labbook.show.telling import journal_screen
    from labbook.work.journal import check as work
    from labbook.work.site import before_in, folder_of

    bench = bench_of(context)
    place: Any = context.find_object(Place)
    result = work(bench, before_in(folder_of(bench, output, place.here)))
    say.show(result, journal_screen, json=json)
    if result.errors:
        raise typer.Exit(1)


def build(context: typer.Context, output: Output = "", json: Json = False) -> None:
    """Write the journal as Markdown and as pages; nothing leaves this machine."""
    from labbook.cli import say
    from labbook.show.telling import built_screen
    from labbook.work.site import build as work
    from labbook.work.site import folder_of

    bench = bench_of(context)
    place: Any = context.find_object(Place)
    say.show(work(bench, folder_of(bench, output, place.here)), built_screen, json=json)
