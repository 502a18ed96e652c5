"""Recording: one command, one commit, of exactly the files that it wrote.

`record` does it in one go; `Session` writes entry by entry, as at the bench, and commits at the
end. Both can be cut off at any moment and lose nothing that was written.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from labbook.model.errors import GitRefused, LabbookError
from labbook.notebook import git
from labbook.notebook.atomic import read_if_there
from labbook.notebook.desk import Change, Desk, storage, waiting_sentence
from labbook.notebook.folder import git_folder
from labbook.notebook.intent import Intent, Target, digest, new_ident
from labbook.notebook.lock import Wait

if TYPE_CHECKING:
    from filelock import BaseFileLock

__all__ = ["Change", "Plan", "Recorded", "Session", "leftovers", "record"]


@dataclass(frozen=True)
class Plan:
    """What a command will write, made from files read just then.

    `also` names files to commit as they stand. Neither changes nor these: nothing to do.
    """

    changes: tuple[Change, ...]
    message: str
    result: Any = None
    also: tuple[str, ...] = ()

    def all_changes(self, root: Path) -> tuple[Change, ...]:
        """The changes, with the files that stay as they are."""
        changed = {change.path for change in self.changes}
        standing = []
        for path in dict.fromkeys(self.also):
            if path not in changed:
                data = read_if_there(root / path)
                standing.append(Change(path, data, data))
        return (*self.changes, *standing)


@dataclass(frozen=True)
class Recorded:
    """What was recorded; `commit` is None when git held exactly this already.

    `notes` are sentences about what earlier, cut-off commands had left and became of it.
    """

    commit: str | None
    paths: tuple[str, ...]
    result: Any
    notes: tuple[str, ...] = ()


def record(
    root: Path,
    plan: Callable[[], Plan],
    *,
    command: str,
    wait: Wait | None = None,
    when: datetime | None = None,
) -> Recorded:
    """Writes and commits what a plan says.

    Args:
        root: the notebook.
        plan: called with the lock held; reads files fresh and must ask nobody anything.
        command: as typed after `labbook`, for the message's last line.
        wait: is told a sentence when another command holds the lock.
        when: the time of the commit; now, if left out.

    Raises:
        GitRefused: before anything is written, where git is missing or knows no name; afterwards,
            where git declines the commit. Then the entry stays and the next command commits it.
        ChangedMeanwhile: a file is not as the plan read it; nothing was written.
        LabbookError: a file can't be written; nothing was.
    """
    desk = Desk(root, wait)
    with desk.locked():
        wanted = plan()
        changes = wanted.all_changes(desk.root)
        if not changes:
            return Recorded(None, (), wanted.result, tuple(desk.notes))
        intent = _intent(new_ident(), changes, wanted.message, command, when)
        lock = desk.store.own(intent.ident)
        try:
            desk.write(intent, changes)
            commit = desk.commit(intent)
        finally:
            if lock is not None:
                lock.release()
        return Recorded(commit, intent.paths, wanted.result, tuple(desk.notes))


def _intent(
    ident: str, changes: Sequence[Change], message: str, command: str, when: datetime | None
) -> Intent:
    targets = tuple(Target(c.path, (digest(c.old),), c.new) for c in changes)
    return Intent(ident, command, message, time.time(), targets, when)


def _next_turn(intent: Intent, changes: Sequence[Change], message: str) -> Intent:
    targets = {target.path: target for target in intent.targets}
    for change in changes:
        known = targets.get(change.path)
        before = (*known.before, digest(known.new)) if known else ()
        # All contents that the file may rightly have had, so that a cut-off turn is recognised.
        before = tuple(dict.fromkeys((*before, digest(change.old))))
        targets[change.path] = Target(change.path, before, change.new)
    whole = tuple(targets.values())
    return replace(intent, targets=whole, message=message, turn=intent.turn + 1)


class Session:
    """Entries written one by one and committed together; a cut-off session loses none.

    The lock is held only while an entry is written, never while the person works. `message`, if
    set, is the commit's; else the last plan's. After the end, `recorded` says what was committed.
    """

    def __init__(
        self,
        root: Path,
        command: str,
        *,
        wait: Wait | None = None,
        when: datetime | None = None,
    ) -> None:
        self.message = ""
        self.recorded: Recorded | None = None
        self._desk = Desk(root, wait)
        self._command = command
        self._when = when
        self._ident = new_ident()
        self._intent: Intent | None = None
        self._lock: BaseFileLock | None = None

    def __enter__(self) -> Self:
        return self

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences about what earlier commands had left."""
        return tuple(self._desk.notes)

    def write(self, plan: Callable[[], Plan]) -> Any:
        """Writes one entry now, whole or not at all, and gives the plan's result; as `record`."""
        with self._desk.locked(but=self._ident):
            wanted = plan()
            changes = wanted.all_changes(self._desk.root)
            if not changes:
                return wanted.result
            if self._lock is None:
                self._lock = self._desk.store.own(self._ident)
            message = self.message or wanted.message
            before = self._intent
            if before is None:
                intent = _intent(self._ident, changes, message, self._command, self._when)
            else:
                intent = _next_turn(before, changes, message)
            self._desk.write(intent, changes, before)
            self._intent = intent
            return wanted.result

    def _commit(self) -> Recorded:
        if self._intent is None:
            return Recorded(None, (), None, self.notes)
        with self._desk.locked(but=self._ident):
            intent = replace(self._intent, message=self.message or self._intent.message)
            commit = self._desk.commit(intent)
        return Recorded(commit, intent.paths, None, self.notes)

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Commits what was written, also when the session ends with an error."""
        try:
            self.recorded = self._commit()
        except LabbookError as refused:
            if error is None:
                raise
            error.add_note(f"{refused.what} {refused.mend}".strip())
        finally:
            if self._lock is not None:
                self._lock.release()


def _has_remains(root: Path) -> bool:
    """A quick look without git: most notebooks, most of the time, have none."""
    own = git_folder(root)
    if own is None:
        return False
    common = own
    shared = own / "commondir"
    if shared.is_file():
        common = own / shared.read_text(encoding="utf-8", errors="surrogateescape").strip()
    base = common / "labbook"
    return any(base.glob("intents/*/*.json")) or any(base.glob("aside/*/*"))


def leftovers(root: Path) -> list[str]:
    """Sentences about writing that was cut off or not committed; reads only."""
    try:
        if not _has_remains(root):
            return []
        place = git.standing(root.absolute())
    except (GitRefused, OSError):
        return []
    if place is None:
        return []
    _, store = storage(place)
    said = []
    for ident in store.idents():
        if store.is_owned(ident):
            continue
        intent = store.read(ident)
        if intent is None:
            said.append("A record of half-done writing is damaged; the next command sets it aside.")
            continue
        written = store.log(ident).written >= intent.turn
        said.append(waiting_sentence(intent, written=written))
    said += [
        f"{kept}: what a cut-off command meant to write; the file was edited since. Compare the "
        "two, then delete that folder."
        for kept in store.kept_aside()
    ]
    return said
