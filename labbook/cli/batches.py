"""The group `batch`: long forms, and what is needed less often."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from labbook.cli import making
from labbook.cli.group import group_of
from labbook.cli.place import Json, Message, bench_of, written_to

Named = Annotated[str, typer.Argument(help="The batch: 7k, or its full id.")]


def group() -> typer.Typer:
    """The group of commands."""
    app = group_of("Batches: new, weigh, note, close, list, show, sheet, correct, drop.")
    app.command("new")(making.make)
    app.command("weigh")(making.weigh)
    app.command("note")(making.note)
    app.command("close")(making.close)
    app.command("list")(list_)
    app.command("show")(show)
    app.command("sheet")(sheet)
    app.command("correct")(correct)
    app.command("drop")(drop)
    return app


def list_(
    context: typer.Context,
    code: Annotated[str | None, typer.Argument(help="Only those of a formula.")] = None,
    dropped: Annotated[bool, typer.Option("--dropped", help="Dropped ones too.")] = False,
    json: Json = False,
) -> None:
    """List batches, newest first."""
    from labbook.cli import say
    from labbook.show.making import list_screen
    from labbook.work.batches import list_batches

    say.show(list_batches(bench_of(context), code or "", dropped=dropped), list_screen, json=json)


def show(context: typer.Context, batch: Named, json: Json = False) -> None:
    """Show everything recorded about a batch."""
    from labbook.cli import say
    from labbook.show.making import shown_screen
    from labbook.work.batches import show_batch

    say.show(show_batch(bench_of(context), batch), shown_screen, json=json)


def sheet(
    context: typer.Context,
    batch: Annotated[str | None, typer.Argument(help="The batch; the only open one.")] = None,
    file: Annotated[Path | None, typer.Option("-o", "--output", help="Into a file.")] = None,
) -> None:
    """Print the bench sheet, in Markdown."""
    from labbook.cli import say
    from labbook.work.sheet import sheet as work

    _, text = work(bench_of(context), batch)
    if file is None:
        say.write(text)
        return
    written_to(file, text.encode("utf-8"))
    say.write(f"{file}\n")


def correct(
    context: typer.Context,
    batch: Named,
    what: Annotated[
        str | None, typer.Argument(help="sunflower-oil=12.40, or ENTRY.KEY=VALUE.")
    ] = None,
    message: Message = None,
    who: Annotated[str | None, typer.Option(help="Who corrects it.")] = None,
    as_closed: Annotated[
        bool, typer.Option("--as-closed", help="Take a slip of the hand back.")
    ] = False,
) -> None:
    """Correct a closed batch: the new figure stands beside the first one."""
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.making import corrected_screen, put_back_screen
    from labbook.work.correct import as_it_was_closed
    from labbook.work.correct import correct as work

    bench = bench_of(context)
    if as_closed:
        say.show(as_it_was_closed(bench, batch), put_back_screen)
        return
    if not what:
        raise Unclear("Correct what?", mend=f"labbook batch correct {batch} NAME=VALUE -m ...")
    say.show(work(bench, batch, what, message or "", who=who or ""), corrected_screen)


def drop(context: typer.Context, batch: Named, message: Message = None) -> None:
    """Take a batch out of every list; its records stay."""
    from labbook.cli import say
    from labbook.show.making import corrected_screen
    from labbook.work.correct import drop as work

    say.show(work(bench_of(context), batch, message or ""), corrected_screen)
