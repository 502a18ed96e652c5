"""Parser events to a tree of nodes, naming on the way what YAML would silently make of a value."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from labbook.model.problems import Place, Problem, Severity
from labbook.notebook.text import BOM, FileProblem, error_at, line_and_column

DEEPEST = 100
FEATURE = "yaml-feature"

_COMMA_TAIL = re.compile(r"[0-9]+( ?[%°A-Za-zµ][^:]*)?", re.ASCII)
_NUMBER = re.compile(r"-?[0-9]+", re.ASCII)
_STUCK_HASH = re.compile(r"[ \t]+#(?=[^\s#])")
_HASH = re.compile(r"[ \t]*(#.?)")
_NO_KEYS: Mapping[str, Node] = MappingProxyType({})


class Node(NamedTuple):
    """A value with its place: text, a tuple of nodes, or a dictionary of nodes.

    `start` and `end` are offsets into the text, `line` and `column` count from 1. `style` is `"`,
    `'`, `|`, `>` or empty for a scalar, `flow` or `block` for a collection; in block style a
    collection ends where its last value ends. `keys` holds the node of each key of a mapping.
    """

    value: Any
    start: int
    end: int
    line: int
    column: int
    style: str
    keys: Mapping[str, Node] = _NO_KEYS

    @property
    def is_empty(self) -> bool:
        """Whether nothing stands where a value could: `aim:` and then the line's end."""
        return not self.style and self.value == ""


def plain(node: Node) -> Any:
    """Text, lists and dictionaries without positions; a key with nothing after it is absent."""
    value = node.value
    if isinstance(value, dict):
        return {key: plain(child) for key, child in value.items() if not child.is_empty}
    if isinstance(value, tuple):
        return [plain(child) for child in value]
    return value


class _Open:
    """A collection whose end is still to come."""

    __slots__ = ("event", "is_mapping", "items", "key", "keys", "last", "values")

    def __init__(self, event: Any, is_mapping: bool) -> None:
        self.event = event
        self.is_mapping = is_mapping
        self.items: list[Node] = []
        self.values: dict[str, Node] = {}
        self.keys: dict[str, Node] = {}
        self.key: Node | None = None
        self.last: Node | None = None


