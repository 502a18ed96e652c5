"""What differs between two batches: a screen, and the block "What differs" of other screens."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.evidence.batches import BatchDifference
from labbook.evidence.difference import Difference
from labbook.evidence.items import Item
from labbook.show.differences import figure_columns, step_lines, step_name
from labbook.show.layout import Row, Screen


def batch_screen(
    found: BatchDifference,
    *,
    names: tuple[str, str],
    about: Sequence[tuple[str, str]] = (),
    sizes: str = "",
    then: Sequence[tuple[str, str]] = (),
    width: int = 80,
    ascii: bool = False,
) -> str:
    """The screen of `diff` for two batches.

    Args:
        found: what differs.
        names: what the two batches are called here: their two characters, or the full ids.
        about: a line on each batch, as (name, sentence): its day, version and outcome.
        sizes: what stands at the right of the first line.
        then: commands to go on with, as (command, gloss).
        width: columns of the console.
        ascii: whether the console lacks → × °.
    """
    screen = Screen(width, ascii=ascii)
    screen.title(f"{names[0]} and {names[1]}", sizes)
    screen.blank()
    for name, text in about:
        screen.row(name, text)
    screen.blank()
    what_differs(screen, found, names)
    screen.blank()
    screen.then(then)
    return screen.text()


def what_differs(screen: Screen, found: BatchDifference, names: tuple[str, str]) -> None:
    """Adds the block "What differs": a table, what is the same, what one batch alone recorded."""
    done = [item for item in found.items if item.word != "follows"]
    follows = [item for item in found.items if item.word == "follows"]
    short = [item for item in (*done, *follows) if not _is_long(item)]
    if short:
        columns = figure_columns("", names)
        screen.table(columns, [_item_row(item) for item in short], margin="What differs")
    else:
        screen.row("What differs")
    for item in done:
        if _is_long(item):
            screen.row(item.word, item.what)
            screen.row("", f"{names[0]}: {item.a}")
            screen.row("", f"{names[1]}: {item.b}")
    _planned(screen, found.versions)
    if not found.items and not (found.versions and found.versions.method):
        screen.row("", "Nothing that both batches have recorded.")
    if found.same:
        screen.row("same", ", ".join(f"{n} {_part(part, n)}" for part, n in found.same.items()))
    for number, item in enumerate(found.unrecorded):
        lacking = names[0] if item.a is None else names[1]
        known = f"{names[1]} {item.b}" if item.a is None else f"{names[0]} {item.a}"
        sentence = f"{item.what}: not written down for {lacking}; {known}"
        screen.row("" if number else "unknown", sentence)


def _is_long(item: Item) -> bool:
    return max(len(item.a or ""), len(item.b or "")) > 18


def _item_row(item: Item) -> Row:
    return item.word, [item.what, item.a or "", item.b or "", item.unit]


def _planned(screen: Screen, versions: Difference | None) -> None:
    """Steps that the two versions of the formula give otherwise, whatever was written down."""
    if versions is None:
        return
    for number, step in enumerate(versions.method):
        keys = "; ".join(f"{key} {text}" for key, text in step_lines(step))
        screen.row("" if number else "planned", f"{step_name(step)} {keys}".rstrip())


_COUNTED = {
    "equipment": ("piece of equipment", "pieces of equipment"),
    "lines": ("amount", "amounts"),
    "room": ("figure of the room", "figures of the room"),
    "session": ("session", "sessions"),
    "size": ("size", "sizes"),
    "steps": ("detail of the making", "details of the making"),
}


def _part(part: str, number: int) -> str:
    """The word for what is the same, by number."""
    singular, plural = _COUNTED.get(part, (part.removesuffix("s"), part))
    return singular if number == 1 else plural
