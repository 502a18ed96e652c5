"""Pages written by several processes at once, where that pays and the system can do it."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor

from labbook.journal.page import Planned
from labbook.journal.pages import Writer
from labbook.notebook.page_cache import Row

MANY = 400
"""Pages from which on further processes pay: each begins with a copy of what is known."""

_MOST = 4
_TOGETHER = 40

Made = tuple[dict[str, bytes], Row]


def made(writer: Writer, wanted: Sequence[tuple[Planned, str]]) -> Iterator[Made]:
    """The files and the row of each page, in order.

    Args:
        writer: of the journal.
        wanted: pages, each with its key.
    """
    cores = min(os.cpu_count() or 1, _MOST)
    # A copy of a process has none of its other threads, but the locks that they held.
    alone = threading.active_count() == 1
    able = "fork" in multiprocessing.get_all_start_methods()
    if len(wanted) < MANY or cores < 2 or not (alone and able):
        yield from (made_of(writer, planned, key) for planned, key in wanted)
        return
    _shared.append((writer, wanted))
    try:
        context = multiprocessing.get_context("fork")
        with ProcessPoolExecutor(cores, mp_context=context) as pool:
            yield from pool.map(_numbered, range(len(wanted)), chunksize=_TOGETHER)
    finally:
        _shared.pop()


_shared: list[tuple[Writer, Sequence[tuple[Planned, str]]]] = []
"""What the copies of this process find: too large to be sent to them."""


def _numbered(number: int) -> Made:
    writer, wanted = _shared[-1]
    return made_of(writer, *wanted[number])


def made_of(writer: Writer, planned: Planned, key: str) -> Made:
    """The files of a page, and its row."""
    known = len(writer.broken)
    files = writer.written(planned)
    broken = [[one.line, one.command, one.why] for _, one in writer.broken[known:]]
    found = planned.find() if planned.find else None
    told = [found.path, found.title, found.note, found.text] if found else None
    return files, Row(key, {}, told, broken)
