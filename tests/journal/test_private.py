"""What is private stays inside: a secret in every text field of every record, in no output byte."""

from collections.abc import Iterator
from dataclasses import fields, replace
from typing import Any

import pytest

from labbook.journal.book import Book
from labbook.journal.fields import PUBLIC
from labbook.journal.publish import batch_is_public, published
from labbook.journal.redact import scrubbed
from labbook.journal.shelf import shelf_of
from labbook.journal.state import Published, figures_on_shelf, things_on, written
from labbook.model.batch import Batch, Correction, Deviation, Dropped, Parent, Remark
from labbook.model.formula import Formula
from labbook.model.jars import JarDone, Look
from labbook.model.materials import BufferPoint, Calibration, Lot
from labbook.model.photos import Photos
from labbook.model.reactions import Reaction, Reactions
from labbook.model.rules import BadPair, CauseRule, CheckRule, LegalLimit, Rules, Selector
from labbook.model.settings import Accepted, Defaults, Protocol, TimePoint
from tests.journal.filled import STRUCTURE, WHEN, book, filled, record_types, with_photos
from tests.journal.site import all_bytes, site_of

NEVER_PUBLIC = {
    *(Accepted, Calibration, Defaults, Dropped, JarDone, Lot, Protocol, TimePoint),
    BufferPoint,
    *(Photos, Reaction, Reactions),
    *(Rules, LegalLimit, BadPair, CheckRule, CauseRule, Selector),
}
"""Records that the filter hands to nobody, whole."""

NAMES: dict[tuple[str, str], str] = {}


def secret(record: str, name: str) -> str:
    """A word of its own for each field; letters and figures only, so that no escaping hides it."""
    return NAMES.setdefault((record, name), f"zq{len(NAMES):04d}secret")


BOOK = with_photos(book(secret), secret)
SITE = all_bytes(site_of(BOOK))
FILTERED = repr(published(BOOK)).encode()
SHELF = shelf_of(published(BOOK))
STATE = written(Published(things_on(SHELF), {}, figures_on_shelf(SHELF)))


def private_secrets() -> Iterator[tuple[str, str, str]]:
    by_name = {record.__name__: allowed for record, allowed in PUBLIC.items()}
    for (record, name), word in NAMES.items():
        allowed = by_name.get(record, frozenset())
        if name.removesuffix(" key") not in allowed:
            yield record, name, word


def test_every_record_is_decided_upon() -> None:
    assert set(PUBLIC) | NEVER_PUBLIC == record_types()
    assert not set(PUBLIC) & NEVER_PUBLIC
    for record, names in PUBLIC.items():
        assert names <= {field.name for field in fields(record)}, record.__name__


def test_no_private_field_is_in_any_byte() -> None:
    found = list(private_secrets())
    assert len(found) > 40
    told = [
        f"{record}.{name}"
        for record, name, word in found
        if word.encode() in SITE + STATE + FILTERED
    ]
    assert told == []


@pytest.mark.parametrize(
    "field",
    [
        ("Jar", "given_to"), ("Jar", "note"), ("Stay", "place"), ("Look", "who"), ("Look", "photo"),
        ("Batch", "maker"), ("Batch", "session"), ("Weighing", "lot"), ("Weighing", "note"),
        ("Correction", "who"), ("Reading", "by"), ("Version", "body"), ("Equipment", "notes"),
        ("Ingredient", "notes"), ("Line", "note"), ("Settings", "region"), ("Photo", "original"),
    ],
)  # fmt: skip
def test_the_fields_that_would_hurt_are_private(field: tuple[str, str]) -> None:
    assert field in NAMES
    assert NAMES[field].encode() not in SITE


@pytest.mark.parametrize(
    "field",
    [
        ("Deviation", "text"), ("Remark", "text"), ("Look", "note"), ("Entry", "text"),
        ("Formula", "title"), ("Batch", "aim"), ("Batch", "notes"), ("Version", "subject"),
        ("Formula", "notes"), ("Settings", "title"), ("Done", "skipped"), ("Correction", "why"),
        ("Photo", "caption"),
    ],
)  # fmt: skip
def test_what_is_public_is_told(field: tuple[str, str]) -> None:
    assert NAMES[field].encode() in SITE


# Entries of a public batch that stay inside -------------------------------------------------------

HIDDEN = "zqhidden"


def changed(**keys: Any) -> Book:
    batch = replace(BOOK.batches["SBC-260203-4M"], **keys)
    return replace(BOOK, batches={batch.id: batch})


def correction(of: str, key: str, now: str, was: str = "") -> Correction:
    return Correction(id="c9", of=of, key=key, was=was, now=now, why="a slip", time=WHEN)


@pytest.mark.parametrize(
    "keys",
    [
        {"remarks": (Remark(id="m1", text=HIDDEN, private=True),)},
        {
            "remarks": (Remark(id="m1", text=HIDDEN),),
            "corrections": (correction("m1", "private", "yes"),),
        },
        {
            "deviations": (Deviation(id="d1", text=HIDDEN),),
            "corrections": (correction("d1", "text", "other words", HIDDEN),),
        },
        {"corrections": (correction("w1", "lot", HIDDEN),)},
        {"corrections": (correction("w1", "note", HIDDEN),)},
        {"corrections": (correction("nothing", "mass", HIDDEN),)},
        {"from_": (Parent(batch=f"SBC-260101-{HIDDEN}", how="split"),)},
        {"dropped": Dropped(time=WHEN, why=HIDDEN), "aim": HIDDEN},
        {"public": "no", "aim": HIDDEN},
        {"public": "Yes", "aim": HIDDEN},
    ],
)
def test_what_a_batch_keeps_to_itself(keys: dict[str, Any]) -> None:
    assert HIDDEN.encode() not in all_bytes(site_of(changed(**keys)))


