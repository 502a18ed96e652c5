"""Running templates of the notebook's own: in a process beside this one, with limits.

Templates run in a sandbox without files, network or program, but a loop needs neither to use up a
machine. So the whole site is first written in a process of its own, into nothing, and only what
came to an end there in time, size and memory is written here.
"""

from __future__ import annotations

import multiprocessing
import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING

from labbook.model.errors import Unclear

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    from labbook.journal.publish import PublicJournal

Pair = tuple[Mapping[str, str], Mapping[str, str]]
"""Templates of the Markdown, and of the pages, by file name."""

SECONDS = 60.0
MOST_BYTES = 200_000_000
MEMORY = 2_000_000_000


def must_end(
    journal: PublicJournal,
    templates: Pair,
    *,
    seconds: float = SECONDS,
    most_bytes: int = MOST_BYTES,
) -> None:
    """Makes sure that the templates write the whole site within the limits.

    Raises:
        Unclear: they don't, or a template has an error; says which and how to go on.
    """
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    child = context.Process(target=_write, args=(theirs, journal, templates, most_bytes))
    child.start()
    theirs.close()
    try:
        said = ours.recv() if ours.poll(seconds) else f"they weren't done after {seconds:g} s"
    except EOFError:
        said = "they ended without a word, perhaps for want of memory"
    finally:
        child.kill()
        child.join()
        ours.close()
    if said:
        raise Unclear(
            f"The notebook's own templates can't be used: {said}.",
            where="templates/",
            mend="Mend them and trust them again, or use the program's: labbook trust --forget",
        )


def _write(out: Connection, journal: PublicJournal, templates: Pair, most_bytes: int) -> None:
    """In the other process: writes the site into nothing, and says what went wrong, or ""."""
    _limit_memory()
    try:
        out.send(_sized(journal, templates, most_bytes))
    except Exception as error:  # whatever an expression of a template can raise
        where = f" in {name}" if (name := getattr(error, "name", "")) else ""
        line = f", line {number}" if (number := getattr(error, "lineno", 0)) else ""
        out.send(f"{type(error).__name__}{where}{line}: {str(error)[:300]}")


def _sized(journal: PublicJournal, templates: Pair, most_bytes: int) -> str:
    from labbook.journal.pages import Writer
    from labbook.journal.shelf import shelf_of

    writer = Writer(shelf_of(journal), *templates)
    size = 0
    for planned in writer.plan():
        size += sum(len(content) for content in writer.written(planned).files.values())
        if size > most_bytes:
            return f"they write more than {most_bytes // 1_000_000} MB"
    return ""


def _limit_memory() -> None:
    """Where the system can: more is refused, which ends the process and not the machine."""
    if sys.platform != "win32":
        import resource

        _, most = resource.getrlimit(resource.RLIMIT_AS)
        wanted = MEMORY if most == resource.RLIM_INFINITY else min(MEMORY, most)
        resource.setrlimit(resource.RLIMIT_AS, (wanted, most))
