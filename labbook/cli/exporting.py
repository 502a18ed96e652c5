"""export: the notebook as tables."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from labbook.cli.place import Json, bench_of


def export(
    context: typer.Context,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where the tables go.")],
    private: Annotated[
        bool, typer.Option("--private", help="With suppliers, prices and people.")
    ] = False,
    parquet: Annotated[
        bool, typer.Option("--parquet", help="As Parquet too; needs the library pyarrow.")
    ] = False,
    json: Json = False,
) -> None:
    """Write the whole notebook as CSV tables whose keys join, with a dictionary."""
    from labbook.cli import say
    from labbook.show.exporting import exported_screen
    from labbook.work.export import export as work

    result = work(bench_of(context), folder, private=private, parquet=parquet)
    say.show(result, exported_screen, json=json)
