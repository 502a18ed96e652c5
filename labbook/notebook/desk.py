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
from datetime import datetime
from functools import partial
from pathlib import Path

from labbook.model.errors import GitRefused, LabbookError
from labbook.notebook import git
from labbook.notebook.atomic import (
    TEMPORARY,
    Pending,
    must_be,
    read_if_there,
    remove_file,
    write_file,
)
from labbook.notebook.intent import Intent, Store, Target, digest
from labbook.notebook.lock import Wait, is_alive, locked
from labbook.notebook.messages import joined

_STARTING = 60.0  # seconds after its start within which git takes its lock, on a slow machine
_ENDING = 3.0  # seconds that a git of a dead command gets to end


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
            for ident in self.store.idents():
                if ident != but and (lock := self.store.own(ident)) is not None:
                    owners.callback(lock.release)
                    self._settle(ident)
            for group in _groups(self._left):
                with contextlib.suppress(GitRefused):  # stays open; `leftovers` says so
                    self._commit_group(group)
                    self._left = [each for each in self._left if each not in group]
            try:
                yield
            finally:
                self._left = []

    # Finishing ----------------------------------------------------------------------------------

    def _settle(self, ident: str) -> None:
        """Brings the files of a dead command's intent to what it meant, and queues its commit."""
        intent = self.store.read(ident)
        if intent is None:
            kept = self.store.aside(ident)
            self.store.forget(ident)
            self.notes.append(f"A record of half-done writing was damaged; it is kept in {kept}.")
            return
        self._clean_up(intent)
        written = self.store.log(ident).written >= intent.turn
        kept_targets = self._as_written(intent) if written else self._roll_forward(intent)
        if kept_targets is None:
            return
        if not kept_targets:
            self.store.forget(ident)
            return
        if kept_targets != intent.targets:
            intent = replace(intent, targets=kept_targets)
            self.store.save(intent)
        if not written:
            self.store.note_written(intent)
        self._left.append(intent)

    def _clean_up(self, intent: Intent) -> None:
        """Takes away temporary files and git locks that the dead command left."""
        for folder in {(self.root / path).parent for path in intent.paths}:
            for file in folder.glob(f"{TEMPORARY}{intent.ident}-*"):
                with contextlib.suppress(OSError):
                    file.unlink(missing_ok=True)
        children = self.store.log(intent.ident).children
        pids = [pid for pid, _ in children]
        # 0 was noted before git started. If no id follows, this process died in between, and git,
        # never told its paths, ended as well.
        if pids and _ended([pid for pid in pids if pid]):
            until = max(at for _, at in children) + _STARTING
            git.clear_dead_locks(self.place, intent.made, until)

    def _as_written(self, intent: Intent) -> tuple[Target, ...]:
        """Of an intent whose files were all in place: those that were not taken back since."""
        kept = []
        for target in intent.targets:
            found = digest(read_if_there(self.root / target.path))
            taken_back = found == target.before[0] and found != digest(target.new)
            if not taken_back:
                kept.append(target)
        return tuple(kept)

    def _roll_forward(self, intent: Intent) -> tuple[Target, ...] | None:
        """Writes what was not written yet; None leaves the intent open for another time."""
        present = {t.path: read_if_there(self.root / t.path) for t in intent.targets}
        done = [t for t in intent.targets if digest(present[t.path]) == digest(t.new)]
        waiting = [t for t in intent.targets if t not in done]
        edited = [t.path for t in waiting if digest(present[t.path]) not in t.before]
        if edited:
            kept = self.store.aside(intent.ident, waiting)
            self.notes.append(_edited(intent, edited, kept))
            return tuple(done)
        try:
            for target in waiting:
                self._put(target.path, present[target.path], target.new)
        except LabbookError as error:
            self.notes.append(f"What {_named(intent)} meant to write still waits: {error.what}")
            return None
        return intent.targets

    def _put(self, path: str, old: bytes | None, new: bytes | None) -> None:
        if new is not None:
            write_file(self.root / path, new, expect=old, root=self.root)
        elif old is not None:
            remove_file(self.root / path, expect=old, root=self.root)

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
                self._put(change.path, change.new, change.old)
            if before is None:
                self.store.forget(intent.ident)
            else:
                self.store.save(before)
        except LabbookError as second:
            error.add_note(
                f"Some files are written already and could not be put back ({second.what}) "
                "The next command that records finishes them."
            )

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
        commit = git.commit_paths(
            self.root,
            paths,
            joined([(intent.message, intent.command) for intent in group]),
            on_spawn=partial(self._note_child, group),
            when=group[-1].when,
        )
        git.clear_left_locks(self.place, began)
        for intent in group:
            self.store.forget(intent.ident)
        if commit is not None:
            self.notes += [f"Finished {_named(i)}." for i in group if i in self._left]
        return commit

    def _note_child(self, group: Sequence[Intent], pid: int) -> None:
        for intent in group:
            self.store.note_child(intent.ident, pid)


def _ended(pids: Sequence[int]) -> bool:
    """Whether processes have ended, waiting a little for them.

    One killed a moment ago may still be ending, its lock in place; one that outlived its labbook
    finishes what it was told.
    """
    until = time.monotonic() + _ENDING
    while any(is_alive(pid) for pid in pids):
        if time.monotonic() > until:
            return False
        time.sleep(0.02)
    return True


def _groups(intents: Sequence[Intent]) -> list[list[Intent]]:
    """Intents that share a file together, oldest first: git can't tell their parts of it apart."""
    groups: list[list[Intent]] = []
    for intent in intents:
        touching = [g for g in groups if any(set(intent.paths) & set(i.paths) for i in g)]
        groups = [g for g in groups if g not in touching]
        groups.append([*(each for group in touching for each in group), intent])
    return groups


def _named(intent: Intent) -> str:
    began = datetime.fromtimestamp(intent.made).astimezone()
    return f"the labbook {intent.command} of {began:%Y-%m-%d %H:%M}"


def _edited(intent: Intent, paths: Sequence[str], kept: Path) -> str:
    return (
        f"{_named(intent)[:1].upper()}{_named(intent)[1:]} was cut off before it had written "
        f"{', '.join(paths)}, and the file was edited since; it is left as it is. What should have "
        f"been written is in {kept}. Compare the two, then delete that folder."
    )


def waiting_sentence(intent: Intent, *, written: bool) -> str:
    """What `leftovers` says of an open intent."""
    files = ", ".join(intent.paths)
    if written:
        return (
            f"{files}: written by {_named(intent)}, not committed yet. "
            "The next command that records commits it."
        )
    return f"{files}: {_named(intent)} was cut off. The next command that records finishes it."
