"""One function over many things in copies of this process, where that pays and the system can."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import Any, TypeVar

MANY = 16
"""Things from which on further processes pay: each begins with a copy of what is known."""

_MOST = 4
_Thing = TypeVar("_Thing")
_Made = TypeVar("_Made")


def each(
    function: Callable[[_Thing], _Made],
    things: Sequence[_Thing],
    opened: Callable[[], None] = lambda: None,
) -> Iterator[_Made]:
    """What a function gives for each thing, in order.

    Args:
        function: needn't be sent anywhere, so it may hold anything.
        things: small, and what is made of them too: both are sent between processes.
        opened: is called once in each copy, which may not use files that this process opened.
    """
    cores = min(os.cpu_count() or 1, _MOST)
    # A copy of a process has none of its other threads, but the locks that they held.
    alone = threading.active_count() == 1
    able = "fork" in multiprocessing.get_all_start_methods()
    if len(things) < MANY or cores < 2 or not (alone and able):
        yield from map(function, things)
        return
    _shared.append((function, things))
    try:
        context = multiprocessing.get_context("fork")
        with ProcessPoolExecutor(cores, mp_context=context, initializer=opened) as pool:
            yield from pool.map(_numbered, range(len(things)))
    finally:
        _shared.pop()


_shared: list[tuple[Callable[[Any], Any], Sequence[Any]]] = []
"""What the copies of this process find: too large to be sent to them."""


def _numbered(number: int) -> Any:
    function, things = _shared[-1]
    return function(things[number])
