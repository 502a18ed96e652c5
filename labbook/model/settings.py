"""`labbook.yaml` and the protocols: what holds for the whole notebook."""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.fields import CLOSED, EntryId, Mass, Moment, Name, Span, Text, Whole, YesNo

FORMAT = 1
"""The newest format that this version reads and the one that it writes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Defaults:
    """What a command takes when nothing is said: names of files in the notebook."""

    __pydantic_config__ = CLOSED

    batch_size: Mass | None = None
    balance: Name | None = None
    mixer: Name | None = None
    meter: Name | None = None
    thermometer: Name | None = None
    protocol: Name | None = None
    container: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """A finding that the maker looked at and accepts, with the reason."""

    __pydantic_config__ = CLOSED

    id: EntryId
    rule: Text
    about: Text | None = None
    why: Text
    time: Moment


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The head of a notebook; `today` stops the clock of a sample.

    `signed_commits` says that every commit is meant to carry a signature, on any machine.
    """

    __pydantic_config__ = CLOSED

    format: Whole
    title: Text
    author: Text | None = None
    site_url: Text | None = None
    region: Text | None = None
    defaults: Defaults = Defaults()
    today: Moment | None = None
    signed_commits: YesNo | None = None
    accepted: tuple[Accepted, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TimePoint:
    """Looks that fall due in one condition, counted from filling."""

    __pydantic_config__ = CLOSED

    condition: Text
    after: tuple[Span, ...] = ()
    cycles: Whole | None = None
    cycle: Text | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Protocol:
    """Conditions × time points, by common practice or the maker's own."""

    __pydantic_config__ = CLOSED

    id: EntryId
    title: Text
    source: Text | None = None
    looks: tuple[TimePoint, ...] = ()
    notes: Text | None = None
