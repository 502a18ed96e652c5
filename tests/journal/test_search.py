"""The index of the search: folded words, pages as steps, public text alone, inert as a script."""

import json
import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.journal.page import Found
from labbook.journal.search import FILE, folded, index_script, part_of, words_of
from tests.journal.hostile import CORPUS
from tests.journal.test_pages import FULL, SITE, site_of

START, END = '"use strict";\nwindow.journalIndex = ', ";\n"


def index_of(script: str) -> Any:
    assert script.startswith(START)
    assert script.endswith(END)
    return json.loads(script[len(START) : -len(END)])


def pages_with(index: Any, word: str) -> list[str]:
    """The paths of pages that hold a word, as the script reads the steps."""
    if word not in index["words"]:
        return []
    page, found = 0, []
    for step in index["pages"][index["words"].index(word)]:
        page += step
        found.append(index["found"][page][0])
    return found


SAMPLE = index_of(SITE.files[FILE].decode("ascii"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Crème brûlée", {"creme", "brulee"}),
        ("Öl-in-Wasser, Maß ﬁx", {"ol", "in", "wasser", "mass", "fix"}),
        ("ŁÓDŹ İzmir", {"łodz", "izmir"}),
        ("SBC@3: 0.50 %", {"sbc", "3", "0", "50"}),
        ("日本語 текст Ёлка", {"日本語", "текст", "елка"}),
        ("W" * 90, {"w" * 40}),
        ("", set()),
    ],
)
def test_words_are_folded(text: str, words: set[str]) -> None:
    assert words_of(text) == words


@given(st.text(max_size=60))
def test_folding_twice_changes_nothing_more(text: str) -> None:
    assert words_of(folded(text)) == words_of(text)


@given(st.lists(st.text("abc ", max_size=12), max_size=8))
def test_steps_lead_to_just_the_pages_that_hold_the_word(texts: list[str]) -> None:
    found = [Found(f"p{number}", "", "", text) for number, text in enumerate(texts)]
    index = index_of(index_script([part_of(found)]))
    for word in {word for text in texts for word in text.split()}:
        wanted = [f"p{n}" for n, text in enumerate(texts) if word in text.split()]
        assert pages_with(index, word) == wanted
    assert index["words"] == sorted(index["words"])


def test_the_sample_is_found_by_its_words() -> None:
    assert pages_with(SAMPLE, "pool") == ["batches/SBC-260122-9T", "entries/a"]
    assert "ingredients/sodium-benzoate" in pages_with(SAMPLE, "benzoate")
    assert pages_with(SAMPLE, "creme") == ["entries/c"]
    assert set(pages_with(SAMPLE, "hc1")) == set()
    files = SITE.files
    assert all(f"{path}.html" in files for path, *_ in SAMPLE["found"])


def test_what_is_private_is_in_no_word() -> None:
    batch = replace(FULL.batches["SBC-260122-9T"], notes="xylophone")
    batches = {**FULL.batches, batch.id: batch}
    shown = site_of(replace(FULL, batches=batches))
    assert b"xylophone" in shown.files[FILE]
    batches[batch.id] = replace(batch, public="no")
    hidden = site_of(replace(FULL, batches=batches))
    assert b"xylophone" not in hidden.files[FILE]
    assert b"9T" not in hidden.files[FILE]


@pytest.mark.parametrize("evil", CORPUS, ids=range(len(CORPUS)))
def test_hostile_words_end_no_script(evil: str) -> None:
    script = index_script([part_of([Found("a", evil, evil, evil)])])
    index_of(script)
    assert script.isascii()
    assert not re.search(r"[<>&\x00-\x09\x0b-\x1f\x7f]", script)
