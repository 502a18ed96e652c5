"""Pictures in the journal: inline in pages, files for the Markdown, public records alone."""

import re
from dataclasses import replace

from labbook.journal.blocks import Blocks
from labbook.journal.markdown import Templates
from labbook.journal.pages import Site
from labbook.journal.pictures import Pictures
from labbook.journal.publish import published
from labbook.journal.teller import Teller
from labbook.model.entry import Entry
from tests.journal.sample_book import BOOK
from tests.journal.site import MARKDOWN, site_of

SITE = site_of(BOOK)
TELLER = Teller(published(BOOK))
PICTURES = Pictures(TELLER)
BLOCKS = Blocks(TELLER, Templates(MARKDOWN), PICTURES)


def text(path: str, site: Site = SITE) -> str:
    return site.files[path].decode("utf-8")


def pictures(html: str) -> list[str]:
    return re.findall(r"<figure>\n(<svg .*?</svg>\n)</figure>", html, re.DOTALL)


def block(command: str) -> str:
    shown, broken = BLOCKS.filled(f"```labbook\n{command}\n```", "../")
    assert broken == []
    return str(shown)


def test_the_pages_of_a_formula_and_a_batch_hold_the_picture_itself() -> None:
    for page, *names in (
        ("formulas/SBC", "timeline-SBC", "curve-SBC-room-separation"),
        ("batches/SBC-260122-9T", "timeline-SBC-260122-9T"),
    ):
        for svg, name in zip(pictures(text(f"{page}.html")), names, strict=True):
            assert "<title>" in svg
            assert "<desc>" in svg
            assert f"](../pictures/{name}.svg)" in text(f"markdown/{page}.md")
            file = text(f"markdown/pictures/{name}.svg")
            assert set(svg.splitlines()[1:]) <= set(file.splitlines())


def test_every_picture_that_the_markdown_refers_to_is_there_and_no_other() -> None:
    wanted = set()
    for path, raw in SITE.files.items():
        if path.endswith(".md"):
            wanted |= {f"markdown/pictures/{one}" for one in
                       re.findall(r"\]\((?:\.\./)?pictures/([^)]*)\)", raw.decode())}  # fmt: skip
    assert wanted == {p for p in SITE.files if p.endswith(".svg") and p != "icon.svg"}
    assert len(wanted) > 10


def test_a_private_batch_is_in_no_picture() -> None:
    hidden = "SBC-260219-K2"
    batches = {**BOOK.batches, hidden: replace(BOOK.batches[hidden], public="no")}
    site = site_of(replace(BOOK, batches=batches))
    assert f"markdown/pictures/timeline-{hidden}.svg" not in site.files
    for path, raw in site.files.items():
        assert b"K2.4" not in raw, path
    before = pictures(text("formulas/SBC.html"))[0].count('class="name"')
    after = pictures(text("formulas/SBC.html", site))[0].count('class="name"')
    assert before - after == 4


def test_a_block_shows_a_batch_a_formula_a_condition() -> None:
    one = block("timeline 9t")
    assert one.startswith("\n![3 jars of 9T")
    assert "](../pictures/timeline-SBC-260122-9T.svg)" in one
    assert "| 9T.1 | day 1: 0; day 7: 3 |" in one.replace("\u00a0", " ")
    assert "| K2.4 | SBC@3 |" in block("timeline SBC")
    fridge = block("labbook timeline sbc fridge")
    assert "| 9T.2 |" in fridge
    assert "| 9T.1 |" not in fridge


def test_a_block_shows_a_curve_of_the_public_batches() -> None:
    text_ = block("curve SBC")
    assert text_.startswith("\n![Share of batches intact: SBC, room, separation")
    assert "](../pictures/curve-SBC-room-separation.svg)" in text_
    assert "| SBC, all | 1 of 8 |" in text_
    warm = block("curve SBC 40 °C")
    assert "SBC, 40 °C, separation" in warm
    assert re.search(r"\]\(\.\./pictures/curve-SBC-40-C-separation-[0-9a-f]{8}\.svg\)", warm)
    assert "| SBC, all | 0 of 8 |" in block("curve SBC structure")


def test_an_entry_holds_the_picture_and_words_of_a_maker_draw_none() -> None:
    body = "```labbook\ncurve SBC\n```\n\n![mine](../pictures/timeline-SBC.svg) ![x](x.png)\n"
    entry = Entry(path="journal/a.md", name="a", title="A", date=None, public="yes", text=body)
    site = site_of(replace(BOOK, entries=(entry,)))
    page = text("entries/a.html", site)
    (svg,) = pictures(page)
    assert 'class="picture curve"' in svg
    assert "<img" not in page
    assert "(photo" in page
    assert "markdown/pictures/curve-SBC-room-separation.svg" in site.files


def test_the_same_records_give_the_same_bytes() -> None:
    assert site_of(BOOK).files == SITE.files
