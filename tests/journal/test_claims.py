"""Claims to treat or prevent disease, and private words, are pointed out; plain talk is not."""

from dataclasses import replace

import pytest

from labbook.journal.claims import claims, slipped, texts
from labbook.journal.publish import published
from labbook.notebook.spans import Source, written
from labbook.rules.claims import claims_text
from tests.journal.filled import book, with_photos
from tests.journal.sample_book import BOOK as SAMPLE

WORDS = written(Source.of(claims_text()).root)
BASE = book(lambda record, name: "plain words")


def found(text: str) -> list[tuple[str, ...]]:
    entry = replace(BASE.entries[0], text=text)
    return [one.words for one in claims(texts(published(replace(BASE, entries=(entry,)))), WORDS)]


# Common practice, no source.
@pytest.mark.parametrize(
    "text",
    [
        "It heals eczema.",
        "Good for psoriasis and other things.",
        "Prevents\ninfections.",
        "A therapeutic cream.",
        "It has an ANTI-INFLAMMATORY effect.",
        "Helps with acne, they say.",
        "It does not treat dermatitis.",
    ],
)
def test_claims_are_pointed_out(text: str) -> None:
    assert len(found(text)) == 1


@pytest.mark.parametrize(
    "text",
    [
        "Both phases were heat treated at 72 °C.",
        "The beeswax prevents the oil from running.",
        "A clear pool under the cream. Nothing healed it.",
        "Looking is not a microbiological test.",
        "I burned my finger on the pot.",
        "For hands that were in clay all day.",
        "The gum cures nothing here; eventually the tin rusts",
        "sunburst",
    ],
)
def test_plain_talk_is_not(text: str) -> None:
    assert found(text) == []


def test_a_claim_is_found_in_every_kind_of_public_text() -> None:
    evil = book(lambda record, name: "it heals eczema")
    about = {(one.said.path, one.said.about) for one in claims(texts(published(evil)), WORDS)}
    (sheet,) = evil.ingredients
    assert {path for path, _ in about} == {
        "labbook.yaml", f"ingredients/{sheet}.yaml", "journal/2026-02-03-one.md",
        "formulas/SBC.yaml", "",
    }  # fmt: skip
    photos = with_photos(BASE, lambda record, name: "it heals eczema")
    assert [one.said.about for one in claims(texts(published(photos)), WORDS)] == ["SBC-260203-4M"]
    private = replace(evil, formulas={}, entries=(), settings=BASE.settings)
    assert claims(texts(published(private)), WORDS) == []


def test_a_title_or_a_caption_of_one_word_can_be_a_claim() -> None:
    def text(record: str, name: str) -> str:
        return "Antifungal" if name in ("title", "caption") else "words"

    evil = with_photos(book(text), text)
    about = {one.said.path or one.said.about for one in claims(texts(published(evil)), WORDS)}
    assert about == {
        "labbook.yaml", "ingredients/words.yaml", "journal/2026-02-03-one.md", "formulas/SBC.yaml",
        "SBC-260203-4M",
    }  # fmt: skip


def test_the_sample_claims_nothing() -> None:
    assert claims(texts(published(SAMPLE)), WORDS) == []


def test_words_from_private_fields_are_pointed_out() -> None:
    entry = replace(BASE.entries[0], text="I gave one jar to Wilhelmina. Ann has none.")
    journal = published(replace(BASE, entries=(entry,)))
    hits = slipped(journal, {"Wilhelmina", "Ann", "plain words"})
    assert [(said.path, word) for said, word in hits if word != "plain words"] == [
        ("journal/2026-02-03-one.md", "Wilhelmina")
    ]
    assert slipped(journal, set()) == []
