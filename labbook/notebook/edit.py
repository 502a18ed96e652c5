"""Changes to a text that leave every other character as the maker wrote it.

Single values are replaced and entries added by position, with the file's own indentation and line
ends. Every function reads its result back and compares it with what was meant. Paths address the
file as it is written: `("phases", 0, "lines", "beeswax")` in the short form of lines.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from labbook.model.errors import Unreadable
from labbook.notebook import emit
from labbook.notebook.cutting import without
from labbook.notebook.inserting import first_entry, into_flow, next_entry, with_key
from labbook.notebook.replacing import replaced
from labbook.notebook.spans import FileProblem, Path, Source, said, written

__all__ = ["Path", "append", "put", "remove", "set_value"]


def set_value(text: str, path: Path, value: Any) -> str:
    """Changes one value; its quotes are kept where the new text allows, comments always.

    Raises:
        Unreadable: the text can't be read, there is no such key, or the change can't be proved.
    """
    source = Source.of(text)
    source.at(path)
    new = replaced(source, path, value)
    return _proved(source, new, path, lambda data: _assign(data, path, value))


def put(text: str, path: Path, value: Any) -> str:
    """Sets a value; a key that is not there is added at the end of its mapping.

    Raises:
        Unreadable: as for `set_value`.
    """
    source = Source.of(text)
    if source.find(path) is not None:
        return set_value(text, path, value)
    *above, key = path
    parent = source.find(tuple(above))
    if not isinstance(key, str):
        raise Unreadable(f"there is no {said(path)} in the file", mend="Look at it by hand.")
    if parent is None or parent.is_empty:
        return put(text, tuple(above), {key: value})
    if not isinstance(parent.value, dict):
        raise Unreadable(f"{said(tuple(above))} holds no keys", mend="Look at it by hand.")
    new = with_key(source, parent, key, value)
    return _proved(source, new, path, lambda data: _assign(data, path, value))


def append(text: str, path: Path, entry: Mapping[str, Any]) -> str:
    """Adds an entry at the end of a list, and the list's key where it is missing.

    The entry takes one line, with the indentation of the entries before it. A file without a final
    line end gets one.

    Raises:
        Unreadable: as for `set_value`.
    """
    source = Source.of(text)
    node = source.find(path)
    if node is None:
        return put(text, path, [entry])
    if node.is_empty or (node.style == "flow" and node.value == ()):
        new = first_entry(source, path, node, entry)
    elif not isinstance(node.value, tuple):
        raise Unreadable(f"{said(path)} is no list", mend="Look at it by hand.")
    elif node.style == "flow":
        new = into_flow(source, node, emit.flow(entry), "[]")
    else:
        new = next_entry(source, node, entry)
    return _proved(source, new, path, lambda data: _extend(data, path, entry))


def remove(text: str, path: Path) -> str:
    """Takes out a key or an entry, with its lines; the last one leaves `[]` or `{}`.

    Raises:
        Unreadable: as for `set_value`.
    """
    source = Source.of(text)
    source.at(path)
    new = without(source, path)
    return _proved(source, new, path, lambda data: _delete(data, path))


# Proof -----------------------------------------------------------------------------------------


def _proved(source: Source, new: str, path: Path, change: Any) -> str:
    """The new text, when it reads back as just the change that was meant."""
    meant = copy.deepcopy(written(source.root))
    change(meant)
    try:
        found = written(Source.of(new).root)
    except FileProblem as error:
        raise _unproved(path) from error
    if found != meant:
        raise _unproved(path)
    return new


def _unproved(path: Path) -> Unreadable:
    return Unreadable(
        f"{said(path)} can't be changed in place: the file is written in a way that would not read "
        "back the same",
        mend="Nothing was changed; edit it by hand: labbook edit",
    )


def _holder(data: Any, path: Path) -> Any:
    """What holds the last step of a path; keys that are missing or empty are made."""
    for step in path[:-1]:
        if isinstance(data, dict) and data.get(str(step), "") == "":
            data[str(step)] = {}
        data = data[step]
    return data


def _assign(data: Any, path: Path, value: Any) -> None:
    _holder(data, path)[path[-1]] = _read_back(value)


def _extend(data: Any, path: Path, entry: Any) -> None:
    holder = _holder(data, path)
    before = holder[path[-1]]
    holder[path[-1]] = [*(before or []), _read_back(entry)]


def _delete(data: Any, path: Path) -> None:
    del _holder(data, path)[path[-1]]


def _read_back(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _read_back(item) for key, item in value.items() if item is not None}
    if isinstance(value, list | tuple):
        return [_read_back(item) for item in value]
    return emit.text_of(value)
