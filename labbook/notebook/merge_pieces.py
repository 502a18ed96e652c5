"""A text cut into pieces that a merge can take one by one: keys, entries, lines of a formula.

Nothing is lost in the cut: the pieces of a text, put together again, are the text. Comments and
blank lines belong to the piece below them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from labbook.model.problems import Severity
from labbook.notebook.builder import Node
from labbook.notebook.nodes import MERGE_CONFLICT, parse_all
from labbook.notebook.spans import FileProblem, Source, written

Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """A key with its value, or an entry of a list, as whole lines.

    Attributes:
        key: what it is called among its siblings; the same on both sides of a merge.
        lead: comments and blank lines above.
        head: all its lines; of a group only those before its first item.
        items: the pieces of a group, None for a piece that is taken whole.
        listed: whether the items are entries of a list, or keys.
        data: the value without positions; of a group of keys or entries too.
        id_at: where the id of an entry stands in `head`, None for a piece without one.
    """

    key: Key
    lead: str
    head: str
    items: tuple[Piece, ...] | None = None
    listed: bool = False
    data: Any = ""
    id_at: tuple[int, int] | None = None

    @property
    def body(self) -> str:
        """The piece without what stands above it."""
        return self.head + "".join(item.text for item in self.items or ())

    @property
    def text(self) -> str:
        """The piece with the comments above it."""
        return self.lead + self.body

    @property
    def moment(self) -> str:
        """When an entry was written down, as it says itself; empty where it doesn't."""
        if not isinstance(self.data, dict):
            return ""
        found = (self.data.get(key) for key in ("time", "filled", "since", "made"))
        return next((value for value in found if isinstance(value, str) and value), "")

    def called(self, ident: str) -> Piece:
        """The same entry under another id."""
        if self.id_at is None:
            raise ValueError("a piece without an id can't get another one")
        start, end = self.id_at
        data = {**self.data, "id": ident}
        head = self.head[:start] + ident + self.head[end:]
        return replace(
            self, key=("id", ident), head=head, data=data, id_at=(start, start + len(ident))
        )


@dataclass(frozen=True, slots=True)
class Cut:
    """A whole text in pieces, and the lines after the last one."""

    items: tuple[Piece, ...]
    tail: str

    @property
    def text(self) -> str:
        """The text again."""
        return "".join(item.text for item in self.items) + self.tail


def read(text: str) -> Source:
    """The text, parsed; an unmended conflict of an earlier merge keeps no one from reading it.

    Raises:
        FileProblem: the text can't be read.
    """
    node, problems = parse_all(text, "")
    wrong = [p for p in problems if p.severity is Severity.ERROR and p.rule != MERGE_CONFLICT]
    if node is None or wrong:
        raise FileProblem(tuple(wrong) or problems)
    return Source(text, node)


def cut(text: str) -> Cut:
    """The pieces of a text whose lines end with LF, the last one too.

    Raises:
        FileProblem: the text can't be read.
    """
    source = read(text)
    if source.root.style != "block":  # `{code: HC}`: one piece
        return Cut((Piece((), "", source.text, data=written(source.root)),), "")
    items, end = _keys(source, source.root, list(source.root.value), 0)
    return Cut(tuple(items), source.text[end:])


def walk(
    items: Sequence[Piece], above: tuple[Key, ...] = ()
) -> Iterator[tuple[tuple[Key, ...], Piece]]:
    """All pieces with their paths, groups before what is in them."""
    for item in items:
        path = (*above, item.key)
        yield path, item
        yield from walk(item.items or (), path)


def _keys(source: Source, node: Node, names: Sequence[str], at: int) -> tuple[list[Piece], int]:
    """The pieces of some keys of a block mapping; above the first, lines begin at `at`."""
    found = []
    for name in names:
        key, value = node.keys[name], node.value[name]
        start = source.line_start(key.start)
        end = source.line_end(key.end) if value.is_empty else source.lines_end(value)
        head, items, listed = _inside(source, value, start, source.line_end(key.end), end)
        lead = source.text[at:start]
        found.append(Piece((name,), lead, head, items, listed, written(value)))
        at = end
    return found, at


def _inside(
    source: Source, value: Node, start: int, first_line: int, end: int
) -> tuple[str, tuple[Piece, ...] | None, bool]:
    """The head of a value and its items, where each has lines of its own."""
    whole = source.text[start:end]
    if value.style != "block" or value.start < first_line:
        return whole, None, False
    if isinstance(value.value, dict):
        items, last = _keys(source, value, list(value.value), first_line)
        listed = False
    else:
        items, last = _entries(source, value, first_line)
        listed = True
    if last != end:  # lines that belong to no item: the value is taken whole
        return whole, None, False
    return source.text[start:first_line], tuple(items), listed


def _entries(source: Source, node: Node, at: int) -> tuple[list[Piece], int]:
    found: list[Piece] = []
    seen: dict[Key, int] = {}
    for number, value in enumerate(node.value):
        dash = source.dash(node, number)
        start = source.line_start(dash)
        end = source.line_end(dash) if value.is_empty else source.lines_end(value)
        data = written(value)
        key = name_of(data)
        seen[key] = seen.get(key, 0) + 1
        if seen[key] > 1:
            key = (*key, str(seen[key]))
        lead = source.text[at:start]
        head, items = _entry(source, value, start, end)
        found.append(Piece(key, lead, head, items, False, data, _id_at(source, value, start)))
        at = end
    return found, at


def _entry(
    source: Source, value: Node, start: int, end: int
) -> tuple[str, tuple[Piece, ...] | None]:
    """An entry that begins on the line of its dash: its first key stays with the dash."""
    whole = source.text[start:end]
    if value.style != "block" or not isinstance(value.value, dict):
        return whole, None
    names = list(value.value)
    first = value.value[names[0]]
    if first.style in ("block", "|", ">") or len(names) == 1:
        return whole, None
    at = source.line_end(first.end)
    items, last = _keys(source, value, names[1:], at)
    return (source.text[start:at], tuple(items)) if last == end else (whole, None)


def _id_at(source: Source, value: Node, start: int) -> tuple[int, int] | None:
    """Where the id's own letters stand, counted from the entry's first line."""
    if not isinstance(value.value, dict) or "id" not in value.value:
        return None
    node = value.value["id"]
    at = source.text.find(node.value, node.start, node.end) if isinstance(node.value, str) else -1
    return None if at < 0 or not node.value else (at - start, at - start + len(node.value))


_NAMES = (("id",), ("phase",), ("ingredient",), ("of", "reading"))


def name_of(data: Any) -> Key:
    """What an entry is known by: its id, a phase's letter, an ingredient; else its content."""
    if isinstance(data, dict):
        for names in _NAMES:
            values = [str(data[name]) for name in names if isinstance(data.get(name), str)]
            if len(values) == len(names) and all(values):
                return (names[0], *values)
        if isinstance(data.get("condition"), str):
            until = data.get("until") or data.get("cycles") or ""
            return ("condition", data["condition"], str(until))
    return ("", json.dumps(data, ensure_ascii=False, sort_keys=True))
