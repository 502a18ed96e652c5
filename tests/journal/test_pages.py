"""Every page of the sample's journal: valid, reachable, made of nothing but what it declares."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from html5lib.html5parser import ParseError

from labbook.journal import archive, feed, search
from labbook.journal.blocks import COMMANDS
from labbook.journal.book import Book
from labbook.journal.errata import Erratum
from labbook.journal.keys import base_of, key_of, parts_of, paths_key
from labbook.journal.pages import Site, Writer, site
from labbook.journal.publish import published
from labbook.journal.shelf import shelf_of
from labbook.model.entry import Entry
from labbook.model.photos import Photo, Photos
from labbook.model.quantities import Quantity
from tests.journal.sample_book import BOOK
from tests.journal.site import HTML, MARKDOWN
from tests.journal.valid import broken_links, ids_of, tree_of, unreached

BATCH = "SBC-260122-9T"


def photo(
    number: int, day: int, *, jar: str | None = "1", caption: str = "a pool", step: str = ""
) -> Photo:
    return Photo(
        id=f"p{number}",
        file=f"2026-02-0{day}-{number:016x}.jpg",
        original="0" * 64,
        caption=caption,
        jar=jar,
        step=step or None,
        time=datetime(2026, 2, day, tzinfo=UTC),
    )


PHOTOS = Photos(
    batch=BATCH,
    photos=(
        photo(1, 5),
        photo(2, 2),
        photo(3, 3, jar=None, caption='"big" [x](y) <b>'),
        photo(4, 4, jar=None, caption="poured", step="s3"),
    ),
)
EVERY_BLOCK = (
    *(one.replace("7k", "9t").replace("trend SBC", "trend SHL") for one in COMMANDS),
    "show SBC@9",
)
"""A block of every kind, as an entry may say it; the last one can't be shown."""

ENTRIES = (
    Entry(
        path="journal/a.md",
        name="a",
        title="A pool",
        date=date(2026, 1, 30),
        public="yes",
        text="[The formula](../formulas/SBC.md#what-goes-in).\n\n```labbook\nphotos 9t.1\n```\n",
    ),
    Entry(path="journal/b.md", name="b", title="No day", public="yes", text="Plain. More."),
    Entry(path="journal/c.md", name="c", title="Crème", date=date(2026, 2, 1), public="yes"),
    Entry(
        path="journal/blocks.md",
        name="blocks",
        title="Of every kind",
        date=date(2026, 1, 2),
        public="yes",
        text="\n\n".join(f"## {one}\n\n```labbook\n{one}\n```" for one in EVERY_BLOCK),
    ),
)
FULL = replace(
    BOOK,
    entries=ENTRIES,
    photos={BATCH: PHOTOS},
    settings=replace(BOOK.settings, site_url="https://pots.example/journal"),
)
ERRATA = (
    Erratum(f"batch {BATCH}", "w4 mass", "sunflower-oil, mass", "12 g", "13 g", date(2026, 3, 1)),
    Erratum("version SBC@3", "1 water", "water", "1 %", "2 %", date(2026, 2, 1), "a <slip>"),
    Erratum("ingredient water", "density", "density", "1", "2", date(2026, 1, 1)),
)


def site_of(book: Book, errata: tuple[Erratum, ...] = ERRATA) -> Site:
    return site(published(book), MARKDOWN, HTML, errata)


SITE = site_of(FULL)
PICTURES = frozenset(
    f"photos/{folder}{one.file}" for one in PHOTOS.photos for folder in ("", "small/")
)


def text(path: str, found: Site = SITE) -> str:
    """A file as it reads: the space that holds `58 °C` together is one."""
    return found.files[path].decode("utf-8").replace("\u00a0", " ")


# Valid --------------------------------------------------------------------------------------------


def test_every_page_is_valid_html_without_an_id_given_twice() -> None:
    pages = [path for path in SITE.files if path.endswith(".html")]
    assert len(pages) > 40
    for path in pages:
        ids = ids_of(tree_of(SITE.files[path]))
        assert len(ids) == len(set(ids)), path


@pytest.mark.parametrize(
    "bad", ["<p>a</b>", "<p>a", "<!doctype html><title>x</title><p id=a id=b>"]
)
def test_the_parser_forgives_nothing(bad: str) -> None:
    with pytest.raises(ParseError):
        tree_of(bad.encode())


def test_every_link_leads_somewhere_and_every_page_is_reached() -> None:
    assert broken_links(SITE.files, PICTURES) == []
    assert unreached(SITE.files) == set()
    assert [one.command for _, one in SITE.broken] == [EVERY_BLOCK[-1]]


def test_the_crawler_sees_what_is_broken() -> None:
    bad = b'<!doctype html><title>x</title><p><a href="b.html">b</a><a href="#c">c</a>'
    files = {"index.html": bad, "alone.html": b"<!doctype html><title>x</title><p id=d>"}
    assert broken_links(files) == ["index.html: b.html", "index.html: #c, no such part"]
    assert unreached(files) == {"alone.html"}


