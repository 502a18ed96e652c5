"""equipment check, equipment calibrate: what an instrument told when it was looked at."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

import typer

from labbook.cli.place import Json, bench_of, nobody_to_ask

Day = Annotated[str | None, typer.Option("--on", help="The day; today if left out.")]


def check(
    context: typer.Context,
    name: Annotated[str | None, typer.Argument(help="The balance; the usual one.")] = None,
    mass: Annotated[str | None, typer.Option(help="What the piece weighs, if known: 100g.")] = None,
    shown: Annotated[
        str | None, typer.Option(help="What it showed, ten times, in g: '100.01 100.02 ...'")
    ] = None,
    on: Day = None,
    json: Json = False,
) -> None:
    """Weigh one mass ten times, to tell how well a balance repeats."""
    from labbook.cli import say
    from labbook.show.instruments import balance_screen
    from labbook.work.instruments import check_balance, shown_value, tool_named
    from labbook.work.materials import moment_of

    bench = bench_of(context)
    chosen, _ = tool_named(bench, name or "", "balance")
    if shown is None:
        values = _ask_ten(chosen)
    else:
        values = [shown_value(part) for part in shown.replace(";", " ").split()]
    when = moment_of(on) if on else None
    found = check_balance(bench, chosen, values, mass=mass or "", when=when)
    say.show(found, balance_screen, json=json)


def _ask_ten(name: str) -> list[Decimal]:
    """Ten weighings of the same piece, asked one by one; `-` takes the last one back."""
    import sys

    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.trade.instruments import WEIGHINGS
    from labbook.work.instruments import shown_value

    if not sys.stdin.isatty():
        raise nobody_to_ask(f'labbook equipment check {name} --shown "100.01 100.02 ..."')
    say.write(
        f"{name}: warm it up, level it, no draught. Take one piece, near what you weigh most;\n"
        f"put it in the middle, type what stands still, take it off, wait for zero. {WEIGHINGS}"
        " times.\n- takes the last one back.\n"
    )
    values: list[Decimal] = []
    while len(values) < WEIGHINGS:
        typed = typer.prompt(f"{len(values) + 1} of {WEIGHINGS}, g", prompt_suffix=": ")
        if typed.strip() == "-":
            values = values[:-1]
            continue
        try:
            values.append(shown_value(typed))
        except Unclear as error:
            say.write(f"            {error.what}\n")
    return values


def calibrate(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="The piece of equipment.")],
    what: Annotated[str | None, typer.Argument(help="two points, checked with 100 g …")] = None,
    result: Annotated[str | None, typer.Option(help="What came out.")] = None,
    buffer: Annotated[
        list[str] | None,
        typer.Option(help="7.00, 7.00=7.04 as read, or 7.00=-2.1mV; may be repeated."),
    ] = None,
    slope: Annotated[str | None, typer.Option(help="In %, as the meter tells it.")] = None,
    at: Annotated[str | None, typer.Option(help="How warm the buffers were: '22 C'.")] = None,
    by: Annotated[str | None, typer.Option(help="Who did it.")] = None,
    on: Day = None,
    json: Json = False,
) -> None:
    """Write down a calibration of a pH meter, or another check of a piece of equipment."""
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.instruments import meter_screen
    from labbook.work.instruments import Calibrated, buffer_of, calibrate_meter, shown_value
    from labbook.work.look import quantity_of
    from labbook.work.materials import moment_of

    bench = bench_of(context)
    tool = bench.snapshot.equipment.get(name)
    if tool is None or tool.kind != "pH meter" or not buffer:
        if slope or at:
            raise Unclear("A slope goes with buffers.", mend="Name them: --buffer 7.00=-2.1mV")
        _other(context, name, what or "", result, buffer, by, on)
        return
    said = Calibrated(
        buffers=tuple(buffer_of(one) for one in buffer),
        what=what or "",
        result=result or "",
        at=quantity_of(at, "temperature", "22 C"),
        slope=shown_value(slope.removesuffix("%")) if slope else None,
        by=by or "",
        when=moment_of(on) if on else None,
    )
    say.show(calibrate_meter(bench, name, said), meter_screen, json=json)


def _other(
    context: typer.Context,
    name: str,
    what: str,
    result: str | None,
    buffer: list[str] | None,
    by: str | None,
    on: str | None,
) -> None:
    """Any other check: a thermometer in ice, an oven against a second thermometer."""
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.materials import equipment_screen
    from labbook.work.materials import add_calibration, moment_of

    if not what:
        raise Unclear("What was checked?", mend=f'labbook equipment calibrate {name} "in ice"')
    bench = bench_of(context)
    fields: dict[str, Any] = {"date": moment_of(on) if on else bench.today, "what": what}
    fields |= {"result": result} if result else {}
    fields |= {"buffers": buffer} if buffer else {}
    fields |= {"by": by} if by else {}
    add_calibration(bench, name, fields)
    say.show({name: bench.afresh().snapshot.equipment[name]}, equipment_screen)
