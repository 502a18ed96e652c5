"""Gathering the changes that one recording command makes, before anything is written.

A draft reads each file afresh (it is used under the lock), so entries that another process added a
moment ago stay.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from labbook.model.errors import NotAllowed, Unclear, Unreadable
from labbook.model.kinds import kind_of

if TYPE_CHECKING:
    from labbook.notebook.record import Change, Plan

_UP = 3
"""Folders between a batch's file and the notebook's root."""


class Draft:
    """Old and new content of the files that a command touches."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._old: dict[str, bytes | None] = {}
        self._new: dict[str, bytes | None] = {}
        self._written: set[str] = set()

    def _load(self, path: str) -> bytes | None:
        if path not in self._old:
            try:
                self._old[path] = (self.root / path).read_bytes()
            except FileNotFoundError:
                self._old[path] = None
            except OSError as error:
                raise Unreadable(f"{path} can't be read: {error.strerror}.", where=path) from error
            self._new[path] = self._old[path]
        return self._new[path]

    def raw(self, path: str) -> bytes | None:
        """The bytes of a file as they will be; None where there is none."""
        return self._load(path)

    def exists(self, path: str) -> bool:
        """Whether the file is there, or will be."""
        return self._load(path) is not None

    def text(self, path: str) -> str:
        """The text of a file as it will be."""
        from labbook.notebook.nodes import decode

        raw = self._load(path)
        if raw is None:
            raise Unreadable(f"{path} is not there.", where=path)
        return decode(raw, path)

    def edit(self, path: str, change: Callable[[str], str]) -> None:
        """Applies a change of text to a file."""
        self._new[path] = change(self.text(path)).encode("utf-8")
        self._written.add(path)

    def create(self, path: str, text: str, *, replace: bool = False) -> None:
        """A new file; an existing one is only replaced when that is meant."""
        if self._load(path) is not None and not replace:
            raise NotAllowed(f"{path} is there already; nothing was changed.", where=path)
        self._new[path] = text.encode("utf-8")
        self._written.add(path)

    def begin(self, path: str, batch_id: str, kind: str, *, note: str = "") -> str:
        """Begins a file of a batch that only grows, where there is none; gives its path back.

        Args:
            path: of the file, in its batch's folder.
            batch_id: the batch, named in it.
            kind: of the file, for the schema that its first line names.
            note: a second line of its head.
        """
        if not self.exists(path):
            from labbook.notebook.emit import document
            from labbook.notebook.schema import schema_line

            head = (schema_line(kind, _UP), *([note] if note else []))
            self.create(path, document({"batch": batch_id}, head=head))
        return path

    def put_bytes(self, path: str, raw: bytes | None) -> None:
        """The exact new content of a file; None takes it away."""
        self._load(path)
        self._new[path] = raw

    def append(self, path: str, key: str, entry: dict[str, Any]) -> None:
        """Adds an entry to a list of a file."""
        from labbook.notebook import edit

        self.edit(path, lambda text: edit.append(text, (key,), entry))

    def put(self, path: str, keys: tuple[str | int, ...], value: Any) -> None:
        """Sets one value of a file, adding the key where it is missing."""
        from labbook.notebook import edit

        self.edit(path, lambda text: edit.put(text, keys, value))

    def changes(self) -> tuple[Change, ...]:
        """What differs from the disk.

        Raises:
            Unclear: what was typed can't stand in a file, which could be read until now.
        """
        from labbook.notebook.record import Change

        for path in sorted(self._written):
            self._must_read_back(path)
        return tuple(
            Change(path, old, self._new[path])
            for path, old in self._old.items()
            if self._new[path] != old
        )

    def _must_read_back(self, path: str) -> None:
        from labbook.model.problems import Severity
        from labbook.notebook.validate import read_file

        old, new = self._old[path], self._new[path]
        if new is None or new == old or kind_of(path) is None:
            return
        read = read_file(new, path)
        wrong = [one for one in read.problems if one.severity is Severity.ERROR]
        if wrong and (old is None or read_file(old, path).record is not None):
            what = f"{path} could not be read with that in it: {wrong[0].what}"
            mend = wrong[0].mend or "Type it another way. Nothing was written."
            raise Unclear(what, where=path, mend=mend)

    def plan(self, message: str, result: Any = None, *, also: tuple[str, ...] = ()) -> Plan:
        """The plan that `record` carries out; `also` names files to commit as they stand."""
        from labbook.notebook.record import Plan

        return Plan(self.changes(), message, result, also)
