"""show, save, restore, edit, and the group `formula`."""

from __future__ import annotations

from typing import Annotated

import typer

from labbook.cli.formula_hlb import hlb
from labbook.cli.formula_more import cost, import_, label
from labbook.cli.group import group_of
from labbook.cli.place import Json, Message, bench_of, size_of

Code = Annotated[str, typer.Argument(help="A code, HC, or a version: HC@2, HC@2026-02-05.")]


def group() -> typer.Typer:
    """The group of commands."""
    found = group_of("Formulas: new, list, show, scale, hlb, label, cost, import.")
    found.command("new")(new)
    found.command("list")(list_)
    found.command("show")(show)
    found.command("scale")(scale)
    found.command("hlb")(hlb)
    found.command("label")(label)
    found.command("cost")(cost)
    found.command("import")(import_)
    return found


def show(
    context: typer.Context,
    what: Annotated[str, typer.Argument(help="HC, HC@2, 7k, 7k.1, beeswax, a lot, a tool.")],
    json: Json = False,
) -> None:
    """Show a formula, version, batch, jar, ingredient, lot or tool."""
    from labbook.cli.showing import show_anything

    show_anything(bench_of(context), what, json=json)


def save(
    context: typer.Context,
    codes: Annotated[list[str] | None, typer.Argument(help="Codes; all if left out.")] = None,
    message: Message = None,
) -> None:
    """Number a formula's content, where its meaning changed."""
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.formulas import saved_screen
    from labbook.work.save import save as work

    bench = bench_of(context)
    wanted = codes or sorted(bench.snapshot.formulas)
    if not wanted:
        raise Unclear(
            "There is no formula to save.", mend="Write one: labbook formula new HC --type gel"
        )
    for code in wanted:
        say.show(work(bench, code, message or ""), saved_screen, then=len(wanted) == 1)
        bench = bench.afresh()


def restore(context: typer.Context, version: Code) -> None:
    """Set a formula back to a version, under a new number."""
    from labbook.cli import say
    from labbook.show.formulas import restored_screen
    from labbook.work.save import restore as work

    say.show(work(bench_of(context), version), restored_screen)


def edit(
    context: typer.Context,
    what: Annotated[str, typer.Argument(help="A formula, batch, ingredient, lot, entry.")],
) -> None:
    """Open the file in your editor, and say afterwards what is wrong with it."""
    from labbook.cli.editing import edit_file

    edit_file(bench_of(context), what)


def new(
    context: typer.Context,
    code: Annotated[str, typer.Argument(help="2 to 6 letters or digits: HC.")],
    title: Annotated[str | None, typer.Option(help="What it is called.")] = None,
    kind: Annotated[
        str | None,
        typer.Option("--type", help="water-in-oil, oil-in-water, anhydrous or gel: a starter."),
    ] = None,
    parent: Annotated[str | None, typer.Option("--from", help="Another version: HC@2.")] = None,
) -> None:
    """Write a new formula, from a starter or from another version."""
    from labbook.cli import say
    from labbook.show.formulas import written_screen
    from labbook.work.formulas import new_formula

    result = new_formula(
        bench_of(context), code, title=title or "", emulsion=kind or "", parent=parent or ""
    )
    say.show(result, written_screen)


def list_(context: typer.Context, json: Json = False) -> None:
    """List formulas with where they stand."""
    from labbook.cli import say
    from labbook.show.formulas import list_screen
    from labbook.work.formulas import list_formulas

    say.show(list_formulas(bench_of(context)), list_screen, json=json)


def scale(
    context: typer.Context,
    formula: Code,
    size: Annotated[str | None, typer.Option(help="How much: 250g.")] = None,
    balance: Annotated[str | None, typer.Option(help="A balance of the notebook.")] = None,
    have: Annotated[
        list[str] | None, typer.Option(help="What there is: jojoba-oil=180g; may be repeated.")
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="The pharmacopoeia's rule for the least weight.")
    ] = False,
    json: Json = False,
) -> None:
    """Reckon the grams for a batch, as the balance can show them."""
    from labbook.cli import say
    from labbook.show.scale import scaled_screen
    from labbook.work.scale import parse_have
    from labbook.work.scale import scale as work

    result = work(
        bench_of(context),
        formula,
        size=size_of(size),
        balance=balance or "",
        have=parse_have(have or []),
        strict=strict,
    )
    say.show(result, scaled_screen, json=json)
