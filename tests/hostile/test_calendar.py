"""A calendar of looks from hostile names: each line is the program's own (RFC 5545, 3.1)."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from icalendar import Calendar

from labbook.model.quantities import Quantity
from labbook.model.results.looking import Due, DueLook
from labbook.show.calendar import calendar

EVIL = (
    "a\r\nEND:VEVENT\r\nBEGIN:VALARM", "a\nATTACH:http://example.org/x", "a;b,c:d\\n", "\u2028x",
    "\x00\x1b[2J", "é" * 200, "BEGIN:VCALENDAR", "\r", "a\x85b", '"',
)  # fmt: skip


@pytest.mark.parametrize("evil", EVIL)
def test_no_name_ends_its_line(evil: str) -> None:
    look = DueLook(
        batch=f"HC-260302-F3{evil}", short="F3", code="HC", version=1, jar=f"1{evil}",
        condition=evil, point=Quantity(Decimal(7), "d"), cycle=None, day=date(2026, 3, 9),
        state="today", note=evil, why=evil,
    )  # fmt: skip
    raw = calendar(Due(day=date(2026, 3, 9), today=(look,)))
    lines = raw.decode("utf-8").split("\r\n")
    assert all(len(line.encode()) <= 75 for line in lines)
    names = [line.split(":")[0].split(";")[0] for line in lines if line and line[0] not in " \t"]
    assert names.count("BEGIN") == names.count("END") == 2
    known = {"PRODID", "VERSION", "BEGIN", "END", "UID", "DTSTAMP", "DTSTART", "SUMMARY",
             "DESCRIPTION", "TRANSP"}  # fmt: skip
    assert set(names) <= known
    (event,) = Calendar.from_ical(raw).walk("VEVENT")
    assert "F3.1" in str(event["summary"])
