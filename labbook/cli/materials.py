"""The groups `ingredient` and `equipment`."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from labbook.cli.group import group_of
from labbook.cli.place import Json, bench_of, size_of


def ingredients() -> typer.Typer:
    """The group `ingredient`."""
    found = group_of("Ingredient sheets and lots.")
    found.command("new")(new)
    found.command("list")(list_)
    found.command("show")(show)
    found.command("swaps")(swaps)
    found.command("stock")(stock)
    lots = group_of("Packs of ingredients.")
    lots.command("add")(lot_add)
    lots.command("list")(lot_list)
    lots.command("use-up")(lot_use_up)
    found.add_typer(lots, name="lot")
    return found


def equipment() -> typer.Typer:
    """The group `equipment`."""
    from labbook.cli import instruments

    found = group_of("Balances, mixers, meters and ovens.")
    found.command("add")(equipment_add)
    found.command("list")(equipment_list)
    found.command("check")(instruments.check)
    found.command("calibrate")(instruments.calibrate)
    return found


def new(
    context: typer.Context,
    names: Annotated[list[str] | None, typer.Argument(help="Names of ingredients.")] = None,
    missing: Annotated[
        bool, typer.Option("--missing", help="All that formulas name and that have no sheet.")
    ] = False,
) -> None:
    """Write ingredient sheets: the starter where there is one, else a bare one."""
    from labbook.cli import say
    from labbook.show.materials import sheets_screen
    from labbook.work.materials import new_sheets

    say.show(new_sheets(bench_of(context), names or [], missing=missing), sheets_screen)


def list_(context: typer.Context, json: Json = False) -> None:
    """List the ingredients that have a sheet."""
    from labbook.cli import say
    from labbook.show.materials import ingredients_screen

    say.show(bench_of(context).snapshot.ingredients, ingredients_screen, json=json)


def show(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Any name it goes by.")],
    json: Json = False,
) -> None:
    """Show what is known of an ingredient, each figure with its source."""
    from labbook.cli.showing import show_material

    show_material(bench_of(context), name, json=json)


def swaps(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Any name it goes by.")],
    other: Annotated[str | None, typer.Argument(help="One to compare it with.")] = None,
    json: Json = False,
) -> None:
    """Tell what stood in its place before, and what does the same by its sheet; only reads."""
    from labbook.cli import say
    from labbook.show.swaps import swaps_screen
    from labbook.work.swaps import swaps as work

    say.show(work(bench_of(context), name, other or ""), swaps_screen, json=json)


def stock(
    context: typer.Context,
    name: Annotated[str | None, typer.Argument(help="Only that ingredient, or lot.")] = None,
    json: Json = False,
) -> None:
    """Tell what is left of each lot, what runs low, and what is old; only reads."""
    from labbook.cli import say
    from labbook.show.stock import stock_screen
    from labbook.work.stock import stock as work

    say.show(work(bench_of(context), name or ""), stock_screen, json=json)


def lot_add(
    context: typer.Context,
    ingredient: Annotated[str, typer.Argument(help="What is in the pack.")],
    lot: Annotated[str | None, typer.Option(help="The maker's lot number.")] = None,
    supplier: Annotated[str | None, typer.Option(help="Where from; never published.")] = None,
    size: Annotated[str | None, typer.Option(help="How much: 500g.")] = None,
    price: Annotated[str | None, typer.Option(help="12.50 EUR; never published.")] = None,
    opened: Annotated[str | None, typer.Option(help="The day.")] = None,
    expires: Annotated[str | None, typer.Option(help="The day on the pack.")] = None,
    grade: Annotated[str | None, typer.Option(help="Refined, 29 to 35 % …")] = None,
    name: Annotated[str | None, typer.Option(help="The file's name; made up if left out.")] = None,
) -> None:
    """Write down a new pack."""
    from labbook.cli import say
    from labbook.show.materials import lots_screen
    from labbook.work.materials import add_lot, moment_of

    fields: dict[str, Any] = {
        "lot": lot,
        "supplier": supplier,
        "size": size_of(size),
        "price": price,
        "grade": grade,
        "opened": moment_of(opened) if opened else None,
        "expires": moment_of(expires) if expires else None,
    }
    row = add_lot(bench_of(context), ingredient, fields, name or "")
    say.show((row,), lots_screen)


def lot_list(
    context: typer.Context,
    ingredient: Annotated[str | None, typer.Argument(help="Only packs of that.")] = None,
    all_: Annotated[bool, typer.Option("--all", help="Used up ones too.")] = False,
    json: Json = False,
) -> None:
    """List packs, and the batches that they went into."""
    from labbook.cli import say
    from labbook.show.materials import lots_screen
    from labbook.work.materials import list_lots

    say.show(list_lots(bench_of(context), ingredient or "", all_=all_), lots_screen, json=json)


def lot_use_up(
    context: typer.Context,
    lot: Annotated[str, typer.Argument(help="The pack, by the name of its file.")],
    on: Annotated[str | None, typer.Option("--on", help="The day; today if left out.")] = None,
) -> None:
    """Say that a pack is empty."""
    from labbook.cli import say
    from labbook.show.materials import lots_screen
    from labbook.work.materials import use_up

    say.show((use_up(bench_of(context), lot, on or ""),), lots_screen)


def equipment_add(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="A name for its file: bench-balance.")],
    kind: Annotated[str, typer.Option(help="balance, mixer, pH meter, thermometer, oven …")],
    title: Annotated[str | None, typer.Option(help="What it is.")] = None,
    readability: Annotated[str | None, typer.Option(help="The smallest step: 0.01g.")] = None,
    resolution: Annotated[str | None, typer.Option(help="What it can tell apart: 0.1 °C.")] = None,
    repeatability: Annotated[str | None, typer.Option(help="As weighed ten times: 0.02g.")] = None,
    capacity: Annotated[str | None, typer.Option(help="The most it takes: 500g.")] = None,
    radius: Annotated[
        str | None, typer.Option(help="Of a centrifuge, to the sample: 10cm.")
    ] = None,
    shear: Annotated[str | None, typer.Option(help="by hand, low, medium or high.")] = None,
    default: Annotated[bool, typer.Option("--default", help="Take it from now on.")] = False,
) -> None:
    """Write down a piece of equipment; the first of its kind becomes the usual one."""
    from labbook.cli import say
    from labbook.show.materials import equipment_screen
    from labbook.work.materials import add_equipment, equipment_fields

    fields = equipment_fields(
        kind=kind,
        title=title,
        shear=shear,
        readability=readability,
        resolution=resolution,
        repeatability=repeatability,
        capacity=capacity,
        radius=radius,
    )
    tool = add_equipment(bench_of(context), name, fields, default=default)
    say.show({name: tool}, equipment_screen)


def equipment_list(context: typer.Context, json: Json = False) -> None:
    """List the equipment."""
    from labbook.cli import say
    from labbook.show.materials import equipment_screen

    say.show(bench_of(context).snapshot.equipment, equipment_screen, json=json)
