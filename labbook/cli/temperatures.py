"""`stability temperature`: the log of a thermometer."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from labbook.cli.place import Json, bench_of


def temperature(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="A log: a time and a temperature in each line.")],
    jar: Annotated[
        str | None, typer.Option(help="Only since that jar stands where it does: 7k.3.")
    ] = None,
    json: Json = False,
) -> None:
    """Tell how warm a place was by its log: mean kinetic temperature, highest, hours above 30."""
    from labbook.cli import say
    from labbook.show.temperatures import temperatures_screen
    from labbook.work.temperatures import temperatures

    say.show(temperatures(bench_of(context), file, jar=jar or ""), temperatures_screen, json=json)
