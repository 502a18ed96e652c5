"""A journal entry: a Markdown file of the maker's own, with a head of a few keys."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from labbook.model.problems import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """An entry of the journal.

    `name` is the name of the file without `.md`; `text` is what stands below the head, as Markdown;
    `public` is as typed in the head, empty where there is none. `problems` are of the head.
    """

    path: str
    name: str
    title: str
    date: date | None = None
    public: str = ""
    text: str = ""
    problems: tuple[Problem, ...] = ()
