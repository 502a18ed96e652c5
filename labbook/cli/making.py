"""make, weigh, note, close."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from labbook.cli.place import KnownFrom, Message, bench_of, known_from_of, size_of

if TYPE_CHECKING:
    from labbook.model.batch import Batch as BatchRecord
    from labbook.model.quantities import Quantity
    from labbook.model.results.making import Noted
    from labbook.work.bench import Bench
    from labbook.work.weigh_typed import Ask

Batch = Annotated[str | None, typer.Argument(help="The batch; the only open one if left out.")]
NotedFrom = Annotated[
    str | None,
    typer.Option(
        "--from",
        metavar="paper|memory|FILE",
        help="How it is known, if late; or the file that a bench sheet page gave, - for its text.",
    ),
]


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
    yes: Annotated[
        bool, typer.Option("--yes", help="A weight far off its target is meant.")
    ] = False,
    leave: Annotated[bool, typer.Option("--leave", help="Too much of it stays in.")] = False,
    rest: Annotated[
        bool, typer.Option("--rest", help="The rest is weighed up to what is too much.")
    ] = False,
    out: Annotated[
        bool, typer.Option("--out", help="What was too much was taken out again.")
    ] = False,
    state: Annotated[bool, typer.Option("--show", help="Only show the bench.")] = False,
) -> None:
    """Type in what the balance shows; each weight is on the disk when the next is asked for."""
    from labbook.cli import say
    from labbook.show.making import weighed_screen
    from labbook.work.at_bench import bench_of as state_of
    from labbook.work.note import is_batch_id
    from labbook.work.weigh import weigh as work

    bench = bench_of(context)
    way = _way_on(leave=leave, rest=rest, out=out)
    is_entry = batch and ("=" in batch or (way and not is_batch_id(batch)))
    said = [*([batch] if batch and is_entry else []), *(entries or [])]
    named = None if is_entry else batch
    if state:
        say.show(state_of(bench, bench.the_open_batch(named)), weighed_screen)
        return
    if said or way:
        result = work(
            bench,
            named,
            said,
            lot=lot,
            from_batch=premix,
            known_from=known_from_of(known_from),
            added=added,
            sure=yes,
            way=way,
            ask=_asker(),
        )
        say.show(result, weighed_screen)
        return
    from labbook.cli.bench import weigh_at_the_bench

    weigh_at_the_bench(bench, named, lot=lot, known_from=known_from_of(known_from))


def _way_on(*, leave: bool, rest: bool, out: bool) -> str:
    """The one way on that was chosen, or none.

    Raises:
        Unclear: more than one.
    """
    from labbook.model.errors import Unclear
    from labbook.work.weigh import LEAVE, OUT, REST

    chosen = [way for way, said in ((LEAVE, leave), (REST, rest), (OUT, out)) if said]
    if len(chosen) > 1:
        raise Unclear("One way on at a time.", mend="One of: --leave, --rest, --out")
    return chosen[0] if chosen else ""


def _asker() -> Ask | None:
    """Asks about a weight that is far off, at a terminal; None where nobody can be asked."""
    import sys

    if not sys.stdin.isatty():
        return None
    from labbook.cli.bench import ask_again

    def asked(name: str, mass: Quantity, wanted: Quantity) -> Quantity | None:
        try:
            return ask_again(mass, wanted)
        except EOFError:  # nobody is there after all
            return None

    return asked


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
    known_from: NotedFrom = None,
    photo: Annotated[
        list[Path] | None,
        typer.Option("--photo", metavar="FILE", help="A picture, -m its caption; may be repeated."),
    ] = None,
    message: Message = None,
    who: Annotated[str | None, typer.Option(help="Who says so, of a closed batch.")] = None,
) -> None:
    """Write down a reading, what was done in a step, or a remark; or take in a bench sheet.

    Of a closed batch it is kept as a correction, beside the first record.
    """
    from labbook.cli import say
    from labbook.cli.sheets import is_sheet, take_sheet
    from labbook.show.making import noted_screen
    from labbook.work.note import note as work
    from labbook.work.note import split_batch

    bench = bench_of(context)
    if photo:
        beside = any((of, deviation, known_from, who)) or len(words or []) > 1
        result = _photos(bench, words or [], photo, message, step, private, alone=not beside)
        say.show(result, noted_screen)
        return
    batch, texts = split_batch(bench, words or [])
    if known_from and is_sheet(known_from):
        asked = any((texts, of, step, deviation, private, message, who))
        take_sheet(bench, batch, known_from, alone=not asked)
        return
    result = work(
        bench,
        batch,
        texts,
        of=of or "",
        step=step or "",
        deviation=deviation,
        known_from=known_from_of(known_from),
        private=private,
        why=message or "",
        who=who or "",
    )
    say.show(result, noted_screen)


def _photos(
    bench: Bench,
    words: Sequence[str],
    files: Sequence[Path],
    caption: str | None,
    step: str | None,
    private: bool,
    *,
    alone: bool,
) -> Noted:
    """Takes pictures in.

    Raises:
        Unclear: something else is said beside them, which would be lost.
    """
    from labbook.model.errors import Unclear
    from labbook.work.photos import note_photos

    if not alone:
        raise Unclear(
            "A picture is noted by itself.",
            mend='Its caption stands behind -m: labbook note 7k --photo FILE -m "..."',
        )
    named = words[0] if words else None
    return note_photos(bench, named, files, caption=caption or "", step=step or "", private=private)


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
