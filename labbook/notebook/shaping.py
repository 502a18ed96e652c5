"""A tree of nodes to plain data in the long form, with the place of everything that stays.

Here the short form of lines becomes the long one, one word stands for a list of one, empty keys
are dropped, and keys that the format doesn't know are named.
"""

from __future__ import annotations

from typing import Any

from labbook.model.formula import Line
from labbook.model.kinds import CLOSED_RECORDS
from labbook.model.problems import Place, Problem, Severity
from labbook.notebook.builder import Node, plain
from labbook.notebook.keys import nearest
from labbook.notebook.shapes import Shape


def join(at: str, step: str | int) -> str:
    """The name of a place one step further in: `phases/0/lines/2/percent`."""
    return f"{at}/{step}" if at else str(step)


class Shaping:
    """Turns one file's tree into data; collects `places` and `problems`.

    `empty` has the keys with nothing after them, `meant` those that a mistyped key stands for.
    """

    def __init__(self, path: str) -> None:
        self.path = path
        self.places: dict[str, tuple[int, int]] = {}
        self.empty: dict[str, tuple[int, int]] = {}
        self.meant: set[str] = set()
        self.problems: list[Problem] = []

    def data(self, node: Node, shape: Shape, at: str = "") -> Any:
        """Plain data for a node; what stands in the wrong place is handed on as it is."""
        self.places[at] = (node.line, node.column)
        value = node.value
        form = shape.form
        if isinstance(value, str):
            if form == "list" and shape.item is not None and shape.item.form == "text":
                self.places[join(at, 0)] = (node.line, node.column)
                return [value]
            return value
        if isinstance(value, dict):
            if form == "record":
                return self._record(node, shape, at)
            if form == "map" and shape.item is not None:
                return self._map(node, shape.item, at)
            if form == "list" and shape.item is not None and shape.item.record is Line:
                return self._short_lines(node, at)
        elif form == "list" and shape.item is not None:
            return self._list(node, shape.item, at)
        return plain(node)

    def _record(self, node: Node, shape: Shape, at: str) -> dict[str, Any]:
        found: dict[str, Any] = {}
        before: Node | None = None
        known = shape.keys
        for key, child in node.value.items():
            inner = known.get(key)
            if inner is None:
                self._unknown(node, key, before, shape, at)
            elif child.value == "" and not child.style:
                self.empty[join(at, key)] = (node.keys[key].line, node.keys[key].column)
            else:
                found[key] = self.data(child, inner, f"{at}/{key}" if at else key)
            before = child
        return found

    def _map(self, node: Node, item: Shape, at: str) -> dict[str, Any]:
        filled = {key: child for key, child in node.value.items() if not child.is_empty}
        return {key: self.data(child, item, join(at, key)) for key, child in filled.items()}

    def _list(self, node: Node, item: Shape, at: str) -> list[Any]:
        found: list[Any] = []
        for child in node.value:
            if child.is_empty:
                what = "an entry with nothing in it"
                self._error(child.line, child.column - 1, "empty-entry", what, "Delete its dash.")
            else:
                found.append(self.data(child, item, join(at, len(found))))
        return found

    def _short_lines(self, node: Node, at: str) -> list[Any]:
        """`{beeswax: 1.5}` as `[{ingredient: beeswax, percent: 1.5}]`."""
        found: list[dict[str, Any]] = []
        for number, (name, child) in enumerate(node.value.items()):
            here, key = join(at, number), node.keys[name]
            self.places[here] = self.places[join(here, "ingredient")] = (key.line, key.column)
            self.places[join(here, "percent")] = (child.line, child.column)
            line: dict[str, Any] = {"ingredient": name}
            if not isinstance(child.value, str):
                self.meant.add(join(here, "percent"))
                what = f"{name}: in the short form only the percent can follow the name"
                mend = f"Write the line long: - {{ingredient: {name}, percent: 1.5, role: …}}"
                self._error(child.line, child.column, "wrong-value", what, mend)
            elif not child.is_empty:
                line["percent"] = child.value
            found.append(line)
        return found

    # Keys that the format doesn't know ----------------------------------------------------------

    def _unknown(self, node: Node, key: str, before: Node | None, shape: Shape, at: str) -> None:
        if not at and key == "conflict":
            return  # what a merge left open; said where the text was parsed
        place = node.keys[key]
        near = nearest(key, shape.keys)
        if near is not None:
            self.meant.add(join(at, near))
            what = f"there is no key {key!r} here; it looks like {near}"
            self._error(place.line, place.column, "mistyped-key", what, f"Write {near}:")
            return
        if shape.record in CLOSED_RECORDS:
            what = f"there is no key {key!r} here"
            mend = f"The keys are: {', '.join(shape.keys)}."
            if node.value[key].is_empty and node.style == "flow" and _open_text(before):
                what = f"the comma before {key!r} ends the value and begins a new key"
                mend = (
                    f'Quote a value with a comma in it: "{before.value if before else ""}, {key}"'
                )
            self._error(place.line, place.column, "unknown-key", what, mend)
            return
        what = f"the key {key!r} is not known here; it is kept and read by nothing"
        mend = "A remark goes into notes, or after a #."
        where = Place(self.path, place.line, place.column)
        self.problems.append(Problem(Severity.WARNING, "unknown-key", where, what, mend))

    def _error(self, line: int, column: int, rule: str, what: str, mend: str) -> None:
        place = Place(self.path, line, column)
        self.problems.append(Problem(Severity.ERROR, rule, place, what, mend))


def _open_text(node: Node | None) -> bool:
    return node is not None and isinstance(node.value, str) and not node.style
