"""Screens of telling: an entry begun, something made public, the journal checked and built."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.results.common import Next
from labbook.model.results.telling import Built, EntryWritten, JournalState, Marked
from labbook.show.layout import Screen
from labbook.show.parts import plural, then

MANY = 12
_PLURALS = {
    "formula": "formulas", "version": "versions", "batch": "batches", "entry": "entries",
}  # fmt: skip


def entry_screen(result: EntryWritten, screen: Screen) -> str:
    """After `journal new`."""
    screen.title(result.title, result.day)
    screen.row("file", result.path)
    screen.row("", "Open it in your editor. It is private until you say otherwise.")
    name = result.path.rsplit("/", 1)[-1].removesuffix(".md")
    then(screen, [Next(f"labbook journal public {name}"), Next("labbook journal check")])
    return screen.text()


def marked_screen(result: Marked, screen: Screen) -> str:
    """After `journal public` and `journal private`."""
    words = {"no": "private", "yes": "public"}.get(result.word, "public, with its batches")
    already = " already" if result.before == result.word else ""
    screen.title(f"{result.name} is {words}{already}")
    screen.row("file", result.path)
    if result.also:
        now = "public too" if result.word not in ("yes", "no") else "private again"
        screen.row("batches", f"{now}: {', '.join(result.also)}")
    if result.word != "no":
        screen.row("", "Nothing left this machine; the next build shows it.")
        then(screen, ["labbook journal check", "labbook journal build"])
    else:
        screen.row("", "The next build takes it away; copies elsewhere stay as they are.")
        then(screen, ["labbook journal build"])
    return screen.text()


def _counted(kinds: Sequence[tuple[str, int]]) -> str:
    told = [plural(number, kind, _PLURALS[kind]) for kind, number in kinds if number]
    return ", ".join(told)


def _parts(result: JournalState, screen: Screen) -> None:
    screen.row("public", _counted(result.things) or "nothing yet")
    hidden = _counted(result.hidden)
    if hidden:
        screen.row("private", hidden)
    groups = (("new", result.new), ("changed", result.changed), ("withdrawn", result.gone))
    for word, names in groups:
        for number, name in enumerate(names[:MANY]):
            screen.row(word if not number else "", name)
        if len(names) > MANY:
            screen.row("", f"and {len(names) - MANY} more")
    if not (result.new or result.changed or result.gone):
        screen.row("new", "nothing since the last build")
    for problem in result.problems:
        screen.blank()
        screen.row(problem.severity.value, str(problem.place))
        screen.row("", problem.what)
        if problem.mend:
            screen.row("", problem.mend)
        source = f"; {problem.source}" if problem.source else ""
        screen.row("  rule", f"{problem.rule}{source}")


def journal_screen(result: JournalState, screen: Screen) -> str:
    """`journal check`."""
    screen.title("What the journal would publish")
    screen.blank()
    _parts(result, screen)
    screen.blank()
    screen.row(
        "not checked", "whether a text gives somebody away in other words: read it once more"
    )
    screen.row("", "the git history itself, which holds what the pages hide")
    then(screen, ["labbook journal build"])
    return screen.text()


def built_screen(result: Built, screen: Screen) -> str:
    """After `journal build`."""
    screen.title(plural(result.pages, "page"), result.folder or f"branch {result.branch}")
    screen.blank()
    _parts(result.state, screen)
    screen.blank()
    told = plural(result.written, "file") + " written"
    told += f", {result.removed} taken away" if result.removed else ""
    screen.row("site", told)
    for number, path in enumerate(result.left):
        screen.row("" if number else "left there", path)
    if result.left:
        screen.row("", "No part of the journal any more, and changed by somebody since.")
    if result.branch:
        _of_branch(result, screen)
    else:
        screen.row("open", result.index)
    return screen.text()


def _of_branch(result: Built, screen: Screen) -> None:
    told = f"now at {result.commit[:10]}" if result.commit else "as it was; nothing changed"
    screen.row("branch", f"{result.branch}, {told}")
    screen.row("", "It holds the pages alone. Nothing was sent anywhere; that is for you to do.")
    screen.row("", "Publish this branch and no other: the notebook's history holds all that the")
    screen.row("", "pages hide.")
