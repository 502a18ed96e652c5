"""`formula label`, `formula cost` and `formula import`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from labbook.cli.place import Json, bench_of, size_of

OneFormula = Annotated[
    str | None, typer.Argument(help="A code, HC, or a version: HC@2; may be left out with --batch.")
]
OneBatch = Annotated[
    str | None, typer.Option("--batch", help="What this batch was really made of: 7k.")
]


def label(
    context: typer.Context,
    formula: OneFormula = None,
    region: Annotated[str | None, typer.Option(help="EU, UK or US; else the notebook's.")] = None,
    batch: OneBatch = None,
    json: Json = False,
) -> None:
    """Draft the ingredient list: names, order, allergens, and what isn't known."""
    from labbook.cli import say
    from labbook.show.label import label_screen
    from labbook.work.label import label as work

    result = work(bench_of(context), formula or "", region=region or "", batch=batch or "")
    say.show(result, label_screen, json=json)


def cost(
    context: typer.Context,
    formula: OneFormula = None,
    size: Annotated[str | None, typer.Option(help="How much: 250g.")] = None,
    batch: OneBatch = None,
    json: Json = False,
) -> None:
    """Reckon what the ingredients cost, from your packs' prices; stays private."""
    from labbook.cli import say
    from labbook.show.cost import cost_screen
    from labbook.work.cost import cost as work

    result = work(bench_of(context), formula or "", size=size_of(size), batch=batch or "")
    say.show(result, cost_screen, json=json)


def import_(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="A table: CSV or XLSX.")],
    sheet: Annotated[str | None, typer.Option(help="The sheet of a workbook.")] = None,
    code: Annotated[str | None, typer.Option("--as", metavar="CODE", help="Its code: HC.")] = None,
    title: Annotated[str | None, typer.Option(help="What it is called.")] = None,
    kind: Annotated[
        str | None, typer.Option("--type", help="The emulsion type: oil-in-water ...")
    ] = None,
    use: Annotated[str | None, typer.Option(help="leave-on or rinse-off.")] = None,
    decimal: Annotated[
        str | None, typer.Option(metavar="point|comma", help="What parts the decimals.")
    ] = None,
    parts: Annotated[
        bool, typer.Option("--parts", help="The figures are parts by weight, not percent.")
    ] = False,
    end: Annotated[
        str | None, typer.Option("--range", metavar="low|middle|high", help="Which end counts.")
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Write it without asking.")] = False,
    json: Json = False,
) -> None:
    """Read a maker's table, say what was assumed, and write it once you confirm."""
    import sys

    from labbook.cli import say
    from labbook.show.importing import imported_screen
    from labbook.work.importing import read_table, write_table

    bench = bench_of(context)
    found = read_table(
        bench,
        file,
        sheet=sheet or "",
        code=code or "",
        title=title or "",
        emulsion=kind or "",
        use=use or "",
        decimal=decimal or "",
        parts=parts,
        end=end or "",
    )
    if not yes:
        say.show(found, imported_screen, json=json)
        person = sys.stdin.isatty() and sys.stdout.isatty() and not json
        if not person and not json and not found.read.unclear:
            say.write(f"write it    {found.command}\n")
        if not person or not found.ready or not typer.confirm("Write it?"):
            return
    done = write_table(bench, found, code=code or "", use=use or "")
    if not yes:
        say.write(f"written     {done.written.path if done.written else ''}\n")
        return
    say.show(done, imported_screen, json=json)
