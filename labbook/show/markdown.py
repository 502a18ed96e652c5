"""What differs between two versions as Markdown, for a message or a journal entry.

All words are untrusted: what Markdown or HTML would obey is escaped.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from labbook.evidence.difference import Difference
from labbook.show import version_parts
from labbook.show.layout import clean

_MARKS = re.compile(r"[\\`*_\[\]~|$^!]")
_FIRST = re.compile(r"^(?=[-+=#:])|(?<=^[0-9])(?=[.)])|(?<=^[0-9]{2})(?=[.)])")
_LINKED = re.compile(r":(?=//)|@(?=\S+\.)|(?<=www)\.", re.IGNORECASE)
_HTML = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}


def escaped(text: str) -> str:
    """Text that Markdown shows as it stands, on one line: no mark, tag or link of its own."""
    plain = clean(" ".join(text.split()))
    safe = "".join(_HTML.get(char, char) for char in _MARKS.sub(r"\\\g<0>", plain))
    unlinked = _LINKED.sub(lambda found: f"&#{ord(found[0])};", safe)
    return _FIRST.sub(r"\\", unlinked, count=1)


def _cell(text: str) -> str:
    """A table cell; only a name may hold marks, a figure keeps its sign."""
    return text if re.fullmatch(r"[+-]?[0-9.]*", text) else escaped(text)


def _table(heads: Sequence[str], right: Sequence[bool], rows: Sequence[Sequence[str]]) -> list[str]:
    marks = ["---:" if one else "---" for one in right]
    lines = [heads, marks, *([_cell(cell) for cell in row] for row in rows)]
    return [f"| {' | '.join(line)} |" for line in lines]


def difference_markdown(found: Difference) -> str:
    """A version difference: tables of lines and of what they make, lists of the rest."""
    names = version_parts.short_names(found.from_name, found.to_name)
    heads = [escaped(name) for name in names]
    title = f"{found.from_name} {version_parts.ARROW} {found.to_name}"
    blocks = [[f"## {escaped(title)}"]]
    if found.empty:
        blocks.append(["Nothing differs."])
    if found.lines:
        rows = []
        for line in version_parts.in_makers_order(found.lines):
            word, cells = version_parts.line_row(line)
            name, phase, before, after, _, points = cells
            rows.append((word, name, phase, before, after, points))
        columns = ["", "ingredient", "phase", f"{heads[0]} %", f"{heads[1]} %", "points"]
        blocks.append(_table(columns, [False] * 3 + [True] * 3, rows))
    if found.same_lines:
        blocks.append([f"Same: {version_parts.counted(found.same_lines, 'other')}."])
    if found.readings:
        sentences = [version_parts.explanation_text(one) for one in found.readings]
        listed = [f"- {escaped(sentence)}" for sentence in sentences]
        blocks.append(["It can't be told from the figures which of these was meant:", "", *listed])
    for head, part in (
        ("Method", _method(found)),
        ("Targets", _targets(found)),
        ("Also", _also(found)),
    ):
        if part:
            blocks.append([f"### {head}", "", *(f"- {escaped(one)}" for one in part)])
    if found.told:
        made = [
            (one.what, one.text(one.before) or "", one.text(one.after) or "", one.unit)
            for one in found.told
        ]
        table = _table(["", *heads, ""], [False, True, True, False], made)
        blocks.append(["### Which makes", "", *table])
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _method(found: Difference) -> list[str]:
    sentences = []
    for step in found.method:
        keys = "; ".join(f"{key.key} {version_parts.key_text(key)}" for key in step.keys)
        sentences.append(f"{version_parts.step_name(step)} {keys}".rstrip(" :"))
    return sentences


def _targets(found: Difference) -> list[str]:
    return [version_parts.target_text(target) for target in found.targets]


def _also(found: Difference) -> list[str]:
    sides = [(one.what, one.before, one.after) for one in found.other]
    return [f"{what}: {_word(old)} {version_parts.ARROW} {_word(new)}" for what, old, new in sides]


def _word(value: object) -> str:
    return "none" if value is None else str(value)
