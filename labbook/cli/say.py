"""Printing results and errors: the only place that knows about the terminal."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

if TYPE_CHECKING:
    from labbook.model.errors import LabbookError
    from labbook.show.layout import Screen

T = TypeVar("T")


def speaks_utf8(stream: TextIO) -> bool:
    """Whether a stream takes the few signs beyond ASCII that screens use."""
    return (getattr(stream, "encoding", "") or "").lower().replace("-", "") == "utf8"


def told_width() -> int | None:
    """Columns that the surroundings name; None where they name none, in digits of any script."""
    told = os.environ.get("COLUMNS", "")
    return int(told) if told.isascii() and told.isdigit() and len(told) < 10 else None


def width_of(stream: TextIO) -> int:
    """Columns of the console; 80 into a pipe or a file."""
    if (told := told_width()) is not None:
        return told
    try:
        columns = os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError):
        return 80
    return columns or 80  # a terminal that was never told its size says 0


def screen_for(stream: TextIO) -> Screen:
    """An empty screen that fits a stream."""
    from labbook.show.layout import Screen

    return Screen(min(width_of(stream), 200), ascii=not speaks_utf8(stream))


def write(text: str, stream: TextIO | None = None) -> None:
    """Writes text; what the console's encoding lacks is written as an escape."""
    out = stream or sys.stdout
    encoding = getattr(out, "encoding", None) or "utf-8"
    out.write(text.encode(encoding, "backslashreplace").decode(encoding))


def show(
    result: T, render: Callable[[T, Screen], str], *, json: bool = False, then: bool = True
) -> None:
    """Prints a result as a screen, or as JSON.

    The group of commands at the end is for a person: it is left out of pipes and JSON, and where
    `then` is False because more screens follow.
    """
    if json:
        as_json(result)
        return
    text = render(result, screen_for(sys.stdout))
    write(text if then and sys.stdout.isatty() else without_then(text))


def without_then(text: str) -> str:
    """A screen without its last group of commands."""
    head, found, _ = text.rpartition("\nthen   ")
    return head.rstrip("\n") + "\n" if found else text


def as_json(result: Any) -> None:
    """Prints a result as one JSON document, keys as in the files."""
    import json

    from labbook.show.plain import plain

    # Without UTF-8 the escapes have to be JSON's own.
    text = json.dumps(plain(result), ensure_ascii=not speaks_utf8(sys.stdout), indent=2)
    write(text + "\n")


def error(found: LabbookError) -> None:
    """Prints an error: where, what, how to mend."""
    screen = screen_for(sys.stderr)
    if found.where:
        screen.row("where", found.where)
    screen.row("stopped", found.what)
    for number, line in enumerate(found.mend.splitlines()):
        screen.row("mend" if not number else "", line)
    for note in getattr(found, "__notes__", ()):
        screen.row("", note)
    write(screen.text(), sys.stderr)


def aside(sentence: str) -> None:
    """Prints a sentence beside the result, on the error stream."""
    screen = screen_for(sys.stderr)
    screen.row("note", sentence)
    write(screen.text(), sys.stderr)
