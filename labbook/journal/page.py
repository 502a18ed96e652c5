"""A page and the plan of a page: what it is made of is declared, so that it needs no second look.

Two builds in which the declared parts of a page are the same write the same bytes of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from labbook.journal.blocks import BrokenBlock

PATHS = "paths"
"""The part that stands for the paths of all pages: what a maker's own link can lead to."""


@dataclass(frozen=True)
class Page:
    """A page: its path without an ending, its title, its Markdown with the foot apart.

    `script` names the script that the page carries, by its file among the templates. `pictures`
    are those that it shows, as SVG by their paths, `broken` the blocks that can't be shown.
    """

    path: str
    title: str
    body: str
    foot: str
    script: str = ""
    pictures: Mapping[str, str] = field(default_factory=dict)
    broken: tuple[BrokenBlock, ...] = ()

    @property
    def markdown(self) -> str:
        """The page as one Markdown file."""
        return f"{self.body.rstrip()}\n\n---\n\n{self.foot.strip()}\n"


@dataclass(frozen=True)
class Found:
    """How a page is found: its title, a word on it, and its text without marks."""

    path: str
    title: str
    note: str
    text: str


@dataclass(frozen=True)
class Planned:
    """A page that can be written.

    `parts` are names of what it is made of: `batch SBC-260122-9T`, `formula SBC`, `version SBC@3`,
    `ingredient NAME`, or `PATHS`; each means the whole public record. `besides` is what else it
    says, as plain text. Titles of the site and names at the foot belong to every page.
    """

    path: str
    parts: frozenset[str]
    besides: str
    write: Callable[[], Page]


def parts(*names: str | Iterable[str]) -> frozenset[str]:
    """Names of parts, single and in groups."""
    found: set[str] = set()
    for name in names:
        found |= {name} if isinstance(name, str) else set(name)
    return frozenset(found)


_REACHING = ("](", "]:", "][", "<")


def links(text: str | None) -> bool:
    """Whether a maker's own text may hold a link."""
    return any(mark in (text or "") for mark in _REACHING)


def reaching(text: str | None) -> frozenset[str]:
    """The parts of a maker's own text: the paths of all pages, where it may link to one."""
    return frozenset({PATHS}) if links(text) else frozenset()
