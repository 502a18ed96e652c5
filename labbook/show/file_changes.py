"""What `git diff` says of a file: entries added, changed, taken out, in the maker's words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from labbook.show.file_lines import FileLine, words
from labbook.show.layout import Screen

if TYPE_CHECKING:
    from labbook.evidence.difference import Difference

GONE = "/dev/null"
NOT_MEANT = frozenset({"code", "id", "version", "public"})
"""Keys of a formula that a difference in meaning doesn't speak of."""


def file_changes_screen(
    path: str,
    old: Sequence[FileLine],
    new: Sequence[FileLine],
    screen: Screen,
    *,
    about: str = "",
    formulas: Difference | None = None,
) -> str:
    """What differs between two contents of a file.

    Args:
        path: the file's.
        old: its lines before; none of a new file.
        new: its lines after; none of one that was taken away.
        screen: an empty screen.
        about: what stands at the right of the first line.
        formulas: of a formula, what differs in meaning; its lines and steps are then told by that.
    """
    screen.title(path, about)
    screen.blank()
    if formulas is not None and not formulas.empty:
        from labbook.show.version_parts import version_parts

        version_parts(screen, formulas)
        screen.blank()
    before, after = ({line.where: line for line in side} for side in (old, new))
    told = formulas is not None
    rows = 0
    for where in dict.fromkeys((*before, *after)):
        if where and (not told or where[0] in NOT_MEANT):
            rows += _row(screen, before.get(where), after.get(where))
        rows += _comment_rows(screen, before.get(where), after.get(where))
    if not rows and (formulas is None or formulas.empty):
        screen.row("same", "nothing but spacing, quotation marks or the order of keys differs")
    screen.blank()
    return screen.text()


def _row(screen: Screen, old: FileLine | None, new: FileLine | None) -> int:
    if old is None and new is not None:
        screen.row("added", new.text)
    elif old is not None and new is None:
        screen.row("taken out", old.text)
    elif old is not None and new is not None and old.data != new.data:
        _changed(screen, old, new)
    else:
        return 0
    return 1


def _changed(screen: Screen, old: FileLine, new: FileLine) -> None:
    """An entry key by key; a value as a whole."""
    if isinstance(old.data, Mapping) and isinstance(new.data, Mapping):
        keys = [key for key in dict.fromkeys((*old.data, *new.data)) if key != "id"]
        parts = [_part(key, old.data, new.data) for key in keys]
        screen.row("changed", f"{new.place}: {', '.join(part for part in parts if part)}")
        return
    if old.said.count("\n") + new.said.count("\n"):
        screen.row("changed", f"{new.place}, was:{old.said}")
        screen.row("", f"now:{new.said}")
        return
    screen.row("changed", f"{new.place}: {old.said} → {new.said}")


def _part(key: str, old: Mapping[str, object], new: Mapping[str, object]) -> str:
    if key not in old:
        return f"{key} {words(new[key])} added"
    if key not in new:
        return f"{key} {words(old[key])} taken out"
    return "" if old[key] == new[key] else f"{key} {words(old[key])} → {words(new[key])}"


def _comment_rows(screen: Screen, old: FileLine | None, new: FileLine | None) -> int:
    """Comments above an entry that are new or gone."""
    before, after = (line.comments if line else () for line in (old, new))
    rows = [("taken out", text) for text in before if text not in after]
    rows += [("added", text) for text in after if text not in before]
    for margin, text in rows:
        screen.row(margin, text)
    return len(rows)
