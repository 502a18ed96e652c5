"""A key or an entry out of a text, with its lines."""

from __future__ import annotations

from labbook.notebook.builder import Node
from labbook.notebook.spans import Path, Source


def without(source: Source, path: Path) -> str:
    """The text without what stands at a path."""
    step = path[-1]
    parent = source.at(path[:-1])
    if parent.style == "flow":
        return _out_of_flow(source, parent, step)
    if len(parent.value) == 1:
        return _last_out(source, path[:-1], parent)
    if isinstance(step, int):
        return _entry_out(source, parent, step)
    return _key_out(source, parent, step)


def _out_of_flow(source: Source, node: Node, step: str | int) -> str:
    text = source.text
    if isinstance(node.value, dict):
        names = list(node.value)
        number = names.index(str(step))
        starts = [node.keys[name].start for name in names]
        ends = [max(node.value[name].end, node.keys[name].end) for name in names]
    else:
        number = int(step)
        starts, ends = [n.start for n in node.value], [n.end for n in node.value]
    if number + 1 < len(starts):
        return text[: starts[number]] + text[starts[number + 1] :]
    if number > 0:
        return text[: ends[number - 1]] + text[ends[number] :]
    return text[: node.start + 1] + text[node.end - 1 :]


def _last_out(source: Source, path: Path, node: Node) -> str:
    """The only entry of a group: the group stays, as `[]` or `{}`."""
    text, end = source.text, source.lines_end(node)
    empty = "{}" if isinstance(node.value, dict) else "[]"
    tail = text[len(text[:end].rstrip("\r\n")) : end]
    if path and isinstance(path[-1], str):
        key = source.at(path[:-1]).keys[path[-1]]
        at = text.index(":", key.end) + 1
        stop = source.before_eol(at)
        if node.start > stop:  # the group begins below its key, whose line keeps its comment
            return f"{text[:at]} {empty}{text[at:stop]}{tail}{text[end:]}"
        return f"{text[:at]} {empty}{tail}{text[end:]}"
    return f"{text[: node.start]}{empty}{tail}{text[end:]}"


def _entry_out(source: Source, node: Node, number: int) -> str:
    text = source.text
    dash = source.dash(node, number)
    if number + 1 < len(node.value):
        following = source.dash(node, number + 1)
        if text[source.line_start(dash) : dash].strip(" "):  # a list that begins on another dash
            return text[:dash] + text[following:]
    return text[: source.line_start(dash)] + text[source.lines_end(node.value[number]) :]


def _key_out(source: Source, node: Node, key: str) -> str:
    text = source.text
    names = list(node.value)
    start = node.keys[key].start
    if text[source.line_start(start) : start].strip(" "):  # the first key, after a dash
        following = node.keys[names[names.index(key) + 1]].start
        return text[:start] + text[following:]
    value = node.value[key]
    end = source.line_end(node.keys[key].end) if value.is_empty else source.lines_end(value)
    return text[: source.line_start(start)] + text[end:]
