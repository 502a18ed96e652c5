"""The text that a bench sheet page gives, read strictly: what comes from a phone is only input.

A text that a person can read too. After a head of four lines and an empty one, an entry a line,
its parts between bars: an id and a kind, or a place, then what it says. The last line counts the
entries and closes with a checksum, so that a copy that lost a part is noticed.

    labbook bench sheet 1
    batch HC-260409-7K
    of HC@3, 100.00 g
    finished 2026-04-09T11:40:03+02:00

    w1-k3m7qa | weighed | a1 | sunflower-oil | 14.02 g | lot sunflower-oil-2601 | at 2026-...
    step s2 | temperature A | 71 °C | before 17 °C

    end | 2 entries | 5f3a91c2

Pure: text in, records out.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from labbook.model.errors import Unreadable
from labbook.work.sheet_entries import Item, Named, Placed, read_item

HEAD = "labbook bench sheet 1"
MOST_BYTES = 256 * 1024
MOST_ENTRIES = 2000
AGAIN = "Save it once more from the page; a sheet is taken as the page wrote it."

_END = re.compile(r"end \| ([0-9]{1,5}) entries \| ([0-9a-f]{8})", re.ASCII)


@dataclass(frozen=True, slots=True)
class SheetRead:
    """A whole sheet: the batch that it says it is of, and its entries in order."""

    batch: str
    items: tuple[Item, ...]


def read_sheet(raw: bytes, where: str = "") -> SheetRead:
    """The sheet that a file holds.

    Raises:
        Unreadable: it is no bench sheet, or not all of one; nothing of it can be taken.
    """
    lines = _lines(raw, where)
    head = lines[:4]
    if len(lines) < 6 or head[0] != HEAD:
        raise _no_sheet("this is no bench sheet that a page of labbook wrote", where)
    body = lines[5:-1]
    end = _END.fullmatch(lines[-1])
    if end is None:
        raise _no_sheet("its last line is missing, so some of it may be", where)
    if lines[4] or (body and body[-1]):
        raise _no_sheet("its lines are not as the page wrote them", where)
    body = body[:-1]
    whole = "\n".join([*lines[:5], *body, ""])
    if f"{zlib.crc32(whole.encode('utf-8')):08x}" != end[2] or int(end[1]) != len(body):
        raise _no_sheet("it was changed, or lost a part, after the page wrote it", where)
    batch = head[1].removeprefix("batch ")
    if not head[1].startswith("batch ") or not re.fullmatch(r"[A-Z0-9-]{1,20}", batch, re.ASCII):
        raise _no_sheet("its second line names no batch", where)
    return SheetRead(batch, tuple(read_items(body, where, first=6)))


def _lines(raw: bytes, where: str) -> list[str]:
    """The lines of a file, without what mail and editors do to the ends of lines."""
    if len(raw) > MOST_BYTES:
        raise _no_sheet(f"it is larger than {MOST_BYTES // 1024} kB", where)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _no_sheet("it is no text in UTF-8", where) from None
    lines = [line.rstrip() for line in text.replace("\r\n", "\n").split("\n")]
    while lines and not lines[-1]:
        lines.pop()
    return lines


def _no_sheet(why: str, where: str) -> Unreadable:
    return Unreadable(f"Nothing was taken in: {why}.", where=where, mend=AGAIN)


def read_items(lines: Sequence[str], where: str = "", *, first: int = 1) -> list[Item]:
    """The entries of lines.

    Raises:
        Unreadable: one of them is none; the line is named.
    """
    if len(lines) > MOST_ENTRIES:
        raise _no_sheet(f"it has more than {MOST_ENTRIES} entries", where)
    found = []
    for number, line in enumerate(lines, first):
        try:
            found.append(read_item(line))
        except ValueError as error:
            place = f"{where}:{number}" if where else f"entry {number}"
            raise Unreadable(f"Nothing was taken in: {error}.", where=place, mend=AGAIN) from None
    ids = [item.weighing.id if isinstance(item, Named) else item.id for item in found
           if not isinstance(item, Placed)]  # fmt: skip
    if len(set(ids)) < len(ids):
        raise _no_sheet("two of its entries have one id", where)
    return found
