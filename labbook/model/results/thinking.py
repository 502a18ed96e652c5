"""Results of thinking: two contents or two batches compared."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from labbook.model.results.common import Next

Found = TypeVar("Found", covariant=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison(Generic[Found]):
    """A difference with what stands around it on the screen.

    `dates` are the days of two versions; `became` has what became of each version's batches;
    `about` has a sentence on each of two batches.
    """

    found: Found
    dates: tuple[str, str] = ("", "")
    became: tuple[tuple[str, str], ...] = ()
    about: tuple[tuple[str, str], ...] = ()
    then: tuple[Next, ...] = ()
