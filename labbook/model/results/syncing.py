"""The result of exchanging entries with a copy of the notebook elsewhere."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenFile:
    """A file that both copies changed in one place; `places` are where, in words."""

    path: str
    places: tuple[str, ...]
    by_hand: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Synced:
    """What came, what was sent, and what has to be put right.

    Attributes:
        remote: the other copy's name; empty where there is none.
        address: where it is.
        branch: the one that was exchanged.
        came: how many commits came, and `entries` what they brought, as (count, word).
        sent: how many commits were sent; None where nothing was to be sent.
        merged: whether both copies had something that the other lacked.
        notes: what the merge did to ids and numbers.
        open: what could not be merged; nothing was sent then.
        twice: ids and numbers that stand for two things now.
    """

    remote: str
    address: str = ""
    branch: str = ""
    came: int = 0
    entries: tuple[tuple[int, str], ...] = ()
    sent: int | None = None
    merged: bool = False
    notes: tuple[str, ...] = ()
    open: tuple[OpenFile, ...] = ()
    twice: tuple[str, ...] = ()
