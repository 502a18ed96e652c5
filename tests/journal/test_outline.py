"""Lists are made of outlines, entries of what their blocks name: the same as of all records."""

import json
from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.journal.blocks import COMMANDS, Blocks, codes_named
from labbook.journal.claims import Said, looked_for, may_hold, slipped, vocabulary
from labbook.journal.markdown import Md, Templates
from labbook.journal.outline import Outline
from labbook.journal.pages import Writer
from labbook.journal.publish import PublicJournal, published
from labbook.journal.shelf import shelf_of
from labbook.journal.teller import Teller
from labbook.model.entry import Entry
from tests.journal.site import HTML, MARKDOWN
from tests.journal.test_pages import ERRATA, FULL, SITE

JOURNAL = published(FULL)
SHELF = shelf_of(JOURNAL)


def reread(one: Outline) -> Outline:
    return Outline(**json.loads(json.dumps(one.as_json())))


def test_a_site_of_outlines_that_were_kept_is_the_same() -> None:
    taken: list[Collection[str]] = []

    def take(codes: Collection[str]) -> PublicJournal:
        taken.append(codes)
        return JOURNAL.only(codes)

    outlines = {code: reread(one) for code, one in SHELF.outlines.items()}
    writer = Writer(replace(SHELF, outlines=outlines, take=take), MARKDOWN, HTML, ERRATA)
    files = dict(writer.beside())
    for planned in writer.lists:
        files |= writer.written(planned).files
    assert {path: raw for path, raw in SITE.files.items() if path in files} == files
    assert len(taken) == len(FULL.entries)  # their blocks alone need records


def strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from (text for one in value.values() for text in strings(one))
    elif isinstance(value, list | tuple):
        yield from (text for one in value for text in strings(one))


def test_an_outline_holds_no_markdown_for_it_would_be_escaped_when_it_is_read_back() -> None:
    for one in SHELF.outlines.values():
        assert not any(isinstance(text, Md) for text in strings(one.as_json()))


# Blocks over what they name -----------------------------------------------------------------------

TYPED = (
    *COMMANDS, "show 'SBC@3'", 'labbook "log" SBC', "show SB'C'@2", "diff 9T sbc", "photos zz.1",
    "timeline SBC 40 °C", "why zz", 'show "open', "show", "nothing at all", "diff SBC 2 shl",
    "outcomes HC", "show SBC-260122-9T", "curve shl structure", "why 9t 4m", "show .", "photos .1",
)  # fmt: skip


@pytest.mark.parametrize("command", TYPED)
def test_a_block_shows_of_the_formulas_that_it_names_what_it_shows_of_all(command: str) -> None:
    text = f"```labbook\n{command}\n```\n"
    codes = codes_named(text, SHELF.outlines, SHELF.code_of)
    assert codes is not None
    some, every = (
        Blocks(Teller(one), Templates(MARKDOWN)).filled(text, "../")
        for one in (JOURNAL.only(codes), JOURNAL)
    )
    assert some == every
    if not command.startswith("why"):
        assert len(codes) < 2 or command.startswith("diff")


def test_an_entry_without_a_block_names_nothing() -> None:
    for text in ("Plain.", "labbook in words", "`labbook`", "```text\nshow SBC\n```"):
        assert codes_named(text, SHELF.outlines, SHELF.code_of) is None


# Private words ------------------------------------------------------------------------------------

WORDS = st.text("abAıİiIſsSßẞ-. 1_é", min_size=1, max_size=9)


@given(st.lists(WORDS, min_size=1, max_size=6), WORDS)
def test_a_word_that_stands_in_a_text_is_held_by_its_vocabulary(
    texts: list[str], private: str
) -> None:
    text = " ".join(texts)
    entry = Entry(path="journal/a.md", name="a", title="A", public="yes", text=text)
    hits = slipped(replace(JOURNAL.only(()), entries=(entry,)), {private})
    if hits:
        assert looked_for({private}, "", "")
        assert may_hold(vocabulary([text, "A."]), private)


def test_what_cannot_stand_there_need_not_be_looked_for() -> None:
    words = vocabulary(Said("", "", text).text for text in ("Kept by Ann Lee.", "of the studio"))
    assert may_hold(words, "ann lee")
    assert not may_hold(words, "Ann Leeds")
