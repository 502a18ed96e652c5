"""log, diff."""

from __future__ import annotations

from typing import Annotated

import typer

from labbook.cli.place import Json, bench_of


def log(
    context: typer.Context,
    code: Annotated[str, typer.Argument(help="A formula's code.")],
    json: Json = False,
) -> None:
    """Tell a formula's versions: what changed in each, and its batches."""
    from labbook.cli import say
    from labbook.show.formulas import log_screen
    from labbook.work.log import log as work

    say.show(work(bench_of(context), code), log_screen, json=json)


def diff(
    context: typer.Context,
    first: Annotated[str, typer.Argument(help="HC, HC@2, or a batch: 9t.")],
    second: Annotated[str | None, typer.Argument(help="Another; or a number: HC 2 3.")] = None,
    third: Annotated[str | None, typer.Argument(help="The later number.")] = None,
    json: Json = False,
    markdown: Annotated[bool, typer.Option("--markdown", help="The same as Markdown.")] = False,
    exit_code: Annotated[
        bool, typer.Option("--exit-code", help="End with 1 where something differs.")
    ] = False,
) -> None:
    """Tell two versions, formulas or batches apart."""
    from functools import partial

    from labbook.cli import say
    from labbook.evidence.difference import Difference
    from labbook.show.differences import batch_difference_screen, difference_screen
    from labbook.work.diff import compare

    result = compare(bench_of(context), first, second or "", third or "")
    found = result.found
    then = [(command.command, command.gloss) for command in result.then]
    if json:
        say.as_json(found)
    elif isinstance(found, Difference):
        if markdown:
            from labbook.show.markdown import difference_markdown

            say.write(difference_markdown(found))
        else:
            view = partial(difference_screen, dates=result.dates, became=result.became, then=then)
            say.show(found, view)
    else:
        say.show(found, partial(batch_difference_screen, about=result.about, then=then))
    if exit_code and not found.empty:
        raise typer.Exit(1)
