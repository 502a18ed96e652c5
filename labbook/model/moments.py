"""Dates and times as they stand in a notebook.

A time is ISO 8601 with its offset; a date alone is taken where nobody looked at the clock (a batch
copied from paper). Ages count from filling, or for the bulk from combining.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time

Moment = datetime | date

_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_TIME = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2})?(Z|[+-][0-9]{2}:[0-9]{2})?",
    re.ASCII,
)


class MomentError(ValueError):
    """Text that is no date or time; the message says what to write."""


def parse_moment(text: str) -> Moment:
    """A date `2026-01-09`, or a time with offset `2026-01-09T14:10+01:00`.

    Raises:
        MomentError: another order of day and month, a time without offset, an impossible date.
    """
    try:
        if _DATE.fullmatch(text):
            return date.fromisoformat(text)
        match = _TIME.fullmatch(text)
        if match and match[2]:
            return datetime.fromisoformat(text)
    except ValueError as error:
        raise MomentError(f"{text}: {error}") from error
    if match:
        raise MomentError(f"{text} has no offset from UTC; write it like 2026-01-09T14:10+01:00")
    raise MomentError(
        f"{text!r} is no date like 2026-01-09 and no time like 2026-01-09T14:10+01:00"
    )


def write_moment(moment: Moment) -> str:
    """The text that `parse_moment` reads back; seconds are written when they are not zero."""
    if isinstance(moment, datetime):
        exact = moment.second or moment.microsecond
        return moment.isoformat(timespec="seconds" if exact else "minutes")
    return moment.isoformat()


def day_of(moment: Moment) -> date:
    """The calendar day, in the offset that was written down."""
    return moment.date() if isinstance(moment, datetime) else moment


def in_order(moment: Moment) -> datetime:
    """A time that sorts: a date alone stands at the start of its day, UTC."""
    if isinstance(moment, datetime):
        return moment.astimezone(UTC)
    return datetime.combine(moment, time.min, UTC)


def age_in_days(start: Moment, end: Moment) -> float:
    """Days from one moment to another; whole days where either is a date alone."""
    if isinstance(start, datetime) and isinstance(end, datetime):
        return (end - start).total_seconds() / 86400
    return float((day_of(end) - day_of(start)).days)