def test_struck_entries_stay_inside() -> None:
    batch = BOOK.batches["SBC-260203-4M"]
    struck = replace(batch.readings[0], struck="wrong jar", reading=HIDDEN)
    assert HIDDEN.encode() not in all_bytes(site_of(changed(readings=(struck,))))
    stability = BOOK.stability[batch.id]
    look: Look = replace(stability.looks[0], struck="wrong jar", note=HIDDEN)
    hidden = replace(BOOK, stability={batch.id: replace(stability, looks=(look,))})
    assert HIDDEN.encode() not in all_bytes(site_of(hidden))


def test_a_private_formula_hides_all_that_hangs_on_it() -> None:
    for word in (None, "no", "YES", "true", "with  batches", "public"):
        formula = replace(BOOK.formulas["SBC"], public=word)
        batch = replace(BOOK.batches["SBC-260203-4M"], public="yes")
        hidden = replace(BOOK, formulas={"SBC": formula}, batches={batch.id: batch})
        found = published(hidden)
        assert (found.formulas, found.batches) == ((), ())
        assert found.sheets.names() == ()
        assert not found.equipment
        paths = set(site_of(hidden).files)
        assert not [path for path in paths if "formulas/" in path or "batches/" in path]


def test_entries_are_private_unless_they_say_yes() -> None:
    for word in ("", "no", "Yes", "true", "with batches"):
        entry = replace(BOOK.entries[0], public=word)
        assert published(replace(BOOK, entries=(entry,))).entries == ()


def test_which_batches_a_formula_brings_along() -> None:
    formula: Formula = replace(BOOK.formulas["SBC"])
    batch: Batch = replace(BOOK.batches["SBC-260203-4M"])
    table = {
        ("yes", None): False,
        ("yes", "yes"): True,
        ("yes", "no"): False,
        ("with batches", None): True,
        ("with batches", "no"): False,
        ("with batches", "yes"): True,
        ("no", "yes"): False,
    }
    for (of_formula, of_batch), public in table.items():
        found = batch_is_public(
            replace(batch, public=of_batch), replace(formula, public=of_formula)
        )
        assert found is public, (of_formula, of_batch)


def test_batches_that_are_not_shown_are_counted_and_nothing_more() -> None:
    hidden = changed(public="no", aim=HIDDEN)
    files = site_of(hidden).files
    assert b"1 batch is not shown" in files["formulas/SBC.html"]
    assert b"4M" not in all_bytes(site_of(hidden)).replace(b"260203-4M", b"")


def test_notes_of_earlier_versions_stay_inside() -> None:
    first, second = BOOK.versions["SBC"]
    old = replace(first, formula=replace(first.formula, notes=HIDDEN))
    assert HIDDEN.encode() not in all_bytes(site_of(replace(BOOK, versions={"SBC": (old, second)})))


# Addresses and photographs ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "ask anna.b@example.org for it",
        "<anna.b@example.org>",
        "[write](mailto:anna.b@example.org)",
        "see ![the jar](IMG_2034.JPG) and photos/IMG_2034.heic",
        "![the jar][one]\n\n[one]: IMG_2034.jpg",
        "anna.b@bücher.example",
    ],
)
def test_addresses_and_names_of_photographs_are_left_out(text: str) -> None:
    entry = replace(BOOK.entries[0], text=text)
    batch = replace(BOOK.batches["SBC-260203-4M"], aim=text, notes=text)
    found = replace(BOOK, entries=(entry,), batches={batch.id: batch})
    out = all_bytes(site_of(found))
    assert b"anna.b" not in out
    assert b"IMG_2034" not in out


def test_names_of_versions_are_no_addresses() -> None:
    for text in ("SBC@3 and SBC@2.", "diff SBC@2 SBC@3", "SBC@2026-02-05"):
        assert scrubbed(text) == text


def test_addresses_written_as_entities_are_left_out_of_the_pages() -> None:
    text = "anna.b&#64;example.org and anna.b\\@example.org"
    entry = replace(BOOK.entries[0], text=text)
    files = site_of(replace(BOOK, entries=(entry,))).files
    assert b"anna.b" not in files["entries/2026-02-03-one.html"]


def test_lots_and_protocols_are_never_asked_for() -> None:
    assert {field.name for field in fields(Book)}.isdisjoint({"lots", "protocols"})
    with pytest.raises(TypeError, match="Lot has no list of public fields"):
        from labbook.journal.redact import redacted

        redacted(filled(Lot, secret))


def test_structure_names_fields_that_there_are() -> None:
    known = {record.__name__: {f.name for f in fields(record)} for record in record_types()}
    for record, name in STRUCTURE:
        assert name in known[record], (record, name)
