"""One more key or entry in a text, with the indentation and line ends that the file has."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from labbook.notebook import emit
from labbook.notebook.builder import Node
from labbook.notebook.replacing import replaced
from labbook.notebook.spans import Path, Source


def with_key(source: Source, parent: Node, key: str, value: Any) -> str:
    """The text with a new key at the end of a mapping."""
    if parent.style == "flow":
        return into_flow(source, parent, emit.flow({key: value})[1:-1], "{}")
    first = next(iter(parent.keys.values()))
    lines = emit.block(key, value, source.indent_of(first.start), source.list_offset)
    return _insert(source, source.lines_end(parent), lines)


def _insert(source: Source, at: int, lines: list[str]) -> str:
    """Whole lines at the beginning of a line, or after the end of a text without a final one."""
    text = source.text
    new = "".join(line + source.eol for line in lines)
    lead = "" if at == 0 or text[at - 1] == "\n" else source.eol
    return text[:at] + lead + new + text[at:]


def into_flow(source: Source, node: Node, token: str, brackets: str) -> str:
    """One more value in a one-line form, or on its own line where each has one."""
    text = source.text
    children = list(node.value.values()) if isinstance(node.value, dict) else list(node.value)
    if not children:
        return text[: node.start] + brackets[0] + token + brackets[1] + text[node.end :]
    last = children[-1]
    first = list(node.keys.values())[-1] if isinstance(node.value, dict) else last
    end = last.end
    lead = text[source.line_start(first.start) : first.start]
    own_line = lead.strip() == "" and "\n" in text[end : node.end]
    if not own_line:
        return f"{text[:end]}, {token}{text[end:]}"
    comma = text[end : node.end].lstrip().startswith(",")
    stop = source.before_eol(end)
    after = text[end:stop] if comma else "," + text[end:stop]
    new = f"{source.eol}{lead}{token}{',' if comma else ''}"
    return text[:end] + after + new + text[stop:]


def first_entry(source: Source, path: Path, node: Node, entry: Mapping[str, Any]) -> str:
    """The first entry of a list that is empty: below its key, `[]` taken away."""
    text = source.text
    *above, key = path
    parent = source.at(tuple(above))
    if parent.style == "flow" or not isinstance(key, str):
        if node.is_empty:
            return replaced(source, path, [entry])
        return into_flow(source, node, emit.flow(entry), "[]")
    if not node.is_empty:
        source = Source.of(text[: node.start].rstrip(" ") + text[node.end :])
    return replaced(source, path, [entry])


def next_entry(source: Source, node: Node, entry: Mapping[str, Any]) -> str:
    """The text with one more entry after the last one of a block list."""
    text = source.text
    number = len(node.value) - 1
    dash = source.dash(node, number)
    gap = text[dash + 1 : node.value[number].start]
    if gap.strip(" ") or not gap:
        gap = " "
    indent = " " * source.indent_of(dash)
    return _insert(source, source.lines_end(node), [f"{indent}-{gap}{emit.flow(entry)}"])
