"""The group `batch`: long forms, and what is needed less often."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from labbook.cli import making
from labbook.cli.group import group_of
from labbook.cli.place import Json, Message, bench_of, written_to

Named = Annotated[str, typer.Argument(help="The batch: 7k, or its full id.")]


def group() -> typer.Typer:
    """The group of commands."""
    app = group_of(
        "Batches: new, weigh, note, close, list, show, sheet, labels, correct, reaction, drop."
    )
    app.command("new")(making.make)
    app.command("weigh")(making.weigh)
    app.command("note")(making.note)
    app.command("close")(making.close)
    app.command("list")(list_)
    app.command("show")(show)
    app.command("sheet")(sheet)
    app.command("labels")(labels)
    app.command("correct")(correct)
    app.command("reaction")(reaction)
    app.command("drop")(drop)
    return app


def list_(
    context: typer.Context,
    code: Annotated[str | None, typer.Argument(help="Only those of a formula.")] = None,
    dropped: Annotated[bool, typer.Option("--dropped", help="Dropped ones too.")] = False,
    json: Json = False,
) -> None:
    """List batches, newest first."""
    from labbook.cli import say
    from labbook.show.making import list_screen
    from labbook.work.batches import list_batches

    say.show(list_batches(bench_of(context), code or "", dropped=dropped), list_screen, json=json)


def show(context: typer.Context, batch: Named, json: Json = False) -> None:
    """Show everything recorded about a batch."""
    from labbook.cli import say
    from labbook.show.batch import shown_screen
    from labbook.work.batches import show_batch

    say.show(show_batch(bench_of(context), batch), shown_screen, json=json)


def sheet(
    context: typer.Context,
    batch: Annotated[str | None, typer.Argument(help="The batch; the only open one.")] = None,
    into: Annotated[Path | None, typer.Argument(metavar="[FILE]", help="With --page.")] = None,
    file: Annotated[Path | None, typer.Option("-o", "--output", help="Into a file.")] = None,
    page: Annotated[
        bool, typer.Option("--page", help="One HTML file, to fill in or to print.")
    ] = False,
    phone: Annotated[
        bool, typer.Option("--phone", help="Serve that page on the home network, for an hour.")
    ] = False,
    address: Annotated[
        str | None, typer.Option(metavar="IP[:PORT]", help="With --phone: of this computer.")
    ] = None,
) -> None:
    """Print the bench sheet, in Markdown; or write it as a page; or serve it to the phone."""
    from labbook.cli import say

    if page or phone or into or address:
        from labbook.cli import sheets

        bench = bench_of(context)
        if phone:
            sheets.serve(bench, batch, page=page, file=into or file, address=address or "")
        else:
            sheets.write_page(bench, batch, into or file, page=page, address=address or "")
        return
    from labbook.work.sheet import sheet as work

    _, text = work(bench_of(context), batch)
    if file is None:
        say.write(text)
        return
    written_to(file, text.encode("utf-8"))
    say.write(f"{file}\n")


def labels(
    context: typer.Context,
    batch: Named,
    file: Annotated[Path | None, typer.Argument(help="Into this file: labels-7K.html")] = None,
    jars: Annotated[str | None, typer.Option(help="Only these jars: 1,2")] = None,
    paper: Annotated[str | None, typer.Option(metavar="a4|letter", help="The sheet.")] = None,
    best_before: Annotated[
        str | None, typer.Option("--best-before", metavar="DATE", help="A day you stand for.")
    ] = None,
    start: Annotated[
        int, typer.Option(help="The first free place on a sheet in use, along the rows.")
    ] = 1,
    sheet: Annotated[
        str | None,
        typer.Option(help="Your sheet: '3x7 63.5x38.1', across x down, then mm of one."),
    ] = None,
) -> None:
    """Write a page of jar labels to print, true to size."""
    from labbook.cli import say
    from labbook.show.labels import labels_page, labels_screen
    from labbook.work.labels import labels as work

    result = work(
        bench_of(context),
        batch,
        jars=jars or "",
        paper=paper or "",
        best_before=best_before or "",
        start=start,
        sheet=sheet or "",
    )
    target = file or Path(f"labels-{result.large}.html")
    written_to(target, labels_page(result).encode("utf-8"))
    say.show(result, lambda found, screen: labels_screen(found, str(target), screen))


def correct(
    context: typer.Context,
    batch: Named,
    what: Annotated[
        str | None,
        typer.Argument(help='sunflower-oil=12.40, s3.speed="9000 rpm", s3.B="58 °C", mixer=NAME.'),
    ] = None,
    message: Message = None,
    who: Annotated[str | None, typer.Option(help="Who corrects it.")] = None,
    as_closed: Annotated[
        bool, typer.Option("--as-closed", help="Take a slip of the hand back.")
    ] = False,
) -> None:
    """Correct a closed batch: the new figure stands beside the first one."""
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.making import corrected_screen, put_back_screen
    from labbook.work.correct import as_it_was_closed
    from labbook.work.correct import correct as work

    bench = bench_of(context)
    if as_closed:
        say.show(as_it_was_closed(bench, batch), put_back_screen)
        return
    if not what:
        raise Unclear("Correct what?", mend=f"labbook batch correct {batch} NAME=VALUE -m ...")
    say.show(work(bench, batch, what, message or "", who=who or ""), corrected_screen)


def reaction(
    context: typer.Context,
    what: Annotated[str, typer.Argument(metavar="BATCH|JAR", help="7k, or the jar: 7k.1")],
    text: Annotated[str, typer.Argument(help='What happened: "red and itching on the neck"')],
    who: Annotated[str | None, typer.Option(help="Whose it was; never published.")] = None,
    complaint: Annotated[
        bool, typer.Option("--complaint", help="Something else was wrong: smell, mould, a lid.")
    ] = False,
    after: Annotated[str | None, typer.Option(help="How long after use: '2 h'.")] = None,
    lasted: Annotated[str | None, typer.Option(help="How long it was felt: '1 d'.")] = None,
    doctor: Annotated[bool, typer.Option("--doctor", help="A doctor saw it.")] = False,
    about: Annotated[
        str | None, typer.Option(metavar="ENTRY", help="More about that entry: e1.")
    ] = None,
    made: Annotated[str | None, typer.Option(help="The day, where that was earlier.")] = None,
    json: Json = False,
) -> None:
    """Write down a skin reaction or a complaint, privately, and say what to do now."""
    from labbook.cli import say
    from labbook.show.reactions import reacted_screen
    from labbook.work.look import moment_of, quantity_of
    from labbook.work.reaction import Said, react

    bench = bench_of(context)
    said = Said(
        text=text,
        complaint=complaint,
        who=who or "",
        after=quantity_of(after, "time", "2 h"),
        lasted=quantity_of(lasted, "time", "1 d"),
        doctor=doctor,
        about=about or "",
        time=moment_of(bench, made, "") if made else None,
    )
    say.show(react(bench, what, said), reacted_screen, json=json)


def drop(context: typer.Context, batch: Named, message: Message = None) -> None:
    """Take a batch out of every list; its records stay."""
    from labbook.cli import say
    from labbook.show.making import corrected_screen
    from labbook.work.correct import drop as work

    say.show(work(bench_of(context), batch, message or ""), corrected_screen)
