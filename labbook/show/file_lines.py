"""A file of a notebook as lines of text: what git's log, show, blame and diff print of it.

One line for each ingredient, entry and key, whichever form it is written in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

ENTRIES = {
    "acceptance": "limit", "conflict": "conflict", "corrections": "correction",
    "deviations": "deviation", "done": "done with", "from": "from", "jars": "jar",
    "lines": "line", "looks": "look", "method": "step", "readings": "reading",
    "remarks": "remark", "stays": "stay", "steps": "step", "targets": "target",
    "weighings": "weighing",
}  # fmt: skip
"""What one entry of a list is called."""


@dataclass(frozen=True, slots=True)
class FileLine:
    """A key or entry: what it is called, its data, and the comments above it.

    Without a place it stands for the end of the file.
    """

    where: tuple[str, ...]
    data: Any
    comments: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """`phase A`, `look o3`, `title`."""
        words = list(self.where)
        if words[:1] == ["phases"] and len(words) > 1:
            words[:2] = [f"phase {words[1]}"]
            if words[1:2] == ["lines"]:
                del words[1]
        elif len(words) > 1:
            words[:2] = [f"{ENTRIES.get(words[0], words[0])} {words[1]}".strip()]
        return ", ".join(words)

    @property
    def text(self) -> str:
        """The whole line; more than one where a text has several."""
        if not (said := self.said):
            return self.place
        if self._is_line:
            return f"{self.place}  {said}"
        return f"{self.place}:{said}" if said[0] == "\n" else f"{self.place}: {said}"

    @property
    def _is_line(self) -> bool:
        """Whether it is a line of a formula."""
        return len(self.where) == 4 and self.where[0] == "phases" and self.where[2] == "lines"

    @property
    def said(self) -> str:
        """The data in words."""
        if self._is_line:
            return _line_words(self.data)
        data = self.data
        if isinstance(data, dict) and len(self.where) > 1:
            data = {key: value for key, value in data.items() if key != "id"}
        return words(data)


def _line_words(data: Any) -> str:
    """A formula's line: the amount, then what else is said of it."""
    if not isinstance(data, dict):
        return _amount(data)
    rest = {k: v for k, v in data.items() if k not in ("ingredient", "percent")}
    amount = [_amount(data["percent"])] if "percent" in data else []
    return "  ".join([*amount, *([words(rest)] if rest else [])])


def _amount(data: Any) -> str:
    text = words(data)
    if text.lower() in ("qs", "q.s."):
        return "q.s."
    return text if text.endswith("%") else f"{text} %"


def words(data: Any) -> str:
    """Data in one phrase: `jar 1, grade 0`; a text of several lines keeps them, indented."""
    if isinstance(data, dict):
        return ", ".join(f"{key} {_inner(value)}".rstrip() for key, value in data.items())
    if isinstance(data, list):
        return ", ".join(_inner(value) for value in data)
    lines = str(data).rstrip("\n").split("\n")
    return lines[0] if len(lines) == 1 else "".join(f"\n  {line}".rstrip() for line in lines)


def _inner(data: Any) -> str:
    if isinstance(data, dict):
        return "{" + words(data) + "}"
    if isinstance(data, list):
        return "[" + words(data) + "]"
    return " ".join(str(data).split("\n")).strip()


def file_lines(lines: Sequence[FileLine]) -> str:
    """The file as git's own views compare it."""
    found: list[str] = []
    for line in lines:
        found += line.comments
        if line.where:  # the last one holds comments alone
            found.append(line.text)
    return "".join(f"{each}\n" for each in found)
