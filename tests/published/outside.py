"""A value that somebody else printed, with the result that is compared with it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tests.published.agreement import Figure, holds

_SITE = re.compile(r"(?:[a-z0-9-]+\.)+[a-z]{2,}(?=[/ ,;:)]|$)")


@dataclass(frozen=True, slots=True)
class Outside:
    """One printed value.

    `within` is None where the digits printed are the tolerance, `wide` says why it is above 2 % of
    the figure. `memory` tells that nobody has looked the value up. A value that is compared in a
    test of its own, not by `check`, has no `result`.
    """

    what: str
    result: Figure | None
    printed: str
    source: str
    within: str | None = None
    wide: str = ""
    memory: bool = False

    def check(self) -> None:
        """Agreement, and that a result moved by twice the tolerance would be refused."""
        holds(self.result, self.printed, self.within, source=self.source, wide=self.wide)

    def __str__(self) -> str:
        return f"{self.what}: {self.printed}"


_ENTRY = re.compile(r"PMC[0-9]+|(scribd)\.com/(?:document|doc)/([0-9]+)")


def short(source: str) -> str:
    """The site of a source, or what its name begins with: enough to tell sources apart."""
    entry = _ENTRY.search(source)
    if entry:
        return f"scribd {entry[2]}" if entry[1] else entry.group()
    found = _SITE.search(source)
    return found.group().removeprefix("www.") if found else re.split(r"[,;:(]", source)[0].strip()
