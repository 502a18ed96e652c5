"""due, look, outcomes; and the group `stability`: their long form, plan, trend, temperature."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from labbook.cli.creaming import creaming
from labbook.cli.group import group_of
from labbook.cli.place import (
    Json,
    KnownFrom,
    Message,
    bench_of,
    known_from_of,
    nobody_to_ask,
    written_to,
)
from labbook.cli.temperatures import temperature
from labbook.model.errors import NotAllowed, Unclear

if TYPE_CHECKING:
    from labbook.work.bench import Bench

Words = Annotated[list[str] | None, typer.Argument(help='[JAR] [GRADE] [MODE …] [3/41] ["pH 4.9"]')]

Now = Annotated[
    str | None,
    typer.Option(metavar="CONDITION", help="All jars there, off the plan: after a heat wave."),
]


def group() -> typer.Typer:
    """The group of commands."""
    found = group_of("Looks: what is due, what was seen, what became of it.")
    found.command("due")(due)
    found.command("look")(look)
    found.command("outcomes")(outcomes)
    found.command("plan")(plan)
    found.command("trend")(trend)
    found.command("temperature")(temperature)
    found.command("creaming")(creaming)
    return found


def due(
    context: typer.Context,
    days: Annotated[int, typer.Option(min=0, max=3650, help="How far ahead to list.")] = 7,
    ics: Annotated[
        Path | None, typer.Option("--ics", metavar="FILE", help="Write it for a calendar.")
    ] = None,
    now: Now = None,
    json: Json = False,
) -> None:
    """List the jars to look at: overdue, today, the coming week."""
    from labbook.cli import say
    from labbook.show.looking import due_screen
    from labbook.work.due import due as work
    from labbook.work.due import looks_now

    bench = bench_of(context)
    result = looks_now(bench, now) if now else work(bench, ahead=days)
    if ics is not None:
        from labbook.show.calendar import calendar

        written_to(ics, calendar(result))
        count = len(result.overdue + result.today + result.coming)
        say.write(f"{ics}: {count} looks, for a calendar to take in\n")
        return
    say.show(result, due_screen, json=json)


def look(
    context: typer.Context,
    words: Words = None,
    at: Annotated[str | None, typer.Option(help="How warm the sample was: '20 C'.")] = None,
    rest: Annotated[str | None, typer.Option(help="How long it had stood: '24 h'.")] = None,
    photo: Annotated[
        list[Path] | None,
        typer.Option("--photo", metavar="FILE", help="Its picture; may be repeated."),
    ] = None,
    reading: Annotated[str | None, typer.Option(help="Something measured: 'pH 4.9'.")] = None,
    cycle: Annotated[
        int | None, typer.Option(min=0, max=9999, help="Which cycle of freezing.")
    ] = None,
    spin: Annotated[
        str | None,
        typer.Option(help="A sample of it, spun: '3000 rpm, 10 cm, 30 min'; axis to sample."),
    ] = None,
    made: Annotated[str | None, typer.Option(help="The day, for a look made earlier.")] = None,
    known_from: KnownFrom = None,
    note: Annotated[str | None, typer.Option(help="Anything else, in words.")] = None,
    who: Annotated[str | None, typer.Option(help="Who looked.")] = None,
    correct: Annotated[
        str | None, typer.Option(metavar="ENTRY", help="Correct that look: o3 grade=2.")
    ] = None,
    moved: Annotated[
        str | None, typer.Option(metavar="CONDITION", help="The jar now stands there.")
    ] = None,
    place: Annotated[str | None, typer.Option(help="Where that is: 'top shelf'.")] = None,
    done: Annotated[
        bool, typer.Option("--done", help="Seen enough: it falls due no more.")
    ] = False,
    now: Now = None,
    message: Message = None,
    json: Json = False,
) -> None:
    """Write down a look; alone, at a terminal, walk through what is due."""
    from labbook.cli import say
    from labbook.show.looking import looked_screen
    from labbook.work import look as work
    from labbook.work.look_later import correct_look, move, set_done
    from labbook.work.photos import taken
    from labbook.work.seeing import Seen, with_reading, with_words

    bench = bench_of(context)
    said = list(words or [])
    if not said:
        if any((at, rest, photo, reading, cycle, spin, made, note, correct, moved, done)):
            raise Unclear("Which jar?", mend="Name it first: labbook look 7k.1 0")
        _walk(bench, who or "", now or "", json=json)
        return
    jar, rest_words = said[0], said[1:]
    if correct:
        changed = correct_look(bench, jar, correct, rest_words, message or "", who=who or "")
        say.show(work.headline_after(bench, changed), looked_screen, json=json)
        return
    if moved:
        result = move(bench, jar, moved, place=place or "", made=made or "")
        say.show(result, looked_screen, json=json)
        return
    known = known_from_of(known_from)
    seen = Seen(
        at=work.quantity_of(at, "temperature", "20 C"),
        rest=work.quantity_of(rest, "time", "24 h"),
        photos=taken(photo or ()),
        who=who or "",
        cycle=cycle,
        time=work.moment_of(bench, made, known) if made or known else None,
        known_from=known,
        note=note or message or "",
    )
    if done and not any((rest_words, at, rest, photo, reading, note)):
        say.show(set_done(bench, jar, message or "", made=made or ""), looked_screen, json=json)
        return
    seen = with_words(seen, rest_words)
    if reading:
        seen = with_reading(seen, reading)
    if spin:
        from labbook.work.spinning import with_spin

        seen = with_spin(seen, spin, bench.snapshot.equipment)
    result = work.headline_after(bench, work.look(bench, jar, seen, done=done))
    say.show(result, looked_screen, json=json)


def _walk(bench: Bench, who: str, now: str, *, json: bool) -> None:
    """Through what is due; where nobody can be asked, the list of it and how to type a look.

    Raises:
        NotAllowed: jars wait, and there is no terminal to ask at.
    """
    from labbook.cli import say
    from labbook.show.looking import due_screen
    from labbook.work.due import due as work
    from labbook.work.due import looks_now

    result = looks_now(bench, now) if now else work(bench)
    if json or not (sys.stdin.isatty() and result.now):
        say.show(result, due_screen, json=json)
        if result.now and not json:
            raise nobody_to_ask(f"labbook look {result.now[0].name.lower()} 0")
        return
    from labbook.cli.walk import walk

    walk(bench, result.now, who=who)


def outcomes(
    context: typer.Context,
    code: Annotated[str, typer.Argument(help="A formula's code.")],
    by: Annotated[
        str | None,
        typer.Option(help="version, lot, device, session, emulsifier, an ingredient, container."),
    ] = None,
    condition: Annotated[str | None, typer.Option(help="Only that one: 'fridge'.")] = None,
    jars: Annotated[bool, typer.Option("--jars", help="Jar by jar.")] = False,
    timeline: Annotated[bool, typer.Option("--timeline", help="The jars over days.")] = False,
    curve: Annotated[bool, typer.Option("--curve", help="The share intact by age.")] = False,
    json: Json = False,
) -> None:
    """Tell what became of a formula's batches, as intervals."""
    from labbook.cli import say

    bench = bench_of(context)
    if timeline or curve:
        _picture(bench, code, condition or "", curve=curve, json=json)
        return
    from labbook.show.outcome_table import outcomes_screen
    from labbook.work.outcome_table import outcomes as work

    table = work(bench, code, by=by or "", condition=condition or "", by_jar=jars)
    say.show(table, outcomes_screen, json=json)