def test_nothing_but_links_leads_elsewhere() -> None:
    for path, raw in SITE.files.items():
        if path.endswith(".html"):
            tree = tree_of(raw)
            for tag in ("img", "script", "link", "iframe", "source", "object"):
                for one in tree.iter(tag):
                    assert "//" not in f"{one.get('src')} {one.get('href')}", (path, tag)


# What stands where --------------------------------------------------------------------------------


def test_home_tells_the_latest_and_what_is_watched() -> None:
    home = text("markdown/index.md")
    order = [home.index(f"## {name}") for name in
             ("Entries", "Made lately", "Being watched", "Formulas")]  # fmt: skip
    assert order == sorted(order)
    assert home.index("[7K]") < home.index("[H5]") < home.index("## Being watched")
    watched = home.split("## Being watched")[1]
    assert "6 batches are intact so far; watched longest is [4M]" in watched  # K2 failed frozen
    assert "9T" not in watched.split("## Formulas")[0]
    assert "3 versions, the latest [SHL@3](formulas/SHL-3.md) of" in home


def test_watched_longest_is_not_what_was_made_first() -> None:
    stability = BOOK.stability["SBC-260109-4M"]
    once = replace(stability, looks=stability.looks[:3])
    home = site_of(replace(BOOK, stability={**BOOK.stability, "SBC-260109-4M": once}))
    assert "watched longest is [C3]" in text("markdown/index.md", home)


def test_an_ingredient_says_where_it_is_used_and_who_says_so() -> None:
    page = text("ingredients/sodium-benzoate.html")
    assert '<a href="../formulas/SBC.html">Studio hand cream</a>: 0.50 % in phase B' in page
    assert "4.21" in page
    assert "J Res NBS 71A:379 (1967)" in page
    gone = text("markdown/ingredients/isopropyl-myristate.md")
    assert "until SBC@4; not in SBC@5" in gone


def test_the_archive_holds_every_version_batch_and_entry() -> None:
    year = text("markdown/archive/2026.md")
    journal = published(FULL)
    for made in journal.batches:
        assert f"(../batches/{made.batch.id}.md)" in year
    for one in journal.formulas:
        for version in one.versions:
            assert f"[{version.name}](" in year
    assert "[A pool](" in year
    assert "[No day](" in text("markdown/archive.md")


def test_a_long_year_has_a_page_for_each_month(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "LONG", 10)
    found = site_of(FULL)
    year = text("markdown/archive/2026.md", found)
    assert "- [March](../archive/2026-03.md): " in year
    assert broken_links(found.files, PICTURES) == []
    assert unreached(found.files) == set()
    months = [text(path, found) for path in found.files if "markdown/archive/2026-" in path]
    assert months[0].startswith("# January 2026\n\n- ")

    def lines(*pages: str) -> list[str]:
        every = (line.rstrip() for page in pages for line in page.splitlines())
        return sorted(line for line in every if line.startswith("- "))

    assert lines(*months) == lines(text("markdown/archive/2026.md"))


def test_a_formula_has_a_draft_for_the_label_and_its_cautions() -> None:
    page = text("markdown/formulas/SBC.md")
    label = page.split("## A draft for the label")[1]
    assert label.split("\n\n")[1].startswith("Aqua, Helianthus Annuus Seed Oil, ")
    assert "qualified assessor" in label
    assert "Sodium benzoate: Fine powder" in page.split("## To mind")[1]


def test_errata_stand_on_their_page_and_in_the_list() -> None:
    assert "Corrected after it was published" in text(f"batches/{BATCH}.html")
    assert "sunflower-oil, mass: 12 g → 13 g (1 March 2026)" in text(f"batches/{BATCH}.html")
    assert "a &lt;slip&gt;" in text("formulas/SBC-3.html")
    listed = text("corrections.html")
    assert [listed.index(word) for word in ("12 g", "a &lt;slip&gt;", "density")] == sorted(
        listed.index(word) for word in ("12 g", "a &lt;slip&gt;", "density")
    )
    assert "corrections.html" in text("formulas/SHL.html")
    assert "corrections.html" not in site_of(FULL, ()).files


def test_photos_stand_in_rows_by_jar_in_the_order_of_time() -> None:
    page = text(f"batches/{BATCH}.html")
    tree = tree_of(page.encode())
    rows = [[img.get("src") for img in one.iter("img")] for one in tree.iter("div")
            if one.get("class") == "photos"]  # fmt: skip
    first, second, third, fourth = (f"../photos/small/{one.file}" for one in PHOTOS.photos)
    assert rows == [[second, first], [third, fourth]]
    images = list(tree.iter("img"))
    assert {one.get("loading") for one in images} == {"lazy"}
    assert [one.get("alt") for one in images[:2]] == [
        "Photo of 9T.1, day 11", "Photo of 9T.1, day 14",
    ]  # fmt: skip
    captions = ["".join(one.itertext()) for one in tree.iter("figcaption")]
    assert captions == [
        "day 11: a pool", "day 14: a pool", 'day 12: "big" [x](y) <b>', "step 3, combine: poured",
    ]  # fmt: skip
    entry = tree_of(SITE.files["entries/a.html"])
    assert [one.get("src") for one in entry.iter("img")] == rows[0]


