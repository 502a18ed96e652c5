"""The intent record: what a command is about to write, on the disk before any file is touched.

It holds the new bytes themselves, so that a command cut off at any moment can be finished by the
next one. Three files belong to one intent, in `labbook/intents/…` of the common git directory:
`ID.json` written whole or not at all, `ID.log` which only grows, and `ID.lock`, held by the owner
for as long as it lives.
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import json
import os
import time
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from labbook.notebook.atomic import TEMPORARY, not_written, read_if_there, write_file
from labbook.notebook.lock import try_lock

if TYPE_CHECKING:
    from filelock import BaseFileLock

ABSENT = ""


def digest(data: bytes | None) -> str:
    """SHA-256 of a content; "" where there is no file."""
    return ABSENT if data is None else hashlib.sha256(data).hexdigest()


@dataclass(frozen=True, slots=True)
class Target:
    """One file of an intent.

    Args:
        path: relative to the notebook.
        before: digests that it may have before it is written, the oldest first.
        new: its new bytes; None deletes it.
    """

    path: str
    before: tuple[str, ...]
    new: bytes | None


@dataclass(frozen=True, slots=True)
class Intent:
    """What one command, or one session, writes and commits.

    `turn` counts the writes of a session; `made` is in seconds since the epoch. An exchange with
    another copy writes no file of its own: it has no targets, and `merge` names the commit here
    and the one that is merged into it.
    """

    ident: str
    command: str
    message: str
    made: float
    targets: tuple[Target, ...]
    when: datetime | None = None
    turn: int = 1
    merge: tuple[str, str] | None = None

    @property
    def paths(self) -> tuple[str, ...]:
        """The paths it is about."""
        return tuple(target.path for target in self.targets)


def new_ident() -> str:
    """A name no other intent has; names sort by age."""
    return f"{time.time_ns():020d}-{os.getpid()}"


def _encode(intent: Intent) -> bytes:
    def target(each: Target) -> dict[str, Any]:
        data = None if each.new is None else base64.b64encode(each.new).decode("ascii")
        return {
            "path": each.path,
            "before": list(each.before),
            "after": digest(each.new),
            "new": data,
        }

    whole = {
        "ident": intent.ident,
        "command": intent.command,
        "pid": os.getpid(),
        "made": intent.made,
        "when": None if intent.when is None else intent.when.isoformat(),
        "turn": intent.turn,
        "message": intent.message,
        "targets": [target(each) for each in intent.targets],
        "merge": intent.merge,
    }
    return json.dumps(whole, indent=1).encode("ascii")


def _decode(raw: bytes) -> Intent:
    whole = json.loads(raw)
    targets = []
    for each in whole["targets"]:
        new = None if each["new"] is None else base64.b64decode(each["new"], validate=True)
        if digest(new) != each["after"]:
            raise ValueError("the new bytes are not those that were meant")
        targets.append(Target(each["path"], tuple(each["before"]), new))
    when = None if whole["when"] is None else datetime.fromisoformat(whole["when"])
    made = float(whole["made"])
    here, there = whole.get("merge") or ("", "")  # an older labbook left none
    return Intent(
        whole["ident"],
        whole["command"],
        whole["message"],
        made,
        tuple(targets),
        when,
        whole["turn"],
        (here, there) if here else None,
    )


@dataclass(frozen=True, slots=True)
class Log:
    """What has become of an intent: the last turn wholly written, and the git commands started.

    `waited` says that git was in the middle of something when it should have been committed.
    """

    written: int = 0
    children: tuple[tuple[int, float], ...] = ()
    waited: bool = False


class Store:
    """The intents of one notebook in one work tree."""

    def __init__(self, folder: Path, aside: Path) -> None:
        self.folder = folder
        self.aside_folder = aside

    def _file(self, ident: str, kind: str) -> Path:
        return self.folder / f"{ident}.{kind}"

    def save(self, intent: Intent) -> None:
        """Writes an intent, or its next turn; on the disk for certain when this returns."""
        file = self._file(intent.ident, "json")
        write_file(file, _encode(intent), expect=read_if_there(file))

    def own(self, ident: str) -> BaseFileLock | None:
        """Takes the owner's lock; None while the owner lives."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise not_written(self.folder, error) from error
        return try_lock(self._file(ident, "lock"))

    def is_owned(self, ident: str) -> bool:
        """Whether the owner of an intent lives."""
        if not self._file(ident, "lock").exists():
            return False
        lock = self.own(ident)
        if lock is None:
            return True
        lock.release()
        return False

    def _note(self, ident: str, line: str) -> None:
        file = self._file(ident, "log")
        try:
            with file.open("ab") as log:
                log.write(line.encode("ascii") + b"\n")
                log.flush()
                os.fsync(log.fileno())
        except OSError as error:
            raise not_written(file, error) from error

    def note_written(self, intent: Intent) -> None:
        """Says that all files of this turn are in place."""
        self._note(intent.ident, f"written {intent.turn}")

    def note_child(self, ident: str, pid: int) -> None:
        """Says that a git command was started for it; 0: that one is about to be."""
        self._note(ident, f"git {pid} {time.time():.3f}")

    def note_waiting(self, ident: str) -> None:
        """Says that git was in the middle of something, whose end may take files back."""
        self._note(ident, "waits")

    def log(self, ident: str) -> Log:
        """What was noted; a line cut off in the middle is none."""
        written, waited = 0, False
        children: list[tuple[int, float]] = []
        raw = read_if_there(self._file(ident, "log")) or b""
        for line in raw.split(b"\n")[:-1]:
            words = line.split()
            if words[:1] == [b"written"]:
                written = int(words[1])
            elif words[:1] == [b"git"]:
                children.append((int(words[1]), float(words[2])))
            elif words[:1] == [b"waits"]:
                waited = True
        return Log(written, tuple(children), waited)

    def idents(self) -> list[str]:
        """The names of the open intents, oldest first."""
        return sorted(file.stem for file in self.folder.glob("*.json"))

    def read(self, ident: str) -> Intent | None:
        """An open intent; None when it is gone or damaged (then `aside_raw` takes it away)."""
        raw = read_if_there(self._file(ident, "json"))
        try:
            return None if raw is None else _decode(raw)
        except (ValueError, KeyError, TypeError):
            return None

    def forget(self, ident: str) -> None:
        """Takes an intent away; the record itself first, since the others mean nothing alone."""
        for kind in ("json", "log", "lock"):
            with contextlib.suppress(OSError):
                self._file(ident, kind).unlink(missing_ok=True)

    def aside(self, ident: str, targets: Iterable[Target] = ()) -> Path:
        """Keeps an intent, and what it meant to write as plain files, out of the way."""
        place = self.aside_folder / ident
        for target in targets:
            if target.new is not None:
                file = place / "files" / PurePosixPath(target.path)
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(target.new)
        place.mkdir(parents=True, exist_ok=True)
        raw = read_if_there(self._file(ident, "json"))
        if raw is not None:
            (place / "intent.json").write_bytes(raw)
        return place

    def kept_aside(self) -> list[Path]:
        """The folders of what was set aside, for a person to look at."""
        return sorted(self.aside_folder.iterdir()) if self.aside_folder.is_dir() else []

    def sweep(self) -> None:
        """Removes remains of intents that were never wholly written; needs the notebook's lock."""
        if not self.folder.is_dir():
            return
        for file in list(self.folder.iterdir()):
            alone = not file.with_suffix(".json").exists()
            if file.name.startswith(TEMPORARY) or (file.suffix == ".log" and alone):
                file.unlink(missing_ok=True)
            elif file.suffix == ".lock" and alone:
                self._sweep_lock(file)

    def _sweep_lock(self, file: Path) -> None:
        lock = try_lock(file)
        if lock is not None:
            lock.release()
            with contextlib.suppress(OSError):
                file.unlink(missing_ok=True)
