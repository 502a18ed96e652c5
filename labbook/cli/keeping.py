"""init, check, undo, demo, help, and the bare command."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from labbook.cli.place import Json, Message, bench_of

if TYPE_CHECKING:
    from labbook.cli.place import Place
    from labbook.model.results.keeping import Checked
    from labbook.work.bench import Bench


def bare(place: Place) -> None:
    """`labbook` alone: today's screen inside a notebook, a way in outside of one."""
    import sys

    from labbook.cli import say
    from labbook.model.errors import NotANotebook

    try:
        bench = place.bench()
    except NotANotebook:
        if place.given:
            raise
        from labbook.show.words import outside_screen

        say.write(outside_screen(say.screen_for(sys.stdout)))
        return
    from labbook.show.keeping import today_screen
    from labbook.work.today import today

    say.show(today(bench), today_screen)


def init(
    context: typer.Context,
    folder: Annotated[str, typer.Argument(help="The folder; this one if left out.")] = ".",
    title: Annotated[str | None, typer.Option(help="What stands at its head.")] = None,
    author: Annotated[str | None, typer.Option(help="Who publishes, if anybody.")] = None,
    name: Annotated[
        str | None, typer.Option(help="A name beside your entries, where git knows none.")
    ] = None,
) -> None:
    """Start a notebook, or give a copied one what a copy lacks."""
    import sys

    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.keeping import started_screen
    from labbook.work.init import start

    place: Any = context.obj or context.find_root().obj
    root = (place.here / folder).absolute()
    try:
        result = start(root, title=title or "", author=author or "", identity=name or "")
    except Unclear:
        if name or not sys.stdin.isatty():
            raise
        typer.echo("Git knows no name to write beside your entries.")
        asked = typer.prompt("Your name, for this notebook only")
        result = start(root, title=title or "", author=author or "", identity=asked)
    say.show(result, started_screen)


def check(
    context: typer.Context,
    what: Annotated[
        str | None, typer.Argument(help="A formula, a batch, an entry; all if left out.")
    ] = None,
    accept: Annotated[
        str | None, typer.Option("--accept", metavar="RULE", help="Accept a finding, with -m.")
    ] = None,
    message: Message = None,
    staged: Annotated[bool, typer.Option("--staged", help="What git is about to commit.")] = False,
    history: Annotated[
        bool, typer.Option("--history", help="Every commit too, not only how it stands today.")
    ] = False,
    fix: Annotated[
        bool, typer.Option("--fix", help="Mend decimal commas, after showing before and after.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Mend without asking.")] = False,
    json: Json = False,
) -> None:
    """Check formulas, files, pins and closed batches; ends with 1 where there are errors."""
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.checking import checked_screen
    from labbook.work.check import accept as accept_finding
    from labbook.work.check import check as work
    from labbook.work.check import check_staged

    bench = bench_of(context)
    if fix:
        _fix(bench, yes=yes)
        return
    if accept:
        found = accept_finding(bench, accept, what or "", message or "")
        say.write(f"accepted    {found.rule}: {message}\n")
        return
    if history and (staged or what):
        raise Unclear("--history is of all commits.", mend="labbook check --history, alone")
    if history:
        result = _with_history(bench)
    else:
        result = check_staged(bench) if staged else work(bench, what or "")
    say.show(result, checked_screen, json=json)
    if result.errors:
        raise typer.Exit(1)


def _with_history(bench: Bench) -> Checked:
    """`check --history`; at a terminal it says how far it is, and clears that line."""
    import sys

    from labbook.work.check_history import check_history

    if not sys.stderr.isatty():
        return check_history(bench)

    def progress(done: int, of: int) -> None:
        sys.stderr.write(f"\r{done} of {of} contents read" if done < of else "\r\x1b[K")
        sys.stderr.flush()

    return check_history(bench, progress)


def _fix(bench: Bench, *, yes: bool) -> None:
    """Shows what would be mended, asks, and mends."""
    import sys

    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.checking import fixes_screen
    from labbook.work.mending import fixes, mend

    found = fixes(bench)
    say.show(found, fixes_screen)
    if not found:
        return
    if not yes:
        if not sys.stdin.isatty():
            raise Unclear(
                "Nothing was mended; nobody could be asked.", mend="Add --yes to mend it."
            )
        if not typer.confirm("Mend them?"):
            return
    mend(bench, found)
    say.write("mended; nothing was committed\n")


def undo(context: typer.Context) -> None:
    """Take back the last recording command, by a new commit."""
    from labbook.cli import say
    from labbook.show.formulas import undone_screen
    from labbook.work.save import undo as work

    say.show(work(bench_of(context)), undone_screen)


def demo(
    context: typer.Context,
    folder: Annotated[
        str, typer.Argument(help="Where it is put; made anew.")
    ] = "hand-cream-notebook",
) -> None:
    """Put a sample notebook into a folder, and tell its story."""
    from labbook.cli import say
    from labbook.show.keeping import demo_screen
    from labbook.work.demo import demo as work

    place: Any = context.find_root().obj
    result = work((place.here / folder).absolute(), shown=folder)
    say.show(result, demo_screen)


def _topics(incomplete: str) -> list[str]:
    """What the shell can complete: words, commands, and the names of rules."""
    from labbook.cli.table import COMMANDS
    from labbook.work.help_rules import rule_names

    every = ("words", *COMMANDS, *rule_names())
    return [name for name in every if name.startswith(incomplete)]


def help_(
    context: typer.Context,
    topics: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[TOPIC]", help="words, a command, or a rule.", autocompletion=_topics
        ),
    ] = None,
) -> None:
    """Explain the words, a command, or a rule that `check` names."""
    import sys

    from labbook.cli import say
    from labbook.show.words import words_screen

    root = context.find_root()
    if not topics:
        say.write(root.get_help() + "\n")
        return
    if topics == ["words"]:
        say.write(words_screen(say.screen_for(sys.stdout)))
        return
    command: Any = root.command
    inner = root
    for topic in topics:
        group: Any = command
        command = group.get_command(inner, topic) if hasattr(group, "get_command") else None
        if command is None:
            _help_rule(root.obj, topics)
            return
        inner = command.make_context(topic, [], parent=inner, resilient_parsing=True)
    say.write(inner.get_help() + "\n")


def _help_rule(place: Place, topics: list[str]) -> None:
    """A rule explained; outside of a notebook, as the program brings it."""
    from labbook.cli import say
    from labbook.model.errors import NotANotebook, UnknownName
    from labbook.show.rules import rule_screen
    from labbook.work.help_rules import near_rules, rule_help

    name = " ".join(topics)
    try:
        bench = place.bench()
    except NotANotebook:
        if place.given:
            raise
        bench = None
    found = rule_help(name, bench)
    if found is None:
        near = ", ".join(near_rules(name, bench))
        raise UnknownName(
            f"There is no help about {name}.",
            mend=f"Near it: {near}" if near else "labbook help words, or labbook -h",
        )
    say.show(found, rule_screen)
