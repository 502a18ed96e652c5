"""Files of a format are read for ever: the samples here never change, nor does what they mean.

A batch that is closed can't be written anew, so a later format has to read these as they are. A
new format gets a folder of its own; nothing in an older folder is touched.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from labbook.model.codec import to_json
from labbook.model.kinds import KINDS, kind_of
from labbook.notebook.nodes import decode, parse
from labbook.notebook.shapes import Shape, shape_of
from labbook.notebook.validate import read_file

HERE = Path(__file__).parent
PLACES = ("format-1", "format-1-later")
"""Notebooks of samples; the second is for new keys of files that a notebook has once."""

FILES = sorted(
    (place, path.relative_to(HERE / place).as_posix())
    for place in PLACES
    for path in (HERE / place).rglob("*.yaml")
)


@pytest.mark.parametrize(("place", "path"), FILES)
def test_a_frozen_file_means_what_it_always_meant(place: str, path: str) -> None:
    file = HERE / place / path
    read = read_file(file.read_bytes(), path)
    assert read.problems == ()
    frozen = json.loads(file.with_suffix(".json").read_text(encoding="utf-8"))
    assert to_json(read.record) == frozen


@pytest.mark.parametrize("kind", KINDS)
def test_the_samples_use_every_key(kind: str) -> None:
    wanted = {f"{record}.{key}" for record, key in _keys(shape_of(KINDS[kind].record))}
    used: set[str] = set()
    for place, path in FILES:
        found = kind_of(path)
        if found is not None and found.name == kind:
            tree = parse(decode((HERE / place / path).read_bytes(), path), path)
            _used(tree, shape_of(KINDS[kind].record), used)
    assert sorted(wanted - used) == []


def _keys(shape: Shape) -> set[tuple[str, str]]:
    if shape.item is not None:
        return _keys(shape.item)
    name = shape.record.__name__ if shape.record else ""
    inner = [_keys(child) for child in shape.keys.values()]
    return {(name, key) for key in shape.keys}.union(*inner)


def _used(node: Any, shape: Shape, used: set[str]) -> None:
    if isinstance(node.value, tuple) and shape.item is not None:
        for child in node.value:
            _used(child, shape.item, used)
    elif isinstance(node.value, dict) and shape.record is not None:
        for key, child in node.value.items():
            used.add(f"{shape.record.__name__}.{key}")
            _used(child, shape.keys[key], used)
