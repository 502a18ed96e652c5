"""log, diff."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from labbook.cli.place import Json, bench_of


def add_to(app: typer.Typer) -> None:
    """Adds the commands of thinking."""
    app.command("log", rich_help_panel="Thinking")(log)
    app.command("diff", rich_help_panel="Thinking")(diff)


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
    second: Annotated[Optional[str], typer.Argument(help="Another; or a number: HC 2 3.")] = None,
    third: Annotated[Optional[str], typer.Argument(help="The later number.")] = None,
    json: Json = False,
    markdown: Annotated[bool, typer.Option("--markdown", help="The same as Markdown.")] = False,
    exit_code: Annotated[
        bool, typer.Option("--exit-code", help="End with 1 where something differs.")
    ] = False,
) -> None:
    """Tell two versions, formulas or batches apart."""
    from labbook.cli import say
    from labbook.evidence.difference import Difference
    from labbook.work.diff import diff as work

    found = work(bench_of(context), first, second or "", third or "")
    if json:
        say.as_json(found)
    elif markdown and isinstance(found, Difference):
        from labbook.show.markdown import difference_markdown

        say.write(difference_markdown(found))
    elif isinstance(found, Difference):
        from labbook.show.differences import difference_screen

        say.show(found, difference_screen)
    else:
        from labbook.show.differences import batch_difference_screen

        say.show(found, batch_difference_screen)
    if exit_code and not found.empty:
        raise typer.Exit(1)
