"""The feed, held against RFC 4287 by an XML parser and read by a reader of feeds."""

import re
from dataclasses import replace
from datetime import date, datetime
from importlib import import_module
from io import BytesIO
from itertools import count
from typing import Any
from xml.etree import ElementTree

import pytest

from labbook.journal.book import Book
from labbook.journal.errata import Erratum
from labbook.journal.feed import FILE, LATEST, Item, address_of, feed
from labbook.journal.publish import published
from tests.journal.hostile import CORPUS
from tests.journal.test_pages import FULL, site_of

feedparser: Any = import_module("feedparser")  # it has no types
ATOM = "{http://www.w3.org/2005/Atom}"
ADDRESS = "https://pots.example/journal/"
IRI = re.compile(r"(?:https?://|tag:[a-z0-9.-]+,[0-9]{4}-[0-9]{2}-[0-9]{2}:)[!-~]+")
"""What ids and links are made of here: absolute, RFC 4287 4.2.6; a tag as RFC 4151 2.1 has it."""

DATE = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]+)?(?:Z|[+-].{5})"
)
"""RFC 3339, with the capital T and Z that RFC 4287 3.3 asks for."""


def parse(text: str) -> Any:
    """The feed as the reader takes it; of bytes, since a text could be the name of a file."""
    return feedparser.parse(BytesIO(text.encode("utf-8")))


def item(number: int = 1, **more: object) -> Item:
    day = date(2026, 1, 1 + number % 28)
    made = Item(
        name=f"entry/{number}",
        path=f"entries/{number}",
        title=f"Entry {number}",
        summary="Words.",
        born=day,
        updated=day,
    )
    return replace(made, **more)  # type: ignore[arg-type]


def must_follow_the_rfc(text: str) -> ElementTree.Element:
    """What RFC 4287 says a feed and an entry must have, by the section that says it."""
    root = ElementTree.fromstring(text.encode("utf-8"))
    assert root.tag == f"{ATOM}feed"
    for one in (root, *root.findall(f"{ATOM}entry")):
        for name in ("id", "title", "updated"):  # 4.1.1, 4.1.2: exactly one
            assert len(one.findall(f"{ATOM}{name}")) == 1, name
        for name in ("updated", "published"):  # 3.3
            for found in one.findall(f"{ATOM}{name}"):
                assert DATE.fullmatch(found.text or "")
                datetime.fromisoformat(found.text or "")
        assert IRI.fullmatch(one.findtext(f"{ATOM}id", ""))  # 4.2.6
        links = one.findall(f"{ATOM}link")
        assert all(IRI.fullmatch(link.get("href", "")) for link in links)  # 4.2.7.1
        kinds = [(link.get("rel"), link.get("type")) for link in links]
        assert len(kinds) == len(set(kinds))  # 4.1.1, 4.1.2: one alternate of a type
        assert ("alternate", "text/html") in kinds
        assert len(one.findall(f"{ATOM}summary")) <= 1
    assert len([one for one in root.findall(f"{ATOM}link") if one.get("rel") == "self"]) == 1
    assert root.find(f"{ATOM}author/{ATOM}name") is not None  # 4.1.1: the feed, or each entry
    ids = [one.findtext(f"{ATOM}id") for one in root.findall(f"{ATOM}entry")]
    assert len(ids) == len(set(ids))
    return root


def of(book: Book, *errata: Erratum) -> str:
    return site_of(book, errata).files[FILE].decode("utf-8")


def test_the_sample_is_a_feed_by_the_rfc_and_to_a_reader() -> None:
    text = of(FULL)
    must_follow_the_rfc(text)
    read = parse(text)
    assert not read.bozo
    assert read.version == "atom10"
    assert read.feed.title == "Studio notebook"
    assert read.feed.id == f"{ADDRESS}{FILE}"
    links = {one.title: one.link for one in read.entries}
    assert links["9T, Studio hand cream"] == f"{ADDRESS}batches/SBC-260122-9T.html"
    assert "No day" not in links
    files = site_of(FULL).files
    assert all(link.removeprefix(ADDRESS) in files for link in links.values())


@pytest.mark.parametrize("evil", CORPUS, ids=range(len(CORPUS)))
def test_hostile_words_are_words(evil: str) -> None:
    text = feed(evil, evil, ADDRESS, [item(title=evil, summary=evil)])
    root = must_follow_the_rfc(text)
    assert len(list(root.iter())) == len(list(must_follow_the_rfc(
        feed("a", "b", ADDRESS, [item()])).iter()))  # fmt: skip
    read = parse(text)
    assert not read.bozo, read.bozo_exception


def test_ids_stay_when_titles_and_places_change() -> None:
    def ids(text: str) -> set[str]:
        return {one.id for one in parse(text).entries}

    before = of(FULL)
    entries = tuple(replace(one, title=f"{one.title}, again") for one in FULL.entries)
    moved = replace(FULL.settings, site_url="http://pots.example/elsewhere/")
    assert ids(of(replace(FULL, entries=entries, settings=moved))) == ids(before)


def test_a_later_look_and_a_correction_make_an_item_new() -> None:
    def updated(text: str) -> str:
        return str(next(o.updated for o in parse(text).entries if o.title.startswith("9T")))

    assert updated(of(FULL)) == "2026-03-23T00:00:00Z"  # the last look at 9T in the sample
    late = Erratum("batch SBC-260122-9T", "w1 mass", "x", "1 g", "2 g", date(2026, 12, 1))
    assert updated(of(FULL, late)) == "2026-12-01T00:00:00Z"
    assert parse(of(FULL, late)).feed.updated == "2026-12-01T00:00:00Z"


def test_the_latest_come_first_and_no_more_than_thirty() -> None:
    items = [item(number, updated=date(2026, 2, 1 + number % 28)) for number in range(40)]
    entries = parse(feed("a", "b", ADDRESS, items)).entries
    assert len(entries) == LATEST
    days = [one.updated for one in entries]
    assert days == sorted(days, reverse=True)
    assert feed("a", "b", ADDRESS, items) == feed("a", "b", ADDRESS, items[::-1])


def test_an_empty_journal_still_has_a_feed_by_the_rfc() -> None:
    empty = replace(FULL, formulas={}, entries=())
    assert published(empty).batches == ()
    must_follow_the_rfc(of(empty))
    numbers = count()
    must_follow_the_rfc(feed("a", "", ADDRESS, [item(next(numbers))]))


@pytest.mark.parametrize(
    ("typed", "address"),
    [
        ("https://pots.example", "https://pots.example/"),
        (" http://pots.example:8080/a/b/ ", "http://pots.example:8080/a/b/"),
        ("ftp://pots.example/", ""),
        ("https://me@pots.example/", ""),
        ("https://pots.example/?a=b", ""),
        ('https://pots.example/"><script>', ""),
        ("javascript:alert(1)", ""),
        ("pots.example", ""),
        ("", ""),
        (None, ""),
    ],
)
def test_where_the_site_stands(typed: str | None, address: str) -> None:
    assert address_of(typed) == address
