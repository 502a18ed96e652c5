"""`stability creaming`: Stokes' speed of a droplet."""

from __future__ import annotations

from typing import Annotated

import typer

from labbook.cli.place import Json


def creaming(
    droplet: Annotated[str, typer.Argument(help="Its diameter under the microscope: '4 µm'.")],
    inner: Annotated[str, typer.Option(help="Density of the droplet: '0.92 g/ml'.")],
    outer: Annotated[str, typer.Option(help="Density of the phase around it: '1.00 g/ml'.")],
    viscosity: Annotated[str, typer.Option(help="Of that phase: '1 mPa s'.")],
    share: Annotated[str, typer.Option(help="All droplets by volume, in percent: 1.")],
    thin: Annotated[
        bool, typer.Option("--thin", help="Nothing thickens that phase: it flows like water.")
    ] = False,
    json: Json = False,
) -> None:
    """Tell how fast a droplet rises or sinks, where Stokes' law holds: in thin, dilute ones."""
    from labbook.cli import say
    from labbook.show.creaming import creaming_screen
    from labbook.work.creaming import creaming as work

    result = work(droplet, inner=inner, outer=outer, viscosity=viscosity, share=share, thin=thin)
    say.show(result, creaming_screen, json=json)