def _picture(bench: Bench, code: str, condition: str, *, curve: bool, json: bool) -> None:
    """A picture for the terminal: the jars over days, or the share that is intact.

    Raises:
        NotAllowed: too few were looked at for a curve.
    """
    from labbook.cli import say
    from labbook.evidence.statistics.refusal import Refusal
    from labbook.show.plots.terminal import curve_screen, timeline_screen
    from labbook.work import pictures

    if not curve:
        shown = pictures.timeline(bench, code, condition=condition)
        say.show(shown, timeline_screen, json=json)
        return
    found = pictures.curve(bench, code, condition=condition)
    if isinstance(found, Refusal):
        why = found.why.rstrip(".")
        raise NotAllowed(f"{why}.", mend=f"As intervals: labbook outcomes {code.upper()}")
    say.show(found, curve_screen, json=json)


def plan(
    context: typer.Context,
    batch: Annotated[str, typer.Argument(help="A batch with jars: 7k.")],
    protocol: Annotated[
        str | None, typer.Option(metavar="NAME", help="Another protocol for this batch.")
    ] = None,
    add: Annotated[
        list[str] | None, typer.Option(help="A further look: 'room 45 d'; may be repeated.")
    ] = None,
    message: Message = None,
    json: Json = False,
) -> None:
    """Show a batch's planned looks, or make an exception to its formula's protocol."""
    from labbook.cli import say
    from labbook.show.stability_plan import plan_screen
    from labbook.work.stability_plan import change_plan, plan_for

    bench = bench_of(context)
    if protocol or add:
        named, why = protocol or "", message or ""
        result = change_plan(bench, batch, protocol=named, add=add or (), why=why)
    else:
        result = plan_for(bench, batch)
    say.show(result, plan_screen, json=json)


def trend(
    context: typer.Context,
    code: Annotated[str, typer.Argument(help="A formula's code.")],
    reading: Annotated[
        str | None, typer.Option(help="Which: pH, spread; else the one read most often.")
    ] = None,
    condition: Annotated[str | None, typer.Option(help="Where the jars stood; the room.")] = None,
    by: Annotated[str | None, typer.Option(help="jar or batch.")] = None,
    json: Json = False,
) -> None:
    """Follow a reading over time: like with like, its range, a line where it may be."""
    from labbook.cli import say
    from labbook.show.trend import trend_screen
    from labbook.work.trends import reading_trend

    if by not in (None, "jar", "batch"):
        raise Unclear(f"By {by}?", mend="A row for each jar, or --by batch.")
    found = reading_trend(
        bench_of(context),
        code,
        reading=reading or "",
        condition=condition or "",
        by_batch=by == "batch",
    )
    say.show(found, trend_screen, json=json)
