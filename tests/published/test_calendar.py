"""The calendar file of looks against RFC 5545 (Internet Calendaring and Scheduling, 2009).

By its own text, and read back with the icalendar library, which others read calendars with too.
"""

import re
from dataclasses import replace
from datetime import UTC, date, datetime
from uuid import UUID

import pytest
from icalendar import Calendar, Event

from labbook.model.quantities import parse_quantity as q
from labbook.model.results.looking import Due, DueLook
from labbook.show.calendar import calendar, uid_of


def look(batch: str, jar: str, condition: str, state: str, day: date, *, note: str = "") -> DueLook:
    return DueLook(
        batch=batch, short=batch[-2:], code="HC", version=2, jar=jar, condition=condition,
        point=q("7 d"), cycle=None, day=day, state=state, note=note,
    )  # fmt: skip


DAY = date(2026, 4, 16)
ODD = "40 °C; by, the\\wall"
NOTE = "feel for grains " * 9 + "é" * 90
LONG = tuple(
    look("HC-260409-7K", str(n), ODD, "today", DAY, note=NOTE[: n * 13]) for n in range(1, 20)
)
DUE = Due(
    day=DAY,
    overdue=(look("HC-260301-R8", "1", "room", "overdue", date(2026, 4, 13)),),
    today=LONG,
    coming=(look("HC-260409-7K", "1", "room", "coming", date(2026, 4, 23)),),
)
TEXT = calendar(DUE).decode("utf-8")
UNFOLDED = TEXT.replace("\r\n ", "")
"""Section 3.1: a line break and one space are taken out."""


def events(raw: bytes) -> list[Event]:
    """The events of a calendar file, as the library reads them."""
    return [one for one in Calendar.from_ical(raw).walk("VEVENT") if isinstance(one, Event)]


def test_lines_end_with_crlf_and_have_at_most_75_octets() -> None:
    """Section 3.1."""
    assert TEXT.endswith("\r\n")
    assert "\n" not in TEXT.replace("\r\n", "")
    assert max(len(line.encode("utf-8")) for line in TEXT.split("\r\n")) <= 75
    assert any(line.startswith(" ") for line in TEXT.split("\r\n"))  # some were folded


def test_text_is_escaped() -> None:
    """Section 3.3.11: backslash, semicolon and comma; a line break is written as backslash n."""
    assert "SUMMARY:Look at 7K.1: day 7\\, 40 °C\\; by\\, the\\\\wall\r\n" in UNFOLDED
    assert "behind it:\\nlabbook look 7k.1\\n0 nothing seen\\, 1 a trace" in UNFOLDED


def test_the_calendar_has_what_it_must() -> None:
    """Sections 3.6, 3.7.3 and 3.7.4: PRODID and VERSION once, at least one component."""
    lines = UNFOLDED.split("\r\n")
    assert (lines[0], lines[-2], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR", "")
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1


def test_each_event_has_its_own_uid_a_stamp_in_utc_and_a_date() -> None:
    """Section 3.6.1: UID and DTSTAMP in each; 3.8.4.7: UIDs differ; 3.3.4 and 3.3.5: their form."""
    found = re.findall(r"BEGIN:VEVENT\r\n(.*?)END:VEVENT", UNFOLDED, re.DOTALL)
    assert len(found) == 21
    uids = [re.findall(r"^UID:(\S+)\r$", event, re.MULTILINE) for event in found]
    assert all(len(uid) == 1 for uid in uids)
    assert len({uid[0] for uid in uids}) == 21
    for event in found:
        assert len(re.findall(r"^DTSTAMP:[0-9]{8}T[0-9]{6}Z\r$", event, re.MULTILINE)) == 1
        assert len(re.findall(r"^DTSTART;VALUE=DATE:[0-9]{8}\r$", event, re.MULTILINE)) == 1
    starts = re.findall(r"DTSTART;VALUE=DATE:([0-9]+)", UNFOLDED)
    # An overdue look stands on the day of the list.
    assert starts == ["20260416"] * 20 + ["20260423"]


def test_the_library_reads_back_what_was_meant() -> None:
    """Folding and escaping undone by another reader; a date alone is a whole day (3.6.1)."""
    read = {str(event["UID"]): event for event in events(calendar(DUE))}
    assert len(read) == 21
    for one in (*DUE.overdue, *DUE.today, *DUE.coming):
        event = read[uid_of(one)]
        day = DAY if one.state == "overdue" else one.day
        assert (event.DTSTART, type(event.DTSTART)) == (day, date)
        assert datetime(2026, 4, 16, tzinfo=UTC) == event.DTSTAMP
        assert str(event["SUMMARY"]) == f"Look at {one.name}: day 7, {one.condition}"
        lines = str(event["DESCRIPTION"]).split("\n")
        assert f"labbook look {one.name.lower()}" in lines
        assert lines[0] == (one.note or "Type the grade behind it:")


def test_a_uid_is_a_uuid_that_stays_over_runs() -> None:
    """RFC 7986, 5.3: a UUID, so that it tells nothing; RFC 5545, 3.8.4.7: it persists."""
    one = DUE.coming[0]
    assert UUID(uid_of(one)).version == 5
    assert uid_of(one) == "e4bbd464-01d2-5101-a0f5-ed62656eb907"
    later = replace(one, state="overdue", note="and the pH", why="its room jar failed", missed=2)
    assert uid_of(later) == uid_of(one)
    assert uid_of(replace(one, point=q("168 h"), condition="Room")) == uid_of(one)
    assert calendar(DUE) == calendar(DUE)


ONE = DUE.coming[0]


@pytest.mark.parametrize(
    "other",
    [
        replace(ONE, batch="HC-260409-7J"),
        replace(ONE, jar="2"),
        replace(ONE, condition="fridge"),
        replace(ONE, point=q("14 d")),
        replace(ONE, point=None, cycle=7),
        replace(ONE, point=None),
    ],
)
def test_another_look_has_another_uid(other: DueLook) -> None:
    assert uid_of(other) != uid_of(ONE)


def test_control_characters_are_left_out() -> None:
    """Section 3.1: CONTROL may stand in no value; a line break in a name would end its line."""
    one = look("HC-260409-7K", "1", "room\r\nBEGIN:VALARM\x07", "today", DAY, note="a\x00b\x1fc")
    (event,) = events(calendar(Due(day=DAY, today=(one,))))
    assert str(event["SUMMARY"]) == "Look at 7K.1: day 7, roomBEGIN:VALARM"
    assert str(event["DESCRIPTION"]).startswith("abc\n")


def test_a_list_of_nothing_is_still_a_calendar() -> None:
    assert events(calendar(Due(day=DAY))) == []
