"""The group `journal`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from labbook.cli.group import group_of
from labbook.cli.place import Json, Place, bench_of

Name = Annotated[str, typer.Argument(help="A formula's code, a batch, or an entry.")]
Output = Annotated[
    str, typer.Option("--output", metavar="FOLDER", help="Where the site is written.")
]

Since = Annotated[
    str,
    typer.Option("--since", metavar="FILE", help="A published.json: what was published last."),
]
Branch = Annotated[
    str,
    typer.Option("--branch", metavar="NAME", help="Commit the pages to a branch of their own."),
]


def group() -> typer.Typer:
    """The group of commands."""
    found = group_of("The lab journal: private by default, published when you say so.")
    found.command("new")(new)
    found.command("public")(public)
    found.command("private")(private)
    found.command("check")(check)
    found.command("build")(build)
    found.command("serve")(serve)
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


def check(
    context: typer.Context, output: Output = "", since: Since = "", json: Json = False
) -> None:
    """Say what would become public, what blocks are broken, which words to look at."""
    from labbook.cli import say
    from labbook.show.telling import journal_screen
    from labbook.work.journal import check as work
    from labbook.work.site import folder_of, last_published, state_in

    bench = bench_of(context)
    here = _here(context)
    last = last_published(here / since) if since else state_in(folder_of(bench, output, here))
    result = work(bench, last)
    say.show(result, journal_screen, json=json)
    if result.errors:
        raise typer.Exit(1)


def build(
    context: typer.Context,
    output: Output = "",
    since: Since = "",
    branch: Branch = "",
    json: Json = False,
) -> None:
    """Write the journal as Markdown and as pages; nothing leaves this machine."""
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.telling import built_screen
    from labbook.work.pages_branch import build_branch
    from labbook.work.site import build as work
    from labbook.work.site import folder_of, last_published

    bench = bench_of(context)
    here = _here(context)
    if branch and output:
        raise Unclear("Into a folder or onto a branch?", mend="Leave out --output or --branch.")
    if branch:
        result = build_branch(bench, branch, here / since if since else None)
    else:
        last = last_published(here / since) if since else None
        result = work(bench, folder_of(bench, output, here), last)
    say.show(result, built_screen, json=json)


def serve(
    context: typer.Context,
    port: Annotated[
        int, typer.Option("--port", metavar="NUMBER", help="The port; any free one, if left out.")
    ] = 0,
) -> None:
    """Show the journal in a browser on this computer, anew whenever a file changes."""
    from labbook.cli.serving import serve_journal

    serve_journal(bench_of(context), port)


def _here(context: typer.Context) -> Path:
    place: Any = context.find_object(Place)
    here: Path = place.here
    return here
