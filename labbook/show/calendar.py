"""Looks as a calendar file (iCalendar, RFC 5545), for a telephone to take in."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from uuid import UUID, uuid5

from labbook.evidence.failure import condition_key
from labbook.model.results.looking import Due, DueLook
from labbook.show.outcomes import GRADES, due_point

_SPACE = UUID("6c1f3d0e-8f0a-5d7b-9a53-2f1f0e1f4a77")
"""Our own namespace for the UIDs of looks; it never changes."""


def calendar(result: Due) -> bytes:
    """The looks as a calendar: one whole-day event for each, the same look under the same UID.

    Overdue looks stand on the day of the list. The title names the jar, where it stands and its
    age; the text holds the command to type. Nothing is told of what is in the jar.
    """
    from icalendar import Calendar, Event, vDatetime

    found = Calendar()
    found.add("prodid", "-//labbook//due//EN")
    found.add("version", "2.0")
    for look in sorted(
        (*result.now, *result.coming), key=lambda one: (_day(one, result), one.name)
    ):
        event = Event()
        event.add("uid", uid_of(look))
        # Handed over ready-made: of a plain one the library would read the time zone from a file.
        event.add("dtstamp", vDatetime(datetime.combine(result.day, time.min, UTC)))
        event.add("dtstart", _day(look, result))
        event.add("summary", _plain(f"Look at {look.name}: {due_point(look)}, {look.condition}"))
        event.add("description", "\n".join(_text(look)))
        event.add("transp", "TRANSPARENT")
        found.add_component(event)
    return bytes(found.to_ical())


def uid_of(look: DueLook) -> str:
    """The UID of a look: the same for the same jar, condition and point, whenever it is written.

    A UUID of version 5 (RFC 9562), so that it tells nothing of the notebook (RFC 7986, 5.3). The
    date is no part of it: a look that becomes overdue moves, and is no second event.
    """
    if look.cycle is not None:
        point = f"cycle {look.cycle}"
    elif look.point is not None:
        point = f"{look.point.exact('d')} d"
    else:
        point = f"off the plan, {look.day.isoformat()}"
    return str(
        uuid5(_SPACE, "\n".join((look.batch, look.jar, condition_key(look.condition), point)))
    )


def _day(look: DueLook, result: Due) -> date:
    return result.day if look.state == "overdue" else look.day


def _text(look: DueLook) -> list[str]:
    aside = "; ".join(part for part in (look.note, look.why) if part)
    lines = [aside] if aside else []
    lines += ["Type the grade behind it:", f"labbook look {look.name.lower()}", GRADES]
    return [_plain(line) for line in lines]


def _plain(text: str) -> str:
    """Text without control characters, which RFC 5545 has no way to write (3.1)."""
    return "".join(char for char in text if char.isprintable())
