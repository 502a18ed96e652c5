"""why, next."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from labbook.cli.place import Json, bench_of, size_of

if TYPE_CHECKING:
    from labbook.work.bench import Bench

Until = Annotated[str, typer.Option("--until", help="A time: 7 d, 4 h, '3 cycles'.")]
Condition = Annotated[str, typer.Option("--condition", help="Where the jars stood: room, 40 °C.")]
Rate = Annotated[
    str, typer.Option("--rate", help="How often a real cause acts: mixed, always, sometimes.")
]


def why(
    context: typer.Context,
    first: Annotated[str | None, typer.Argument(help="A failed batch, or a formula.")] = None,
    second: Annotated[str | None, typer.Argument(help="A batch to set beside it.")] = None,
    until: Until = "",
    condition: Condition = "",
    explain: Annotated[bool, typer.Option("--explain", help="The reckoning, sources.")] = False,
    pairs: Annotated[bool, typer.Option("--pairs", help="Two that act only together.")] = False,
    flat: Annotated[bool, typer.Option("--flat", help="Without the rules of the trade.")] = False,
    shared: Annotated[
        bool, typer.Option("--shared", help="What failed batches of a formula have in common.")
    ] = False,
    rate: Rate = "mixed",
    json: Json = False,
) -> None:
    """Tell which differences can be the cause of a failure, and how sure that is."""
    from labbook.cli import say
    from labbook.show.why import why_screen
    from labbook.work.why import Asked, shared_by
    from labbook.work.why import why as work

    asked = Asked(until=until, condition=condition, pairs=pairs, flat=flat, rate=rate)
    bench = bench_of(context)
    if shared:
        from labbook.show.shared import shared_screen

        say.show(shared_by(bench, first or "", asked), shared_screen, json=json)
        return
    if first and not second and _is_trial(bench, first, json=json):
        return
    view = partial(why_screen, explain=explain, flat=flat)
    say.show(work(bench, first or "", second or "", asked), view, json=json)


def _is_trial(bench: Bench, first: str, *, json: bool) -> bool:
    """Whether the batch was made to tell something; then that is what is shown."""
    from labbook.cli import say
    from labbook.show.next_batch import lesson_screen
    from labbook.work.why import lesson_of

    found = lesson_of(bench, first)
    if found is None:
        return False
    say.show(found, lesson_screen, json=json)
    return True


def next_(
    context: typer.Context,
    first: Annotated[str | None, typer.Argument(help="A failed batch.")] = None,
    second: Annotated[str | None, typer.Argument(help="A batch to set beside it.")] = None,
    until: Until = "",
    condition: Condition = "",
    keep: Annotated[
        list[str] | None, typer.Option("--keep", help="Stays as in the good batch: NAME.")
    ] = None,
    size: Annotated[str | None, typer.Option(help="How much: 50g.")] = None,
    make: Annotated[bool, typer.Option("--make", help="Open it, and the repeat.")] = False,
    alone: Annotated[bool, typer.Option("--alone", help="Without the repeat beside it.")] = False,
    explain: Annotated[bool, typer.Option("--explain", help="The figures behind it.")] = False,
    rate: Rate = "mixed",
    json: Json = False,
) -> None:
    """Name the one batch that would tell most, and what either outcome would leave."""
    from labbook.cli import say
    from labbook.show.next_batch import next_screen
    from labbook.work.next_batch import open_next, plan_next
    from labbook.work.why import Asked

    asked = Asked(until=until, condition=condition, rate=rate)
    bench = bench_of(context)
    plan = plan_next(bench, first or "", second or "", asked, keep=keep or (), size=size_of(size))
    if not make:
        say.show(plan.shown, partial(next_screen, explain=explain), json=json)
        return
    from labbook.show.making import made_screen

    made = open_next(bench, plan, control=not alone)
    for number, one in enumerate(made, 1):
        say.show(one, made_screen, json=json, then=number == len(made))
