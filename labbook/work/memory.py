"""How often Python looks for records that hold each other."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

_SELDOM = (50_000, 20, 20)


@contextmanager
def many_records() -> Iterator[None]:
    """Looks seldom while many records are read: they are trees, and none holds what holds it.

    A build of thousands of pages takes an eighth less time so, and no more memory.
    """
    before = gc.get_threshold()
    gc.set_threshold(*_SELDOM)
    try:
        yield
    finally:
        gc.set_threshold(*before)
