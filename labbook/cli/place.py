"""Where a command was typed, and the bench it opens there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from labbook.model.errors import NotAllowed
    from labbook.work.bench import Bench

Json = Annotated[bool, typer.Option("--json", help="The same as JSON.")]
Message = Annotated[str | None, typer.Option("-m", "--message", help="The reason, in words.")]
KnownFrom = Annotated[
    str | None, typer.Option("--from", metavar="paper|memory", help="How it is known, if late.")
]


@dataclass(frozen=True)
class Place:
    """The folder that the person stands in, and the notebook they named."""

    here: Path
    given: str = ""

    def bench(self) -> Bench:
        """The bench of the notebook here.

        Raises:
            NotANotebook: there is none.
        """
        from labbook.notebook.folder import find_root
        from labbook.work.bench import Bench

        return Bench(find_root(self.here, given=self.given), tell=told)


def told(sentence: str) -> None:
    """A sentence beside the result: another command is at work, a cut-off one was finished."""
    from labbook.cli import say

    say.aside(sentence)


def bench_of(context: typer.Context) -> Bench:
    """The bench for a command's context."""
    place: Any = context.find_object(Place)
    bench: Bench = place.bench()
    return bench


def nobody_to_ask(instead: str) -> NotAllowed:
    """The error of a command that would ask, where standard input is no terminal."""
    from labbook.model.errors import NotAllowed

    return NotAllowed("There is no terminal, so nobody can be asked.", mend=f"Say it: {instead}")


def written_to(file: Path, data: bytes) -> None:
    """Writes a file that a command was asked for.

    Raises:
        NotAllowed: it can't be written there.
    """
    from labbook.model.errors import NotAllowed

    try:
        file.write_bytes(data)
    except OSError as error:
        raise NotAllowed(
            f"{file} can't be written: {error.strerror}.", mend="Name another file or folder."
        ) from error


def known_from_of(typed: str | None) -> str:
    """`paper`, `memory` or nothing.

    Raises:
        Unclear: another word.
    """
    from labbook.model.batch import KNOWN_FROM
    from labbook.model.errors import Unclear

    if typed and typed not in KNOWN_FROM:
        raise Unclear(f"From {typed}?", mend=f"One of: {', '.join(KNOWN_FROM)}")
    return typed or ""


def size_of(typed: str | None) -> Any:
    """A batch size: a bare number is grams.

    Raises:
        Unclear: it is no mass.
    """
    from labbook.work.correctable import mass_of

    return mass_of(typed) if typed else None
