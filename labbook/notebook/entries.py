"""The maker's own journal entries: Markdown files in `journal/`, each with a head between `---`.

A file without a head is an entry too, and private. A head that can't be read makes the entry
private and is a problem of its own; the text below is kept.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

from labbook.model.entry import Entry
from labbook.model.problems import Place, Problem, Severity

FOLDER = "journal"
KEYS = ("title", "date", "public")

_HEAD = re.compile(r"---[ \t]*\r?\n(.*?)^---[ \t]*(?:\r?\n|\Z)", re.DOTALL | re.MULTILINE)
_TITLE = re.compile(r"\s*#[ \t]+(.+?)[ \t#]*\r?(?:\n|\Z)")
_DAY = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?:-|\Z)", re.ASCII)


def split(text: str) -> tuple[str | None, str]:
    """The head of an entry without its marks, or None, and what stands below it."""
    bare = text.removeprefix("\ufeff")
    match = _HEAD.match(bare)
    return (match[1], bare[match.end() :]) if match else (None, bare)


def entry_of(path: str, text: str) -> Entry:
    """An entry from the text of its file."""
    name = path.rsplit("/", 1)[-1].removesuffix(".md")
    head, body = split(text)
    data, problems = _read(path, head) if head is not None else ({}, [])
    first = _TITLE.match(body)
    title = data.get("title", "").strip() or (first[1] if first else "") or name
    if first and first[1].strip() == title:
        body = body[first.end() :]
    typed = data.get("date", "")
    day = _day(typed)
    if typed and day is None:
        problems.append(_problem(path, "entry-date", f"{typed!r} is no day like 2026-01-30."))
    if day is None and (dated := _DAY.match(name)):
        day = _day(dated[1])
    return Entry(
        path=path,
        name=name,
        title=" ".join(title.split()),
        date=day,
        public=data.get("public", ""),
        text=body.strip("\r\n"),
        problems=tuple(problems),
    )


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _read(path: str, head: str) -> tuple[dict[str, str], list[Problem]]:
    """The keys of a head as text; anything else that YAML could hold is refused."""
    from labbook.notebook.nodes import FileProblem
    from labbook.notebook.spans import Source, written

    if not head.strip():
        return {}, []
    try:
        data: Any = written(Source.of(head).root)
    except FileProblem as error:
        what = f"the head of the entry can't be read: {error.problems[0].what}"
        return {}, [_problem(path, "entry-head", what)]
    if not isinstance(data, dict):
        return {}, [_problem(path, "entry-head", "the head of the entry holds no keys.")]
    found = {str(key): value for key, value in data.items() if isinstance(value, str)}
    strange = [str(key) for key in data if key not in KEYS or str(key) not in found]
    said = f"the head of the entry has {', '.join(strange)}; it knows {', '.join(KEYS)}."
    return found, [_problem(path, "entry-head", said)] if strange else []


def _problem(path: str, rule: str, what: str) -> Problem:
    mend = 'A head reads:\n---\ntitle: "…"\ndate: 2026-01-30\npublic: "no"\n---'
    return Problem(Severity.WARNING, rule, Place(path, 1, 1), what, mend)


def with_public(text: str, word: str) -> str:
    """The text of an entry whose head says `public: "yes"` or `"no"`; all else stays as it is."""
    from labbook.notebook import edit

    head, body = split(text)
    eol = "\r\n" if "\r\n" in text else "\n"
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    if head is None or not head.strip():
        return f'{mark}---{eol}public: "{word}"{eol}---{eol}{eol}{body}'
    changed = edit.put(head, ("public",), word)
    at = text.index(head)
    return text[:at] + changed + text[at + len(head) :]


def read_entries(root: Path) -> tuple[Entry, ...]:
    """All entries of a notebook by the name of their file; links are not followed."""
    from labbook.notebook.nodes import FileProblem, decode
    from labbook.notebook.readfile import read_raw

    folder = root / FOLDER
    if not folder.is_dir() or folder.is_symlink():
        return ()
    found = []
    for file in sorted(folder.iterdir(), key=lambda one: one.name):
        if file.suffix != ".md" or file.name.startswith(".") or file.is_symlink():
            continue
        if not file.is_file():  # a pipe would be waited for without end
            continue
        path = f"{FOLDER}/{file.name}"
        try:
            found.append(entry_of(path, decode(read_raw(file), path)))
        except (FileProblem, OSError) as error:
            problem = _problem(path, "unreadable-file", f"{path} can't be read: {error}.")
            found.append(Entry(path=path, name=file.stem, title=file.stem, problems=(problem,)))
    return tuple(found)
