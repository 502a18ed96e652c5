"""What git starts for a notebook's files: merging three, showing one as lines, telling two apart.

`labbook.work.driver_setup` says how git comes to start them.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from labbook.model.errors import LabbookError, NotANotebook
from labbook.show.file_changes import GONE, file_changes_screen
from labbook.show.file_lines import FileLine, file_lines
from labbook.show.layout import Screen

if TYPE_CHECKING:
    from labbook.evidence.difference import Difference
    from labbook.notebook.merge_pieces import Piece

SAID = "labbook: "
"""How a sentence of the merge begins among what git says."""

CLEAN, CONFLICTED, PLAIN = "clean", "conflict", "plain"
"""How a merge ended; `plain`: the file is none of a notebook's, or no YAML, and is left to git."""


def merge_files(base: Path, ours: Path, theirs: Path, path: str) -> tuple[str, tuple[str, ...]]:
    """Merges three files that git wrote, into the one of our side.

    Args:
        base: what both began from; empty where both made the file.
        ours: is written over, in one go, when the merge is known to read back.
        theirs: the other side's.
        path: of the file in its repository.

    Returns:
        How it ended, and sentences for the person.
    """
    from labbook.notebook.merge import merge
    from labbook.notebook.text import decode

    kind = _kind_at(path)
    if not kind:
        return PLAIN, ()
    try:
        old, here, there = (decode(file.read_bytes(), path) for file in (base, ours, theirs))
        found = merge(old, here, there, kind)
    except LabbookError as error:
        return PLAIN, (f"{path} is merged as plain text: {error.what}",)
    _write(ours, found.text.encode("utf-8"))
    said = [
        f"{path}: {each.old} of one side is {each.new} now; both sides had used {each.old}"
        for each in found.renamed
    ]
    if found.number is not None:
        said.append(f"{path}: the merged content is version {found.number}")
    said += [f"{path}: both sides changed {', '.join(each.at)}" for each in found.conflicts]
    return CONFLICTED if found.conflicts else CLEAN, tuple(said)


def _write(file: Path, data: bytes) -> None:
    """Writes a file of git's whole or not at all."""
    new = file.with_name(f"{file.name}.labbook-tmp")
    try:
        new.write_bytes(data)
        new.replace(file)
    finally:
        new.unlink(missing_ok=True)


def _kind_at(path: str) -> str:
    """The kind of a notebook's file from its path in a repository that may hold more."""
    from labbook.model.kinds import kind_of

    parts = path.split("/")
    for start in range(len(parts)):
        if found := kind_of("/".join(parts[start:])):
            return found.name
    return ""


# One file ----------------------------------------------------------------------------------------


def shown_lines(raw: bytes) -> str:
    """A file as lines, one for each ingredient and entry; as it is where it can't be read.

    A comment behind a value is left out, one on a line of its own is kept.
    """
    from labbook.notebook.text import decode

    try:
        return file_lines(lines_of(decode(raw, "")))
    except LabbookError:
        return raw.decode("utf-8", "replace")


def lines_of(text: str) -> list[FileLine]:
    """A text's keys and entries in order, and a last line for the comments below them.

    Raises:
        FileProblem: it can't be read.
    """
    from labbook.notebook.merge import pieces
    from labbook.notebook.merge_three import said

    found: list[FileLine] = []
    waiting: tuple[str, ...] = ()
    every, tail = pieces(text)
    for path, piece in every:
        waiting += _comments(piece.lead)
        if piece.items is not None and not _first_key(piece):
            continue
        where = tuple(said(key) for key in path)
        found.append(FileLine(where, _own_data(piece), waiting))
        waiting = ()
    return [*found, FileLine((), "", waiting + _comments(tail))]


def _comments(text: str) -> tuple[str, ...]:
    """The comments above a piece, without the line that editors read."""
    lines = (line.strip() for line in text.splitlines())
    return tuple(line for line in lines if line and "yaml-language-server" not in line)


def _first_key(piece: Piece) -> bool:
    """Whether a group is an entry with keys below it; its first key stands on its own line."""
    return piece.key[0] in ("phase", "id") and len(piece.key) > 1


def _own_data(piece: Piece) -> object:
    """What a piece says itself; the rest of a group is said by its items."""
    if piece.items is None:
        return piece.data
    below = {item.key[0] for item in piece.items if len(item.key) == 1}
    own = {key: value for key, value in piece.data.items() if key not in below}
    return {key: value for key, value in own.items() if value not in piece.key}


# Two files ---------------------------------------------------------------------------------------


def told_apart(words: Sequence[str], here: Path, screen: Screen) -> str:
    """What `git diff` prints for a file.

    Args:
        words: as git hands them to a diff command: the path, then file, blob and mode of both.
        here: the folder that git runs in, the top of the work tree.
        screen: an empty screen.

    Raises:
        FileProblem: one of the two can't be read; git's own diff is then the better view.
        NotANotebook: the path is of no notebook's file.
    """
    from labbook.notebook.text import decode

    path = words[0]
    if len(words) < 7:
        screen.row("unmerged", f"{path}: put right what is marked in it, then git add {path}")
        return screen.text()
    if not (kind := _kind_at(path)):
        raise NotANotebook(f"{path} is no file of a notebook.")
    before, after = (
        "" if file == GONE else decode((here / file).read_bytes(), path)
        for file in (words[1], words[4])
    )
    old, new = (lines_of(text) if text.strip() else [] for text in (before, after))
    about = "a new file" if not old else "taken away" if not new else ""
    meant = kind == "formula" and not about
    formulas = _meant(here / path, path, before, after) if meant else None
    return file_changes_screen(path, old, new, screen, about=about, formulas=formulas)


def _meant(file: Path, path: str, before: str, after: str) -> Difference | None:
    """What differs in meaning; None where a side is no formula that can be read."""
    from labbook.evidence.difference import difference
    from labbook.model.formula import Formula
    from labbook.model.sheets import Sheets
    from labbook.notebook.folder import find_root
    from labbook.notebook.snapshot import read_bytes, read_notebook

    own = "formulas/" + path.rsplit("/", 1)[-1]
    old, new = (read_bytes(own, text.encode("utf-8")).record for text in (before, after))
    if not (isinstance(old, Formula) and isinstance(new, Formula)):
        return None
    try:
        sheets = read_notebook(find_root(file.parent)).sheets
    except NotANotebook:
        sheets = Sheets({})
    names = [f"@{formula.version}" if formula.version else "draft" for formula in (old, new)]
    if names[0] == names[1]:
        names = ["before", "after"]
    return difference(old, new, sheets, a_name=names[0], b_name=names[1])