class Builder:
    """Builds one tree from events and collects what can be named without stopping."""

    def __init__(self, text: str, path: str) -> None:
        self.text = text
        self.path = path
        self.shift = 1 if text.startswith(BOM) else 0
        self.body = text[self.shift :]
        self.problems: list[Problem] = []
        self.stuck = {match.start() + self.shift for match in _STUCK_HASH.finditer(self.body)}

    def build(self, events: Iterable[Any]) -> Node:
        """The tree of the only document.

        Raises:
            FileProblem: nothing there, no keys at the top, several documents, nested too deep.
        """
        from ruamel.yaml import events as kinds

        stack: list[_Open] = []
        root: Node | None = None
        for event in events:
            kind = type(event)
            if kind is kinds.ScalarEvent:
                node = self._scalar(event)
            elif kind is kinds.MappingStartEvent or kind is kinds.SequenceStartEvent:
                self._features(event)
                if len(stack) >= DEEPEST:
                    self._stop(
                        event,
                        "too-deep",
                        f"more than {DEEPEST} levels are nested here",
                        "No formula or batch goes that deep; look for stray brackets.",
                    )
                stack.append(_Open(event, kind is kinds.MappingStartEvent))
                continue
            elif kind is kinds.MappingEndEvent or kind is kinds.SequenceEndEvent:
                node = self._close(stack.pop(), event)
            elif kind is kinds.AliasEvent:
                node = self._alias(event)
            else:
                if kind is kinds.DocumentStartEvent and root is not None:
                    self._stop(
                        event,
                        FEATURE,
                        "a second document begins here",
                        "A file holds one; delete the line --- or ... before it.",
                    )
                continue
            if stack:
                self._add(stack[-1], node)
            else:
                root = node
        return self._checked(root)

    def _checked(self, root: Node | None) -> Node:
        if root is None or root.is_empty:
            what = "the file is empty"
            mend = "Write its keys, or delete it; git has what stood here before."
            raise FileProblem((error_at(self.path, 1, 1, "empty-file", what, mend),))
        if not isinstance(root.value, dict):
            kind = "a list" if isinstance(root.value, tuple) else "text without keys"
            what = f"the file holds {kind}; it has to hold lines of the form KEY: VALUE"
            raise FileProblem((error_at(self.path, root.line, root.column, "no-keys", what),))
        return root

    def _scalar(self, event: Any) -> Node:
        if event.anchor is not None or event.tag is not None:
            self._features(event)
        first, last = event.start_mark, event.end_mark
        node = Node(
            event.value,
            first.index + self.shift,
            last.index + self.shift,
            first.line + 1,
            first.column + 1,
            event.style or "",
        )
        if self.stuck and node.end in self.stuck and not node.style and node.value:
            self._hash_inside(node)
        return node

    def _close(self, done: _Open, event: Any) -> Node:
        first = done.event.start_mark
        flow = bool(done.event.flow_style)
        start = first.index + self.shift
        end = event.end_mark.index + self.shift
        if not flow:
            end = done.last.end if done.last else start
        style = "flow" if flow else "block"
        if done.is_mapping:
            return Node(done.values, start, end, first.line + 1, first.column + 1, style, done.keys)
        return Node(tuple(done.items), start, end, first.line + 1, first.column + 1, style)

    def _add(self, parent: _Open, node: Node) -> None:
        if not parent.is_mapping:
            parent.items.append(node)
        elif parent.key is None:
            if not isinstance(node.value, str):
                what = "a group in brackets stands where a key has to be"
                raise FileProblem((error_at(self.path, node.line, node.column, FEATURE, what),))
            parent.key = node
            return
        else:
            key, parent.key = parent.key, None
            node = self._behind_colon(key, node)
            if node.is_empty and self._emptied(parent, key, node):
                return
            if key.value in parent.values:
                self._twice(parent.keys[key.value], key)
                return
            parent.keys[key.value] = key
            parent.values[key.value] = node
        parent.last = node

    def _behind_colon(self, key: Node, node: Node) -> Node:
        """An empty value right behind its colon, where the pure parser may put it a line below."""
        start = node.start
        if not node.is_empty or node.end > start or start == key.end or self.text[start - 1] == ":":
            return node
        colon = re.compile(r"\s*:").match(self.text, key.end)
        at = colon.end() if colon else key.end
        return Node("", at, at, *line_and_column(self.text, at), "")

    # What YAML would silently make of it ------------------------------------------------------

    def _emptied(self, parent: _Open, key: Node, node: Node) -> bool:
        """Names what took the value away; True where the key itself is only its remainder."""
        before = parent.last
        if (
            parent.event.flow_style
            and before is not None
            and isinstance(before.value, str)
            and _COMMA_TAIL.fullmatch(key.value)
            and _NUMBER.fullmatch(before.value)
        ):
            named = next(reversed(parent.values))
            written, pointed = f"{before.value},{key.value}", f"{before.value}.{key.value}"
            what = f"{named}: {written} has a decimal comma; files take a point: {pointed}"
            self._error(before, "decimal-comma", what)
            parent.values[named] = parent.last = before._replace(value=pointed)
            return True
        hash_ = _HASH.match(self.text, node.end)
        if hash_ is not None and node.start == node.end:
            self._hash_alone(key, hash_)
        return False

    def _hash_alone(self, key: Node, hash_: re.Match[str]) -> None:
        line, column = line_and_column(self.text, hash_.start(1))
        stuck = len(hash_[1]) > 1 and not hash_[1][1].isspace()
        rest = self.text[hash_.start(1) :].split("\n", 1)[0].rstrip()
        what = f"{key.value} is empty: everything from # on is a comment"
        mend = f'If it is the value, quote it: {key.value}: "{rest}"'
        severity = Severity.ERROR if stuck else Severity.WARNING
        place = Place(self.path, line, column)
        self.problems.append(Problem(severity, "hash-in-value", place, what, mend))

    def _hash_inside(self, node: Node) -> None:
        rest = self.text[node.start :].split("\n", 1)[0].rstrip()
        at = self.text.index("#", node.end)
        line, column = line_and_column(self.text, at)
        what = f"the value ends before the #: it is {node.value!r}"
        mend = f'If # belongs to it, quote it: "{rest}"; if not, put a space after #.'
        place = Place(self.path, line, column)
        self.problems.append(Problem(Severity.WARNING, "hash-in-value", place, what, mend))

    def _features(self, event: Any) -> None:
        """Anchors and tags, which a value that begins with & or ! turns into."""
        if event.anchor is None and event.tag is None:
            return
        first = event.start_mark
        sign, name = ("&", "an anchor") if event.anchor is not None else ("!", "a tag")
        written = self.body[first.index : event.end_mark.index]
        what = f"{sign} makes this {name} of YAML, which files of a notebook don't use"
        mend = f"Take the {sign} out, or quote the value."
        if hasattr(event, "value"):
            mend = f'If it begins the value, quote it: "{written}"'
        self.problems.append(
            error_at(self.path, first.line + 1, first.column + 1, FEATURE, what, mend)
        )

    def _alias(self, event: Any) -> Node:
        first, last = event.start_mark, event.end_mark
        written = self.body[first.index : last.index]
        what = f"{written} is an alias of YAML, which files of a notebook don't use"
        mend = f'Write the value out; if the text begins with *, quote it: "{written}"'
        self.problems.append(
            error_at(self.path, first.line + 1, first.column + 1, FEATURE, what, mend)
        )
        return Node(
            written,
            first.index + self.shift,
            last.index + self.shift,
            first.line + 1,
            first.column + 1,
            "*",
        )

    def _twice(self, first: Node, second: Node) -> None:
        self._error(
            second,
            "duplicate-key",
            f"{second.value} stands here a second time, after line {first.line}",
            "Keep one of the two; YAML readers differ on which one counts.",
        )

    def _error(self, node: Node, rule: str, what: str, mend: str = "") -> None:
        self.problems.append(error_at(self.path, node.line, node.column, rule, what, mend))

    def _stop(self, event: Any, rule: str, what: str, mend: str) -> None:
        mark = event.start_mark
        raise FileProblem((error_at(self.path, mark.line + 1, mark.column + 1, rule, what, mend),))
