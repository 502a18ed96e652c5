"""What can be understood of a formula whose file has errors, so that one slip hides nothing else.

A mistyped key counts as the one that it looks like, and what can't be read is left out. Nothing is
ever made, weighed or saved from this: it only lets `check` say more in one run. The errors of the
file stand apart, in `validate.read_file`.
"""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import Any

from labbook.model.kinds import Kind, kind_of
from labbook.notebook.builder import Node
from labbook.notebook.keys import nearest
from labbook.notebook.nodes import FileProblem, decode, parse_all
from labbook.notebook.readfile import ReadFile
from labbook.notebook.shapes import Shape, shape_of
from labbook.notebook.shaping import Shaping
from labbook.notebook.values import record_or_place

MOST = 200
"""Slips in one file that are worked round; beyond them it is no formula with slips."""


def read_leniently(raw: bytes, path: str) -> ReadFile | None:
    """The formula that a file seems to mean, without its problems; None where that can't be told.

    Args:
        raw: the bytes of the file.
        path: its path from the notebook's root.
    """
    kind = kind_of(path)
    if kind is None or kind.name != "formula":
        return None
    try:
        node, _ = parse_all(decode(raw, path), path)
    except FileProblem:
        return None
    if node is None or not isinstance(node.value, dict):
        return None
    shape = shape_of(kind.record)
    shaping = Shaping(path)
    data = shaping.data(_as_meant(node, shape), shape)
    record = _what_fits(kind, data, PurePosixPath(path).stem)
    return None if record is None else ReadFile(path, kind.name, record, (), shaping.places)


def _as_meant(node: Node, shape: Shape | None) -> Node:
    """The tree with mistyped keys written as what they look like."""
    value = node.value
    if shape is None:
        return node
    if isinstance(value, tuple):
        return node._replace(value=tuple(_as_meant(child, shape.item) for child in value))
    if not isinstance(value, dict) or shape.form != "record":
        return node
    found: dict[str, Node] = {}
    keys: dict[str, Node] = {}
    for key, child in value.items():
        near = None if key in shape.keys else nearest(key, shape.keys)
        meant = near if near is not None and near not in value else key
        found[meant] = _as_meant(child, shape.keys.get(meant))
        keys[meant] = node.keys[key]
    return node._replace(value=found, keys=keys)


def _what_fits(kind: Kind, data: Any, code: str) -> Any | None:
    """The record of the data without what doesn't fit into it."""
    if not isinstance(data, dict) or "emulsion" not in data:
        return None
    for key, text in (("code", code), ("title", code), ("id", "f-unread")):
        data.setdefault(key, text)
    for _ in range(MOST):
        record, at = record_or_place(kind, data)
        if record is not None:
            return record
        if at is None or not _taken_out(data, at):
            return None
    return None


def _taken_out(data: Any, at: tuple[str | int, ...]) -> bool:
    """Takes out what stands at a place, or the entry that lacks something there."""
    holder, step = data, at[0] if at else None
    for following in at[1:]:
        inner = _inside(holder, step)
        if not isinstance(inner, dict | list) or _inside(inner, following) is None:
            break
        holder, step = inner, following
    if step is None or (holder is data and step == "emulsion"):
        return False
    if isinstance(holder, list) and isinstance(step, int) and step < len(holder):
        del holder[step]
        return True
    if isinstance(holder, dict) and step in holder:
        del holder[step]
        return True
    return False


def _inside(holder: Any, step: Any) -> Any:
    if isinstance(holder, dict):
        return holder.get(step)
    if isinstance(holder, list) and isinstance(step, int) and step < len(holder):
        return holder[step]
    return None
