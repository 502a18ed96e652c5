"""Three versions of a file to one: the heart of git's merge driver, without a file or a process.

Disjoint edits give the same bytes whichever side is called ours. Where both sides changed one
place, the first by its text stands there, and the other is kept under `conflict:` at the end of the
file: it can still be read as YAML, `check` finds it, and no command works with it before it is
mended.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from labbook.model.errors import Unreadable
from labbook.model.quantities import in_digits
from labbook.notebook import emit
from labbook.notebook.merge_pieces import Cut, Piece, cut, read, walk
from labbook.notebook.merge_three import Conflict, Merger, Renamed, merged_lines, referred_to
from labbook.notebook.spans import FileProblem

CONFLICT = "conflict"
WHOLE = "the whole file"
_HEAD = """\
# Two machines changed the same place. One text stands in its place above, the other one here.
# Put right what stands above, delete all from here on, then: git add THIS-FILE, and git commit.
"""
_COUNTED = ("emulsion", "use", "phases", "method", "targets")
_VERSION = re.compile(r"""^version:[ \t]*(["']?)([0-9]+)\1""")
_SAME_THING = {
    "formula": ("id",),
    "batch": ("made", "formula"),
    "lot": ("id",),
    "ingredient": ("id",),
}
"""What tells that two new files of one name are about two things."""


@dataclass(frozen=True, slots=True)
class Merged:
    """The text of a merge.

    Attributes:
        text: what the file becomes; with conflicts it ends with the key `conflict`.
        conflicts: what both sides changed.
        renamed: entries that got another id.
        number: the version that a merged formula got; None where it keeps a side's.
    """

    text: str
    conflicts: tuple[Conflict, ...] = ()
    renamed: tuple[Renamed, ...] = ()
    number: int | None = None


def merge(base: str, ours: str, theirs: str, kind: str = "") -> Merged:
    """Merges two texts that began as one.

    Args:
        base: what both began from; empty where both made the file.
        ours: one side.
        theirs: the other side; the result is the same the other way round.
        kind: of the file, as in `labbook.model.kinds`; a formula gets a number.

    Raises:
        FileProblem: one of the three can't be read as YAML.
        Unreadable: the result could not be read back; the texts are written in a way that can't be
            merged by position.
    """
    ends = _line_end(base, ours, theirs)
    texts = [_plain(text) for text in (base, ours, theirs)]
    if texts[1] == texts[2]:
        return Merged(ends(texts[1]))
    three = [cut(text) if text.strip() else Cut((), text) for text in texts]
    # A merge of common ancestors may have left its own conflict in the base: that is no one's text.
    three[0] = Cut(tuple(p for p in three[0].items if p.key != (CONFLICT,)), three[0].tail)
    one, two = three[1:]
    if not three[0].items and _two_things(one, two, kind):
        first, second = sorted((one, two), key=lambda side: side.text)
        found = (Conflict((WHOLE,), second.text),)
        return Merged(ends(_proved(first.text + _conflict_text(found))), found)
    merger = Merger(referred_to((*one.items, *two.items)))
    sides = [_without_number(side, kind) for side in three]
    items = merger.items((), *(side.items for side in sides))
    tail = merged_lines(three[0].tail, one.tail, two.tail)
    number, chosen = _number(kind, items, *three)
    if merger.conflicts and kind == "formula" and not chosen:
        number, chosen = number + 1, True  # nobody knows yet which content it will be
    items = [_numbered(item, number) if item.key == ("version",) else item for item in items]
    conflicts = tuple(sorted(set(merger.conflicts), key=lambda each: (each.at, each.other)))
    renamed = tuple(sorted(merger.renamed, key=lambda each: (each.at, each.old)))
    text = "".join(item.text for item in items) + tail
    text = _proved(text + (_conflict_text(conflicts) if conflicts else ""))
    return Merged(ends(text), conflicts, renamed, number if chosen else None)


# Line ends ---------------------------------------------------------------------------------------


def _plain(text: str) -> str:
    """Lines that end with LF, all of them; no byte order mark."""
    bare = text.removeprefix("\ufeff").replace("\r\n", "\n")
    return bare if not bare or bare.endswith("\n") else f"{bare}\n"


def _line_end(base: str, ours: str, theirs: str) -> Any:
    """How a merged text gets its line ends: those of Windows where both sides have them."""
    windows = "\r\n" in ours and "\r\n" in theirs
    mark = "\ufeff" if ours.startswith("\ufeff") and theirs.startswith("\ufeff") else ""
    return lambda text: mark + (text.replace("\n", "\r\n") if windows else text)


# Two things in one file --------------------------------------------------------------------------


def _two_things(one: Cut, two: Cut, kind: str) -> bool:
    """Whether two new files, called the same, are about two formulas, batches or packs."""
    keys = _SAME_THING.get(kind, ())
    values = [
        {piece.key[0]: piece.data for piece in side.items if piece.key} for side in (one, two)
    ]
    return any(values[0].get(key) != values[1].get(key) for key in keys)


# The number of a merged formula ------------------------------------------------------------------


def _without_number(side: Cut, kind: str) -> Cut:
    """A formula with its number taken for equal on all sides; it is set at the end."""
    if kind != "formula":
        return side
    return Cut(
        tuple(_numbered(p, 0) if p.key == ("version",) else p for p in side.items), side.tail
    )


def _numbered(piece: Piece, number: int) -> Piece:
    if not _VERSION.match(piece.head):
        return piece
    return replace(piece, head=_VERSION.sub(f"version: {number}", piece.head), data=str(number))


def _version(items: Sequence[Piece]) -> int:
    found = next((_VERSION.match(p.head) for p in items if p.key == ("version",)), None)
    return (in_digits(found[2]) or 0) if found else 0


def _number(kind: str, items: Sequence[Piece], old: Cut, one: Cut, two: Cut) -> tuple[int, bool]:
    """The number of the result, and whether it is a new one.

    Where one side alone changed number or content, its number stands. Where both did, the higher
    one stands if all that stands under it is the result; any other result gets the next number.
    """
    sides = [(_version(side.items), _content(side.items)) for side in (old, one, two)]
    changed = [side for side in sides[1:] if side != sides[0]]
    if kind != "formula" or not changed:
        return max(number for number, _ in sides[1:]), False
    content = _content(items)
    highest = max(number for number, _ in changed)
    if all(held == content for number, held in changed if number == highest):
        return highest, False
    return max(number for number, _ in sides) + 1, True


def _content(items: Sequence[Piece]) -> dict[str, Any]:
    """What a formula's number stands for: lines and method, no words and no comments."""
    merged = {piece.key[0]: _data(piece) for piece in items if piece.key}
    return {key: merged[key] for key in _COUNTED if key in merged}


def _data(piece: Piece) -> Any:
    """The data of a piece as it stands now; that of a merged group is in its items."""
    if piece.items is None:
        return piece.data
    return [piece.head.strip().split("#")[0], *((item.key, _data(item)) for item in piece.items)]


# Conflicts ---------------------------------------------------------------------------------------


def _conflict_text(conflicts: Sequence[Conflict]) -> str:
    lines = [f"{CONFLICT}:"]
    for each in conflicts:
        lines.append(f"  - at: {emit.quoted(', '.join(each.at))}")
        lines += _other_lines(textwrap.dedent(each.other))
    return _HEAD + "\n".join(lines) + "\n"


def _other_lines(text: str) -> list[str]:
    """What gave way, as a person can copy it."""
    if not text:
        return ["    taken out: yes"]
    if not emit.fits_block(text):
        return [f"    other: {emit.quoted(text)}"]
    head, *below = emit.block_text(text, 6)
    return [f"    other: {head}", *below]


def _proved(text: str) -> str:
    """The text, when it reads back.

    Raises:
        Unreadable: it does not; nothing is written then.
    """
    try:
        read(text)
    except FileProblem as error:
        raise Unreadable(f"the merged text would not read back: {error.what}") from error
    return text


def pieces(text: str) -> tuple[list[tuple[tuple[tuple[str, ...], ...], Piece]], str]:
    """All pieces of a text with their paths, and what stands after the last, for views of it.

    Raises:
        FileProblem: the text can't be read.
    """
    found = cut(_plain(text))
    return list(walk(found.items)), found.tail
