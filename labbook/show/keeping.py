"""Screens of keeping: the first one, a notebook started, the demo."""

from __future__ import annotations

from labbook.model.results.common import Next
from labbook.model.results.keeping import Demo, Started, Today
from labbook.show.differences import names_of, what_differs
from labbook.show.layout import Screen
from labbook.show.next_batch import next_words
from labbook.show.parts import batch_words, counted, plural, then
from labbook.show.why import verdict


def today_screen(result: Today, screen: Screen) -> str:
    """The bare `labbook` inside a notebook."""
    screen.title(result.title, f"{result.weekday} {result.day}")
    screen.blank()
    if result.looks_due:
        overdue = result.looks_overdue
        jars = f"{plural(result.looks_due, 'jar')} today"
        screen.row("look", f"{jars}, {overdue} of them overdue" if overdue else jars)
    for number, path in enumerate(result.unreadable):
        screen.row("unreadable" if not number else "", path)
    for number, sentence in enumerate(result.leftovers):
        screen.row("half-done" if not number else "", sentence)
    if result.without_git:
        screen.row("unknown", f"what changed since the versions: {result.without_git}")
    for number, batch in enumerate(result.open):
        name = f"{batch.short}  {batch.of}, {batch.size}, opened {batch.made}"
        detail = batch_words(batch).removeprefix("open, ")
        told = f"{name}: {detail}" if batch.lines else name
        screen.row("open" if not number else "", told)
    for number, (state, what) in enumerate(result.changed):
        if state.number is None:
            told = f"{state.code}, {state.words}"
        else:
            told = f"{state.code} since {state.code}@{state.number}"
            told += f": {'; '.join(what)}" if what else ""
        screen.row("changed" if not number else "", told)
    quiet = not (
        result.looks_due or result.open or result.changed or result.unreadable or result.leftovers
    )
    if quiet:
        count = len(result.formulas)
        screen.row(
            "",
            f"{plural(count, 'formula')}, {plural(result.batches, 'batch', 'batches')}; "
            "nothing is open and nothing changed."
            if count
            else "An empty notebook.",
        )
    if result.unexplained:
        screen.row("failed", f"{', '.join(result.unexplained)}, not yet explained")
    if result.stopped:
        screen.row("clock", f"stands still on {result.day}, as a sample's does")
    then(screen, result.then)
    return screen.text()


def started_screen(result: Started, screen: Screen) -> str:
    """After `init`."""
    if result.new:
        screen.title(f"{result.title}: a new notebook")
    else:
        screen.title(f"{result.title}: a notebook already; what a copy lacks was added")
    screen.blank()
    screen.row("folder", result.folder)
    screen.row(
        "git", f"inside {result.repository}" if result.repository else "a repository of its own"
    )
    screen.row("name", f"{result.identity} stands beside your entries in git")
    then(
        screen,
        [
            Next(f"cd {quoted(result.folder)}"),
            Next("labbook formula new HC --type water-in-oil", "a first formula, to edit"),
            Next("labbook help words", "what a batch, a lot, a look is here"),
        ],
    )
    return screen.text()


def quoted(path: str) -> str:
    """A path as it can be pasted: in quotation marks where it has spaces."""
    plain = all(c.isalnum() or c in "/._-~+:\\" for c in path)
    return path if plain else f'"{path}"'


def demo_screen(result: Demo, screen: Screen) -> str:
    """The demo: what the sample is, its formulas, and the two batches that it is about."""
    screen.title(
        "A pottery studio's hand creams, invented for this demo. The notebook is the folder "
        f"{result.folder}: plain text, kept in git. Its clock stands still on {result.today}."
    )
    screen.blank()
    for state in result.formulas:
        screen.title(
            f"{state.code}  {state.title}, {state.emulsion}", counted(state.versions, state.batches)
        )
    screen.blank()
    screen.title(result.story)
    screen.blank()
    for name, told in result.pair.about:
        screen.row(name, told)
    screen.blank()
    what_differs(screen, result.pair.found, names_of(result.pair.found))
    screen.blank()
    screen.row(f"Why {result.why.failed} separated")
    for sentence in verdict(result.why):
        screen.row("", sentence)
    screen.blank()
    screen.row("The batch that would tell")
    for sentence in next_words(result.next):
        screen.row("", sentence)
    screen.blank()
    screen.row("journal", result.site)
    then(screen, result.then)
    return screen.text()
