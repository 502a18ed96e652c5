"""What was written of a site, by groups of pages: their keys, their files, what is broken in them.

A group is a formula with its versions and batches, or one other page. Without this file every page
is written again. Names of files stand in it before the files are written, so that after a killed
build it is known whose they are.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from labbook.notebook.disposable import Disposable

_TABLES = """
create table if not exists shelved (name text primary key, key text, pages text) without rowid;
create table if not exists begun (path text, digest text, primary key (path, digest)) without rowid;
"""


@dataclass(frozen=True, slots=True)
class Row:
    """A page that was written: `files` by path with digest and `Stat`; `broken` blocks as JSON."""

    key: str
    files: Mapping[str, Sequence[str]]
    broken: Any = ()


@dataclass(frozen=True, slots=True)
class Group:
    """Pages that are looked at together: their common key, and each by its path."""

    key: str = ""
    pages: Mapping[str, Row] = field(default_factory=dict)


class PageCache(Disposable):
    """What was written into one folder."""

    def __init__(self, notebook: Path, folder: Path) -> None:
        super().__init__(notebook, "pages", folder, _TABLES)

    def groups(self) -> dict[str, Group]:
        """Every group by its name."""
        found = self.select("select name, key, pages from shelved")
        try:
            return {name: Group(key, _pages(pages)) for name, key, pages in found}
        except (ValueError, KeyError, TypeError):
            return {}

    def begun(self) -> dict[str, set[str]]:
        """Files that a build began to write and may not have told, with their contents' digests."""
        found: dict[str, set[str]] = {}
        for path, digest in self.select("select path, digest from begun"):
            found.setdefault(path, set()).add(digest)
        return found

    def intend(self, files: Iterable[tuple[str, str]]) -> None:
        """Notes files, with the digests of their contents, before they are written."""
        self.write("insert or ignore into begun values (?,?)", files)

    def keep(self, groups: Mapping[str, Group]) -> None:
        """Notes groups whose pages stand as they say."""
        self.write(
            "insert or replace into shelved values (?,?,?)",
            [(name, one.key, _text(one.pages)) for name, one in groups.items()],
        )

    def settle(self, groups: Iterable[str]) -> None:
        """At the end: forgets every other group; all that was begun is told by now."""
        gone = {name for (name,) in self.select("select name from shelved")} - set(groups)
        self.write("delete from shelved where name=?", [(name,) for name in gone])
        self.write("delete from begun where ?", [(1,)])


def _text(pages: Mapping[str, Row]) -> str:
    return json.dumps({path: (row.key, row.files, row.broken) for path, row in pages.items()})


def _pages(text: str) -> dict[str, Row]:
    return {path: Row(*row) for path, row in json.loads(text).items()}
