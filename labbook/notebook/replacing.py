"""One value for another in a text: quotes, alignment and comments are kept where they can be."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from labbook.model.errors import NotAllowed
from labbook.notebook import emit
from labbook.notebook.builder import Node
from labbook.notebook.spans import Path, Source


def replaced(source: Source, path: Path, value: Any) -> str:
    """The text with another value at a path that is there."""
    if not path:
        raise NotAllowed("a whole file is no single value")
    node = source.at(path)
    if node.is_empty:
        return _fill(source, path, node, value)
    if (
        node.style == "block"
        or (node.style in ("|", ">"))
        or _wants_block(source, path, node, value)
    ):
        return _replace_lines(source, path, node, value)
    return _replace(source, node, _token(source.text[node.start : node.end], node, value))


def _wants_block(source: Source, path: Path, node: Node, value: Any) -> bool:
    """Whether a one-line value becomes a text of several lines where there is room for it."""
    if not isinstance(value, str) or not emit.fits_block(value):
        return False
    rest = source.text[node.end : source.before_eol(node.end)]
    return source.at(path[:-1]).style == "block" and not rest.strip()


def _token(old: str, node: Node, value: Any) -> str:
    """The new value in the quotes of the old one, where it can stand in them."""
    if isinstance(value, Mapping | list | tuple):
        return emit.flow(value)
    text = emit.text_of(value)
    if text == node.value:
        return old
    if node.style == "'" and "\n" not in text and not emit.is_odd(text):
        return "'" + text.replace("'", "''") + "'"
    if node.style in ('"', "'"):
        return emit.quoted(text)
    if node.style == "" and emit.is_plain_safe(text):
        return text
    return emit.scalar(value)


def _replace(source: Source, node: Node, token: str) -> str:
    """One token for another; a comment that stands in a column of its own stays in it."""
    text, old = source.text, source.text[node.start : node.end]
    after = text[node.end : source.before_eol(node.end)]
    gap = len(after) - len(after.lstrip(" "))
    tail = node.end
    if gap > 1 and after[gap:].startswith("#") and "\n" not in old:
        gap = max(1, gap - (len(token) - len(old)))
        token, tail = token + " " * gap, node.end + len(after) - len(after.lstrip(" "))
    return text[: node.start] + token + text[tail:]


def _fill(source: Source, path: Path, node: Node, value: Any) -> str:
    """A value where only a key or a dash stands; a comment behind it stays."""
    text, at = source.text, node.end
    first, *below = _lines(source, path, value)
    colon = "" if text[at - 1 : at] in (":", "-") else ":"
    stop = source.line_end(at)
    gap = "" if first == "" or text[at : at + 1] in ("", *" \t\r\n,}]") else " "
    line = text[:at] + colon + first + gap + text[at:stop]
    if not below:
        return line + text[stop:]
    lead = "" if line.endswith("\n") else source.eol
    return line + lead + "".join(one + source.eol for one in below) + text[stop:]


def _lines(source: Source, path: Path, value: Any) -> list[str]:
    """What follows a key's colon or a dash."""
    parent, key = source.at(path[:-1]), path[-1]
    if not isinstance(key, str) or parent.style != "block":
        return [f" {emit.flow(value)}"]
    return emit.after_key(value, source.indent_of(parent.keys[key].start), source.list_offset)


def _replace_lines(source: Source, path: Path, node: Node, value: Any) -> str:
    """A new value for whole lines; comments between them go with them."""
    text, end = source.text, source.lines_end(node)
    parent, key = source.at(path[:-1]), path[-1]
    if isinstance(key, str):
        begin = text.index(":", parent.keys[key].end) + 1
        first, *below = _lines(source, path, value)
    else:
        begin, first, below = node.start, emit.flow(value), []
    tail = text[len(text[:end].rstrip("\r\n")) : end]
    if below:
        tail = source.eol
    return text[:begin] + source.eol.join([first, *below]) + tail + text[end:]
