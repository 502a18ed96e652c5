"""Finishing what a command left that was cut off, or that git would not commit."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from labbook.model.errors import GitRefused, LabbookError
from labbook.notebook import git
from labbook.notebook.atomic import TEMPORARY, read_if_there, remove_file, write_file
from labbook.notebook.intent import Intent, Store, Target, digest
from labbook.notebook.lock import is_alive

_STARTING = 60.0  # seconds after its start within which git takes its lock, on a slow machine
_ENDING = 3.0  # seconds that a git of a dead command gets to end


def put(root: Path, path: str, old: bytes | None, new: bytes | None) -> None:
    """Gives a file its new content, or takes it away; errors as in `write_file`."""
    if new is not None:
        write_file(root / path, new, expect=old, root=root)
    elif old is not None:
        remove_file(root / path, expect=old, root=root)


class Settling:
    """Brings files to what was meant, one intent after the other; `notes` tells what became."""

    def __init__(self, root: Path, place: git.Standing, store: Store, notes: list[str]) -> None:
        self.root = root
        self.place = place
        self.store = store
        self.notes = notes

    def settle(self, ident: str) -> Intent | None:
        """Brings the files of a dead command's intent to what it meant; gives what to commit."""
        intent = self.store.read(ident)
        if intent is None:
            kept = self.store.aside(ident)
            self.store.forget(ident)
            self.notes.append(f"A record of half-done writing was damaged; it is kept in {kept}.")
            return None
        ended = self._clean_up(intent)
        if not intent.targets:
            if ended and self.end_merge(intent):
                self.store.forget(ident)
            return None
        log = self.store.log(ident)
        written = log.written >= intent.turn
        if written and log.waited and not self._still_there(intent):
            return None
        kept_targets = self._as_written(intent) if written else self._roll_forward(intent)
        if kept_targets is None:
            return None
        if not kept_targets:
            self.store.forget(ident)
            return None
        if kept_targets != intent.targets:
            intent = replace(intent, targets=kept_targets)
            self.store.save(intent)
        if not written:
            self.store.note_written(intent)
        return intent

    def end_merge(self, intent: Intent) -> bool:
        """Ends the merge of an exchange that was cut off, or takes its half back.

        Returns False, with a note, where git declined that.
        """

        def keep(path: str, data: bytes) -> None:
            kept = self.store.aside(intent.ident, [Target(path, (), data)])
            self.notes.append(_taken_out(intent, path, kept))

        if intent.merge is not None:
            here, there = intent.merge
            began = intent.made
            try:
                git.end_merge(self.place.top, here, there, intent.message, since=began, keep=keep)
            except (GitRefused, OSError) as error:
                self.notes.append(f"The merge of {named(intent)} is still half done: {error}")
                return False
        return True

    def _clean_up(self, intent: Intent) -> bool:
        """Takes away temporary files and git locks that the dead command left.

        Returns whether all its gits have ended.
        """
        for folder in {(self.root / path).parent for path in intent.paths}:
            for file in folder.glob(f"{TEMPORARY}{intent.ident}-*"):
                with contextlib.suppress(OSError):
                    file.unlink(missing_ok=True)
        children = self.store.log(intent.ident).children
        pids = [pid for pid, _ in children]
        # 0 was noted before git started. If no id follows, this process died in between, and git,
        # never told its paths, ended as well; in an exchange it needs none, and gets its time.
        if not intent.targets and pids[-1:] == [0]:
            time.sleep(min(_ENDING, max(0.0, children[-1][1] + _ENDING - time.time())))
        ended = _ended([pid for pid in pids if pid])
        if pids and ended:
            until = max(at for _, at in children) + _STARTING
            git.clear_dead_locks(self.place, intent.made, until)
        return ended

    def _as_written(self, intent: Intent) -> tuple[Target, ...]:
        """Of an intent whose files were all in place: those that were not taken back since."""
        kept = []
        for target in intent.targets:
            found = digest(read_if_there(self.root / target.path))
            taken_back = found == target.before[0] and found != digest(target.new)
            if not taken_back:
                kept.append(target)
        return tuple(kept)

    def _still_there(self, intent: Intent) -> bool:
        """Brings back what the end of a rebase took out of the files; False leaves it for later.

        A file that stands as before gets its entry again. Of one that holds something else, a
        copy as it was written is kept aside.
        """
        for target in intent.targets:
            found = read_if_there(self.root / target.path)
            if digest(found) in self._newest(intent, target.path):
                continue
            if target.new is not None and git.was_committed(self.root, target.path, target.new):
                continue
            if digest(found) in target.before:
                try:
                    put(self.root, target.path, found, target.new)
                except LabbookError as error:
                    self.notes.append(f"What {named(intent)} wrote still waits: {error.what}")
                    return False
            else:
                kept = self.store.aside(intent.ident, [target])
                self.notes.append(_taken_out(intent, target.path, kept))
        return True

    def _newest(self, intent: Intent, path: str) -> set[str]:
        """What a file may hold that nothing took back: its content by this entry or a later one."""
        later = [self.store.read(ident) for ident in self.store.idents() if ident > intent.ident]
        opened = [intent, *(each for each in later if each is not None)]
        return {digest(t.new) for each in opened for t in each.targets if t.path == path}

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
                put(self.root, target.path, present[target.path], target.new)
        except LabbookError as error:
            self.notes.append(f"What {named(intent)} meant to write still waits: {error.what}")
            return None
        return intent.targets


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


def named(intent: Intent) -> str:
    """An intent as a person would call it."""
    began = datetime.fromtimestamp(intent.made).astimezone()
    return f"the labbook {intent.command} of {began:%Y-%m-%d %H:%M}"


def _edited(intent: Intent, paths: Sequence[str], kept: Path) -> str:
    return (
        f"{named(intent)[:1].upper()}{named(intent)[1:]} was cut off before it had written "
        f"{', '.join(paths)}, and the file was edited since; it is left as it is. What should have "
        f"been written is in {kept}. Compare the two, then delete that folder."
    )


def _taken_out(intent: Intent, path: str, kept: Path) -> str:
    return (
        f"{path} was put back since {named(intent)} wrote it, and holds something else now. What "
        f"was written is in {kept}. Compare the two, then delete that folder."
    )