_SLOPPY = re.compile(r", \.|: \.|; \.|\(\)|\( | \)(?!\S)|(?<!\.)\.\.(?![./])|\w ,|,,|  \.")


def test_no_sentence_shows_where_something_was_left_out() -> None:
    """As `No day, .` where an entry has no date."""
    for path, raw in SITE.files.items():
        if path.endswith(".md"):
            lines = raw.decode().splitlines()
            assert [line for line in lines if _SLOPPY.search(line)] == [], path
            quoted = [at for at, line in enumerate(lines) if line.startswith("> ")]
            assert all(lines[at - 1] == "" or lines[at - 1][0] == ">" for at in quoted), path


# The feed is there only where its place is known --------------------------------------------------


def test_there_is_a_feed_only_where_the_notebook_says_where_its_site_stands() -> None:
    assert feed.FILE in SITE.files
    assert f'href="{feed.FILE}"' in text("index.html")
    without = site_of(replace(FULL, settings=replace(FULL.settings, site_url=None)))
    assert feed.FILE not in without.files
    assert all(feed.FILE.encode() not in raw for raw in without.files.values())


# Parts --------------------------------------------------------------------------------------------


def changed_books() -> Iterator[tuple[str, Book]]:
    batches, formulas = dict(FULL.batches), dict(FULL.formulas)
    batch = batches[BATCH]
    notes = replace(batch, notes="Other words.")
    yield "a batch's notes", replace(FULL, batches={**batches, BATCH: notes})
    hidden = replace(batch, public="no")
    yield "a batch made private", replace(FULL, batches={**batches, BATCH: hidden})
    title = replace(formulas["SBC"], title="Another name")
    yield "a formula's title", replace(FULL, formulas={**formulas, "SBC": title})
    limits = replace(formulas["SBC"], acceptance=())
    yield "a formula's limits", replace(FULL, formulas={**formulas, "SBC": limits})
    looks = FULL.stability[BATCH]
    fewer = replace(looks, looks=looks.looks[:2])
    yield "fewer looks", replace(FULL, stability={**FULL.stability, BATCH: fewer})
    later = replace(looks, looks=(*looks.looks, replace(looks.looks[-1], id="o99",
                    time=datetime(2027, 1, 1, tzinfo=UTC), planned=Quantity("300", "d"))))  # type: ignore[arg-type]  # fmt: skip
    yield "a later look", replace(FULL, stability={**FULL.stability, BATCH: later})
    name = "sodium-benzoate"
    sheet = replace(FULL.ingredients[name], title="Benzoate", cautions=())
    yield "a sheet", replace(FULL, ingredients={**FULL.ingredients, name: sheet})
    yield "an entry's title", replace(FULL, entries=(replace(ENTRIES[0], title="Z"), *ENTRIES[1:]))
    yield "an entry gone", replace(FULL, entries=ENTRIES[1:])
    yield "no photos", replace(FULL, photos={})
    versions = FULL.versions["SBC"]
    said = (*versions[:2], replace(versions[2], subject="said otherwise"), *versions[3:])
    yield "words of a version", replace(FULL, versions={**FULL.versions, "SBC": said})


def keyed(book: Book, errata: tuple[Erratum, ...] = ERRATA) -> dict[str, tuple[str, object]]:
    """Each page's key, and its files."""
    journal = published(book)
    writer = Writer(shelf_of(journal), MARKDOWN, HTML, errata)
    parts = parts_of(journal, paths_key(writer.paths))
    base = base_of(journal.settings, (MARKDOWN, HTML), "program", errata=bool(errata))
    return {one.path: (key_of(one, parts, base), writer.written(one)) for one in writer.plan()}


BEFORE = keyed(FULL)


CHANGED = dict(changed_books())


@pytest.mark.parametrize("what", sorted(CHANGED))
def test_a_page_whose_parts_are_the_same_has_the_same_bytes(what: str) -> None:
    now = keyed(CHANGED[what])
    same = {path for path in now if path in BEFORE and now[path][0] == BEFORE[path][0]}
    assert same, what
    for path in same:
        assert now[path][1] == BEFORE[path][1], (what, path)
    assert len(same) < len(now)


def test_a_change_of_one_batch_leaves_most_pages_alone() -> None:
    now = keyed(CHANGED["a batch's notes"])
    other = {path for path in now if now[path][0] != BEFORE[path][0]}
    assert {path for path in other if path.startswith("batches/")} == {f"batches/{BATCH}"}
    assert {path for path in other if path.startswith("ingredients/")} == set()
    assert {path for path in other if path.startswith("formulas/")} == {
        "formulas/SBC", "formulas/SBC-2",
    }  # fmt: skip


def test_the_same_input_gives_the_same_bytes() -> None:
    assert site_of(FULL).files == SITE.files
    assert search.FILE in SITE.files
