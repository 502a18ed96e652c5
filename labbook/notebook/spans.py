"""Where keys, entries and values begin and end in a text, by whole lines or to the character."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from labbook.model.errors import Unreadable
from labbook.notebook.builder import Node
from labbook.notebook.nodes import FileProblem, parse

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Source:
    """A text with its tree."""

    text: str
    root: Node

    @classmethod
    def of(cls, text: str) -> Source:
        """The text, parsed.

        Raises:
            FileProblem: the text can't be read.
        """
        return cls(text, parse(text, ""))

    @cached_property
    def eol(self) -> str:
        """The line end of the file: that of its first line."""
        at = self.text.find("\n")
        return "\r\n" if at > 0 and self.text[at - 1] == "\r" else "\n"

    @cached_property
    def list_offset(self) -> int:
        """How far the dashes of lists stand to the right of their key; 2 where there is none."""
        return next(_offsets(self.root), 2)

    # Finding -------------------------------------------------------------------------------------

    def find(self, path: Path) -> Node | None:
        """The node at a path as the file is written, or None."""
        node: Node | None = self.root
        for step in path:
            node = None if node is None else _child(node, step)
        return node

    def at(self, path: Path) -> Node:
        """The node at a path.

        Raises:
            Unreadable: there is none.
        """
        node = self.find(path)
        if node is None:
            raise Unreadable(f"there is no {said(path)} in the file", mend="Look at it by hand.")
        return node

    # Lines ---------------------------------------------------------------------------------------

    def line_start(self, offset: int) -> int:
        """The offset of the first character of the line, after a byte order mark."""
        start = self.text.rfind("\n", 0, offset) + 1
        return 1 if start == 0 and self.text.startswith("\ufeff") else start

    def line_end(self, offset: int) -> int:
        """The offset after the line's end, or the length of the text."""
        end = self.text.find("\n", offset)
        return len(self.text) if end < 0 else end + 1

    def before_eol(self, offset: int) -> int:
        """The offset of the line's end itself."""
        end = self.text.find("\n", offset)
        if end < 0:
            return len(self.text)
        return end - 1 if end > 0 and self.text[end - 1] == "\r" else end

    def indent_of(self, offset: int) -> int:
        """How many characters stand before an offset in its line."""
        return offset - self.line_start(offset)

    def lines_end(self, node: Node) -> int:
        """The offset after the last line of a value, its comment included.

        A block scalar that keeps its blank lines (`|+`) ends after them, others before.
        """
        last = _last(node)
        if last.style not in ("|", ">"):
            return self.line_end(last.end)
        body = self.text[last.start : last.end]
        header = body.split("\n", 1)[0].split("#")[0]
        end = last.end
        if "+" not in header:
            end = last.start + len(body.rstrip())
            return self.line_end(end)
        if end == len(self.text) or self.text[end - 1] == "\n":
            return end
        return self.line_end(end)

    def dash(self, items: Node, number: int) -> int:
        """The offset of the dash of an entry in a block list."""
        if number == 0:
            return self.text.index("-", items.start)
        column = self.indent_of(self.text.index("-", items.start))
        at = self.line_start(items.value[number].start)
        floor = items.value[number - 1].end
        while at > floor:
            if self.text[at : at + column].strip(" ") == "" and self.text[at + column] == "-":
                return at + column
            at = self.line_start(at - 1)
        raise Unreadable(f"the dash of entry {number + 1} can't be found", mend="Edit it by hand.")


def _child(node: Node, step: str | int) -> Node | None:
    if isinstance(node.value, dict):
        return node.value.get(step)
    if isinstance(node.value, tuple) and isinstance(step, int) and 0 <= step < len(node.value):
        child: Node = node.value[step]
        return child
    return None


def _last(node: Node) -> Node:
    """The innermost last value of a block collection."""
    while node.style == "block" and node.value:
        node = list(node.value.values())[-1] if isinstance(node.value, dict) else node.value[-1]
    return node


def _offsets(node: Node) -> Any:
    if node.style != "block":
        return
    if isinstance(node.value, tuple):
        for child in node.value:
            yield from _offsets(child)
        return
    for key, child in node.value.items():
        if child.style == "block" and isinstance(child.value, tuple):
            yield child.column - node.keys[key].column
        yield from _offsets(child)


def said(path: Path) -> str:
    """A path for a sentence: `looks, entry 3, note`."""
    words = [f"entry {step + 1}" if isinstance(step, int) else str(step) for step in path]
    return ", ".join(words) or "top"


def written(node: Node) -> Any:
    """The data of a tree, empty values too: what an edit is checked against."""
    if isinstance(node.value, dict):
        return {key: written(child) for key, child in node.value.items()}
    if isinstance(node.value, tuple):
        return [written(child) for child in node.value]
    return node.value


__all__ = ["FileProblem", "Path", "Source", "said", "written"]
