"""The calendar file of looks against RFC 5545 (Internet Calendaring and Scheduling, 2009)."""

import re
from datetime import date

from labbook.model.quantities import parse_quantity as q
from labbook.model.results.looking import Due, DueLook
from labbook.show.looking import calendar


def look(batch: str, jar: str, condition: str, state: str, day: date) -> DueLook:
    return DueLook(
        batch=batch, short=batch[-2:], code="HC", version=2, jar=jar, condition=condition,
        point=q("7 d"), cycle=None, day=day, state=state,
    )  # fmt: skip


DAY = date(2026, 4, 16)
LONG = tuple(
    look("HC-260409-7K", str(n), "40 °C; by, the\\wall", "today", DAY) for n in range(1, 20)
)
TEXT = calendar(
    Due(
        day=DAY,
        overdue=(look("HC-260301-R8", "1", "room", "overdue", date(2026, 4, 13)),),
        today=LONG,
        coming=(look("HC-260409-7K", "1", "room", "coming", date(2026, 4, 23)),),
    )
)
UNFOLDED = TEXT.replace("\r\n ", "")
"""Section 3.1: a line break and one space are taken out."""


def test_lines_end_with_crlf_and_have_at_most_75_octets() -> None:
    """Section 3.1."""
    assert TEXT.endswith("\r\n")
    assert "\n" not in TEXT.replace("\r\n", "")
    assert max(len(line.encode("utf-8")) for line in TEXT.split("\r\n")) <= 75


def test_text_is_escaped() -> None:
    """Section 3.3.11: backslash, semicolon and comma."""
    assert "7K.1 40 °C\\; by\\, the\\\\wall day 7\\, 7K.2" in UNFOLDED


def test_the_calendar_has_what_it_must() -> None:
    """Sections 3.6, 3.7.3 and 3.7.4: PRODID and VERSION once, at least one component."""
    lines = UNFOLDED.split("\r\n")
    assert (lines[0], lines[-2], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR", "")
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1


def test_each_event_has_its_own_uid_a_stamp_in_utc_and_a_date() -> None:
    """Section 3.6.1: UID and DTSTAMP in each; 3.8.4.7: UIDs differ; 3.3.4 and 3.3.5: their form."""
    events = re.findall(r"BEGIN:VEVENT\r\n(.*?)END:VEVENT", UNFOLDED, re.DOTALL)
    assert len(events) == 3
    uids = [re.findall(r"^UID:(\S+)\r$", event, re.MULTILINE) for event in events]
    assert all(len(uid) == 1 for uid in uids)
    assert len({uid[0] for uid in uids}) == 3
    for event in events:
        assert len(re.findall(r"^DTSTAMP:[0-9]{8}T[0-9]{6}Z\r$", event, re.MULTILINE)) == 1
        assert len(re.findall(r"^DTSTART;VALUE=DATE:[0-9]{8}\r$", event, re.MULTILINE)) == 1
    starts = re.findall(r"DTSTART;VALUE=DATE:([0-9]+)", UNFOLDED)
    assert starts == [
        "20260416",
        "20260416",
        "20260423",
    ]  # an overdue look stands on the day itself
