"""make, weigh, note, close."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from labbook.cli.place import KnownFrom, Message, bench_of, known_from_of, size_of

if TYPE_CHECKING:
    from labbook.model.batch import Batch as BatchRecord
    from labbook.work.bench import Bench

Batch = Annotated[str | None, typer.Argument(help="The batch; the only open one if left out.")]


def make(
    context: typer.Context,
    formula: Annotated[str, typer.Argument(help="A code, HC, or a version, HC@2.")],
    size: Annotated[str | None, typer.Option(help="How much: 100g.")] = None,
    made: Annotated[str | None, typer.Option(help="The day, for a batch made earlier.")] = None,
    known_from: KnownFrom = None,
    like: Annotated[str | None, typer.Option(help="Size and tools of that batch.")] = None,
    aim: Annotated[str | None, typer.Option(help="What it is for, in one sentence.")] = None,
    changes: Annotated[str | None, typer.Option(help="What is meant to change.")] = None,
    split: Annotated[str | None, typer.Option(help="Split off that batch: 7k:50g.")] = None,
    rework: Annotated[str | None, typer.Option(help="Made over from it: 7k:80g.")] = None,
    maker: Annotated[str | None, typer.Option(help="Who makes it.")] = None,
    session: Annotated[str | None, typer.Option(help="The day's session, by a name.")] = None,
) -> None:
    """Open a batch of a formula; saves the formula first when it changed."""
    from labbook.cli import say
    from labbook.show.making import made_screen
    from labbook.work.make import Wish, parents_of
    from labbook.work.make import make as work

    bench = bench_of(context)
    wish = Wish(
        size=size_of(size),
        made=made,
        known_from=known_from_of(known_from) or None,
        like=like,
        aim=aim,
        changes=changes,
        parents=parents_of(bench, split=split or "", rework=rework or ""),
        maker=maker,
        session=session,
    )
    say.show(work(bench, formula, wish), made_screen)


def weigh(
    context: typer.Context,
    batch: Batch = None,
    entries: Annotated[
        list[str] | None, typer.Argument(help="beeswax=1.52 glycerin=4.01; asks if left out.")
    ] = None,
    lot: Annotated[str | None, typer.Option(help="The pack it is from.")] = None,
    premix: Annotated[str | None, typer.Option(help="The batch that it is from.")] = None,
    added: Annotated[
        bool, typer.Option("--added", help="The name is meant: the formula has no such line.")
    ] = False,
    known_from: KnownFrom = None,
    state: Annotated[bool, typer.Option("--show", help="Only show the bench.")] = False,
) -> None:
    """Type in what the balance shows; each weight is on the disk when the next is asked for."""
    from labbook.cli import say
    from labbook.show.making import weighed_screen
    from labbook.work.weigh import bench_of as state_of
    from labbook.work.weigh import weigh as work

    bench = bench_of(context)
    said = [*([batch] if batch and "=" in batch else []), *(entries or [])]
    named = batch if batch and "=" not in batch else None
    if state:
        say.show(state_of(bench, bench.the_open_batch(named)), weighed_screen)
        return
    if said:
        late = known_from_of(known_from)
        result = work(bench, named, said, lot=lot, from_batch=premix, known_from=late, added=added)
        say.show(result, weighed_screen)
        return
    from labbook.cli.bench import weigh_at_the_bench

    weigh_at_the_bench(bench, named, lot=lot, known_from=known_from_of(known_from))


def note(
    context: typer.Context,
    words: Annotated[
        list[str] | None, typer.Argument(help='[BATCH] "pH 5.4" "A 72 B 71" …')
    ] = None,
    of: Annotated[str | None, typer.Option(help="What it was measured in.")] = None,
    step: Annotated[str | None, typer.Option(help="The step of the method, s2.")] = None,
    deviation: Annotated[
        bool, typer.Option("--deviation", help="Where the making departed from the method.")
    ] = False,
    private: Annotated[bool, typer.Option("--private", help="Never published.")] = False,
    known_from: KnownFrom = None,
) -> None:
    """Write down a reading, what was done in a step, or a remark."""
    from labbook.cli import say
    from labbook.show.making import noted_screen
    from labbook.work.note import note as work
    from labbook.work.note import split_batch

    bench = bench_of(context)
    batch, texts = split_batch(bench, words or [])
    result = work(
        bench,
        batch,
        texts,
        of=of or "",
        step=step or "",
        deviation=deviation,
        known_from=known_from_of(known_from),
        private=private,
    )
    say.show(result, noted_screen)


def close(
    context: typer.Context,
    batch: Batch = None,
    yield_: Annotated[str | None, typer.Option("--yield", help="What came out: 97.3g.")] = None,
    jars: Annotated[int | None, typer.Option(min=0, help="How many; as last time.")] = None,
    places: Annotated[
        str | None, typer.Option(help="Where each stands: room,fridge,40 °C.")
    ] = None,
    container: Annotated[str | None, typer.Option(help="What they are filled into.")] = None,
    filled: Annotated[
        str | None, typer.Option(help="The day they were filled, if not now.")
    ] = None,
    protocol: Annotated[str | None, typer.Option(help="When to look at them.")] = None,
    message: Message = None,
) -> None:
    """Close a batch: its yield, its jars and where each stands."""
    from labbook.cli import say
    from labbook.show.making import closed_screen
    from labbook.work.close import Filling
    from labbook.work.close import close as work
    from labbook.work.materials import moment_of
    from labbook.work.note import note as remark

    bench = bench_of(context)
    if message:
        remark(bench, bench.the_open_batch(batch).id, [message])
        bench = bench.afresh()
    chosen = bench.the_open_batch(batch)
    if jars is None and places is None and chosen.state == "open":
        jars, places = _first_jars(bench, chosen)
    filling = Filling(
        yield_=size_of(yield_),
        jars=jars,
        conditions=[p.strip() for p in places.split(",") if p.strip()] if places else (),
        container=container,
        protocol=protocol,
        filled=moment_of(filled) if filled else None,
    )
    say.show(work(bench, chosen.id, filling), closed_screen)


def _first_jars(bench: Bench, batch: BatchRecord) -> tuple[int | None, str | None]:
    """Jars and places, asked at a terminal where no earlier batch says how it is done here."""
    import sys

    from labbook.work.close import last_time

    if not sys.stdin.isatty() or last_time(bench, batch) is not None:
        return None, None
    count = typer.prompt("How many jars? (0 for none)", type=int)
    if count <= 0:
        return 0, None
    return count, typer.prompt("Where does each stand?", default=",".join(["room"] * count))
