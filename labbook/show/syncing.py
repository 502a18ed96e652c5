"""The screen of `sync`."""

from __future__ import annotations

import re

from labbook.model.results.syncing import Synced
from labbook.show.layout import Screen
from labbook.show.parts import plural

_ALONE = (
    "sync exchanges entries with a copy of this notebook on another disk or machine: what is "
    "there comes here and is merged, what is here is sent there, and no entry is lost.",
    "This notebook has no such copy yet. A folder on a stick or a private git server will do: the "
    "copy holds everything, also what the journal leaves out.",
)
_WHOLE = (
    "The copy holds the whole notebook with its history, also what the journal leaves out: keep "
    "it where nobody reads it who may not."
)
_SERVER = re.compile(r"(?!file:)(?:[a-z+]+://|[^/\\]+@|[^/\\]{2,}:)", re.IGNORECASE)
"""How an address begins that leads to another machine; `C:` is a disk."""


def synced_screen(result: Synced, screen: Screen) -> str:
    """What came and was sent; where two changed one place, what to do about it."""
    if not result.remote:
        for number, sentence in enumerate(_ALONE):
            screen.row("" if number else "sync", sentence)
        screen.blank()
        screen.then(
            [
                (f"git init --bare -b {result.branch} FOLDER-ON-THE-STICK", "an empty copy"),
                ("git remote add origin FOLDER-ON-THE-STICK", "or the address of a server"),
                ("labbook sync", ""),
            ]
        )
        return screen.text()
    head = "Stopped half-way with" if result.open else "Exchanged with"
    screen.title(f"{head} {result.remote}", result.address)
    screen.blank()
    _came(result, screen)
    for number, note in enumerate(result.notes):
        screen.row("merged" if not number else "", note)
    for number, sentence in enumerate(result.twice):
        screen.row("twice" if not number else "", sentence)
    if result.open:
        _open(result, screen)
    elif result.sent:
        screen.row("sent", plural(result.sent, "commit"))
        if _SERVER.match(result.address):
            screen.row("", _WHOLE)
    elif result.sent is not None:
        screen.row("sent", "nothing; the other copy has all of it")
    screen.blank()
    if not result.open and (result.twice or result.merged):
        screen.then([("labbook check", "whether the two fit together")])
    return screen.text()


def _came(result: Synced, screen: Screen) -> None:
    if not result.came:
        if not result.open:
            screen.row("came", "nothing new")
        return
    entries = ", ".join(_counted(count, word) for count, word in result.entries)
    commits = plural(result.came, "commit")
    screen.row("came", f"{commits}: {entries}" if entries else commits)


def _counted(count: int, word: str) -> str:
    singular = {"batches": "batch"}.get(word, word.removesuffix("s"))
    return f"{count} {singular if count == 1 else word}"


def _open(result: Synced, screen: Screen) -> None:
    """The files, and the way on."""
    for file in result.open:
        screen.row("open", file.path)
        for place in file.places:
            screen.row("", f"  {place}")
    screen.blank()
    screen.row(
        "to do",
        "Both copies changed these places, and nothing was sent. In each file one of the two texts "
        "stands in its place; the other stands at the end, under `conflict`. Put right what "
        "stands there and delete the part from `conflict` on.",
    )
    if any(file.by_hand for file in result.open):
        screen.row("", "A file that one copy took away: git add keeps it, git rm takes it away.")
    screen.row("", "Then: labbook sync. Or back to before: git merge --abort")
