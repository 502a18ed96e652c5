"""Where a recording command writes: the lock, the intents, and finishing what was cut off.

The order of a write: lock, intent on the disk, temporary files, compare with what was read,
replace, commit, intent gone. Whatever is cut off, the next recording command finds either nothing
touched, or an intent that knows every new byte.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from labbook.model.errors import GitRefused, LabbookError
from labbook.notebook import git
from labbook.notebook.atomic import (
    Pending,
    must_be,
    remove_file,
)
from labbook.notebook.intent import Intent, Store, new_ident
from labbook.notebook.lock import Wait, locked
from labbook.notebook.messages import joined
from labbook.notebook.settling import Settling, named, put


@dataclass(frozen=True, slots=True)
class Change:
    """One file of a plan: what was read and what it becomes; None is no file.

    Equal bytes mean: commit the file as it is.
    """

    path: str
    old: bytes | None
    new: bytes | None


def storage(place: git.Standing) -> tuple[Path, Store]:
    """The folder of the lock, and the store of one notebook in one work tree."""
    base = place.common / "labbook"
    own = os.path.relpath(place.own, place.common)
    key = hashlib.sha256(os.fsencode(f"{own}\0{place.prefix}")).hexdigest()[:16]
    return base, Store(base / "intents" / key, base / "aside" / key)


class Desk:
    """One command's access to writing in a notebook.

    Raises:
        GitRefused: git is missing or too old, keeps no repository here, or knows no name.
    """

    def __init__(self, root: Path, wait: Wait | None = None) -> None:
        git.available()
        self.root = root.absolute()
        self.place = git.must_stand(self.root)
        git.need_identity(self.root)
        self.base, self.store = storage(self.place)
        self.wait = wait
        self.notes: list[str] = []
        self._left: list[Intent] = []

    @contextlib.contextmanager
    def locked(self, *, but: str = "") -> Iterator[None]:
        """Holds the lock; first finishes what dead commands left, all but the intent `but`."""
        with locked(self.base, self.wait), contextlib.ExitStack() as owners:
            self.store.sweep()
            settling = Settling(self.root, self.place, self.store, self.notes)
            for ident in self.store.idents():
                if ident != but and (lock := self.store.own(ident)) is not None:
                    owners.callback(lock.release)
                    if (left := settling.settle(ident)) is not None:
                        self._left.append(left)
            for group in _groups(self._left):
                with contextlib.suppress(GitRefused):  # stays open; `leftovers` says so
                    self._commit_group(group)
                    self._left = [each for each in self._left if each not in group]
            try:
                yield
            finally:
                self._left = []

    # Writing ------------------------------------------------------------------------------------

    def write(
        self, intent: Intent, changes: Sequence[Change], before: Intent | None = None
    ) -> None:
        """Writes the files of an intent: all of them, or on any error none.

        Args:
            intent: goes on the disk first.
            changes: the files of this turn.
            before: the intent as it was in the turn before, to go back to.
        """
        pending: list[tuple[Change, Pending | None]] = []
        done: list[Change] = []
        self.store.save(intent)
        try:
            for number, change in enumerate(changes):
                fresh = change.new is not None and change.new != change.old
                token = f"{intent.ident}-{number}"
                full = self.root / change.path
                pending.append(
                    (change, Pending(full, change.new or b"", root=self.root, token=token))
                    if fresh
                    else (change, None)
                )
            for change, _ in pending:
                must_be(self.root / change.path, change.old)
            for change, ready in pending:
                if ready is not None:
                    ready.replace(change.old)
                elif change.new is None and change.old is not None:
                    remove_file(self.root / change.path, expect=change.old, root=self.root)
                done.append(change)
            self.store.note_written(intent)
        except BaseException as error:
            for _, ready in pending:
                if ready is not None:
                    ready.discard()
            self._take_back(intent, done, before, error)
            raise

    def _take_back(
        self, intent: Intent, done: list[Change], before: Intent | None, error: BaseException
    ) -> None:
        try:
            for change in reversed(done):
                put(self.root, change.path, change.new, change.old)
            if before is None:
                self.store.forget(intent.ident)
            else:
                self.store.save(before)
        except LabbookError as second:
            error.add_note(
                f"Some files are written already and could not be put back ({second.what}) "
                "The next command that records finishes them."
            )

    # Exchanging ---------------------------------------------------------------------------------

    @contextlib.contextmanager
    def exchange(self, command: str) -> Iterator[Intent]:
        """Holds an intent that writes no file of its own, while entries come and go.

        Its gits are noted by `note_git`, its merge by `will_merge`; should this process die, the
        next command that records, or the next exchange, ends or takes back what they did.
        """
        intent = Intent(new_ident(), command, "", time.time(), ())
        with self.locked():
            lock = self.store.own(intent.ident)
            self.store.save(intent)
        try:
            yield intent
        finally:
            if lock is not None:
                lock.release()
            # As if this process had died: what git did whole stays, a half is taken back.
            with contextlib.suppress(LabbookError), self.locked():
                pass

    def note_git(self, intent: Intent, pid: int) -> None:
        """Notes a git of an exchange, before it is started (0) and when it is."""
        self.store.note_child(intent.ident, pid)

    def will_merge(self, intent: Intent, here: str, there: str, message: str) -> None:
        """Notes what is merged into what, before git begins."""
        if git.is_clear_for(self.place.top, here, there):
            self.store.save(replace(intent, merge=(here, there), message=message))

    def has_merged(self, intent: Intent) -> None:
        """Notes that git has ended the merge, or has left it to the person."""
        self.store.save(intent)

    def take_back(self, intent: Intent, here: str, there: str) -> bool:
        """Takes a half merge back; False, with a note, where that fails. Needs the lock."""
        settling = Settling(self.root, self.place, self.store, self.notes)
        return settling.end_merge(replace(intent, merge=(here, there)))

    # Committing ---------------------------------------------------------------------------------

    def commit(self, intent: Intent) -> str | None:
        """Commits an intent, with those left open that touch the same files.

        Raises:
            GitRefused: the entry stays in the files and the intent stays open.
        """
        group = next(g for g in _groups([*self._left, intent]) if intent in g)
        return self._commit_group(group)

    def _commit_group(self, group: Sequence[Intent]) -> str | None:
        paths = list(dict.fromkeys(path for intent in group for path in intent.paths))
        began = time.time()
        try:
            commit = git.commit_paths(
                self.root,
                paths,
                joined([(intent.message, intent.command) for intent in group]),
                on_spawn=partial(self._note_child, group),
                when=group[-1].when,
            )
        except git.InTheMiddle:
            for intent in group:
                self.store.note_waiting(intent.ident)
            raise
        git.clear_left_locks(self.place, began)
        for intent in group:
            self.store.forget(intent.ident)
        if commit is not None:
            self.notes += [f"Finished {named(i)}." for i in group if i in self._left]
        return commit

    def _note_child(self, group: Sequence[Intent], pid: int) -> None:
        for intent in group:
            self.store.note_child(intent.ident, pid)


def _groups(intents: Sequence[Intent]) -> list[list[Intent]]:
    """Intents that share a file together, oldest first: git can't tell their parts of it apart."""
    groups: list[list[Intent]] = []
    for intent in intents:
        touching = [g for g in groups if any(set(intent.paths) & set(i.paths) for i in g)]
        groups = [g for g in groups if g not in touching]
        groups.append([*(each for group in touching for each in group), intent])
    return groups


def waiting_sentence(intent: Intent, *, written: bool) -> str:
    """What `leftovers` says of an open intent."""
    files = ", ".join(intent.paths)
    if not files:
        return (
            f"{named(intent).capitalize()} was cut off. "
            "The next command that records, or labbook sync, finishes it."
        )
    if written:
        return (
            f"{files}: written by {named(intent)}, not committed yet. "
            "The next command that records commits it."
        )
    return f"{files}: {named(intent)} was cut off. The next command that records finishes it."
