"""What differs between two versions, or two batches, as a screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from labbook.show.layout import Column, Row, Screen
from labbook.show.version_parts import (
    ARROW,
    figure_columns,
    step_lines,
    step_name,
    version_parts,
)

if TYPE_CHECKING:  # a screen of two versions needs none of what compares batches
    from labbook.evidence.batches import BatchDifference
    from labbook.evidence.difference import Difference
    from labbook.evidence.items import Item


def difference_screen(
    found: Difference,
    screen: Screen,
    *,
    dates: tuple[str, str] = ("", ""),
    became: Sequence[tuple[str, str]] = (),
    then: Sequence[tuple[str, str]] | None = None,
) -> str:
    """The screen of `diff` for two versions.

    Args:
        found: what differs.
        screen: an empty screen.
        dates: the days of the two versions, or empty.
        became: what became of the batches of each, as (version, sentence).
        then: commands to go on with, as (command, gloss); None takes the log of the formula.
    """
    when = f" {ARROW} ".join(dates) if all(dates) else ""
    screen.title(f"{found.from_name} {ARROW} {found.to_name}", when)
    screen.blank()
    if found.empty:
        screen.row("same", "Nothing differs.")
    version_parts(screen, found)
    if became:
        screen.blank()
        rows = [("" if n else "became", [name, text]) for n, (name, text) in enumerate(became)]
        screen.table((Column(), Column(gap=2)), rows)
    screen.blank()
    code = found.from_name.partition("@")[0].split(" ")[0]
    screen.then([(f"labbook log {code}", "")] if then is None else then)
    return screen.text()


def batch_difference_screen(
    found: BatchDifference,
    screen: Screen,
    *,
    about: Sequence[tuple[str, str]] = (),
    sizes: str = "",
    then: Sequence[tuple[str, str]] | None = None,
) -> str:
    """The screen of `diff` for two batches.

    Args:
        found: what differs.
        screen: an empty screen.
        about: a line on each batch, as (name, sentence): its day, version and outcome.
        sizes: what stands at the right of the first line.
        then: commands to go on with, as (command, gloss); None takes `why` for the two.
    """
    names = names_of(found)
    screen.title(f"{names[0]} and {names[1]}", sizes)
    screen.blank()
    for name, text in about:
        screen.row(name, text)
    screen.blank()
    what_differs(screen, found, names)
    screen.blank()
    asked = [(f"labbook why {names[0].lower()} {names[1].lower()}", "")]
    screen.then(asked if then is None else then)
    return screen.text()


def names_of(found: BatchDifference) -> tuple[str, str]:
    """The two characters of each batch; the full ids where they are the same."""
    a, b = (id_.rsplit("-", 1)[-1] for id_ in (found.a, found.b))
    return (a, b) if a != b else (found.a, found.b)


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
    return max(len(item.a or ""), len(item.b or "")) > 9 and not (
        item.unit or item.a_value is not None
    )


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
