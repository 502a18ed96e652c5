"""`formula hlb`."""

from __future__ import annotations

from typing import Annotated

import typer

from labbook.cli.place import Json, bench_of


def hlb(
    context: typer.Context,
    formula: Annotated[str, typer.Argument(help="A code, HC, or a version: HC@2.")],
    need: Annotated[
        str | None, typer.Option(help="The HLB to reach: 10.5; else what the oil phase asks for.")
    ] = None,
    first: Annotated[
        str | None, typer.Option("--with", help="One emulsifier, by its sheet or as NAME=15.")
    ] = None,
    second: Annotated[
        str | None, typer.Option("--and", help="The other emulsifier of the pair.")
    ] = None,
    emulsifier: Annotated[
        str | None, typer.Option(help="Percent of the formula that the pair is: 5.")
    ] = None,
    json: Json = False,
) -> None:
    """Compare what the oil phase asks for with what the emulsifiers give (oil-in-water)."""
    from labbook.cli import say
    from labbook.show.hlb import hlb_screen
    from labbook.work.hlb import hlb as work

    result = work(
        bench_of(context),
        formula,
        need=need or "",
        first=first or "",
        second=second or "",
        emulsifier=emulsifier or "",
    )
    say.show(result, hlb_screen, json=json)
