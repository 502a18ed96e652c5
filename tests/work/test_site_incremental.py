"""After any change a build leaves what a build into an empty folder writes, byte for byte."""

import os
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from random import Random
from types import SimpleNamespace
from typing import Any

import pytest
from PIL import Image

from labbook.journal import publish, state
from labbook.journal.book import Book
from labbook.model.batch import Correction, Parent
from labbook.model.errors import NotAllowed
from labbook.model.photos import Photo, Photos
from labbook.model.results.telling import Built
from labbook.notebook import site_folder
from labbook.work import chapters, copies, journal, public_photos, site
from labbook.work.bench import Bench
from labbook.work.journal import templates
from tests.work.changed_book import KINDS, START

DAY = datetime(2026, 4, 16, 12, tzinfo=UTC)


class Desk:
    """A notebook of records that are changed under the builds, and where the sites stand."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.notebook = root / "notebook"
        (self.notebook / ".git").mkdir(parents=True)
        (self.notebook / "labbook.yaml").write_text("format: 1\ntitle: Studio\n")
        self.book: Book = START
        self.clock = DAY
        self.templates = templates()
        self.program = "one"
        self.count = 0

    def build(self, folder: Path, since: state.Published | None = None) -> Built:
        for entry in self.book.entries:  # where a broken block stands is read in the file
            file = self.notebook / entry.path
            file.parent.mkdir(exist_ok=True)
            file.write_text(entry.text, encoding="utf-8")
        return site.build(Bench(self.notebook, self.clock), folder, since)

    def full(self, since: state.Published) -> dict[str, bytes]:
        self.count += 1
        folder = self.root / f"full-{self.count}"
        self.build(folder, since)
        found = tree(folder)
        shutil.rmtree(folder)
        return found


def tree(folder: Path) -> dict[str, bytes]:
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    found = Desk(tmp_path)
    monkeypatch.setattr(journal, "book_of", lambda bench: found.book)
    monkeypatch.setattr(site, "templates", lambda: found.templates)
    monkeypatch.setattr(site, "program_that_writes", lambda: found.program)
    monkeypatch.setattr(chapters, "program_that_writes", lambda: found.program)
    monkeypatch.setattr(public_photos.PhotoFile, "copies", _copies)
    yield found


COPIES = public_photos.PhotoFile.copies


def _copies(photo: public_photos.PhotoFile) -> dict[str, bytes]:
    """Pictures whose bytes are their names."""
    return {f"photos/{small}{photo.file}": photo.file.encode() for small in ("", "small/")}


def changed(desk: Desk, kind: int, chance: Random) -> str:
    """Makes one change; the last kinds are of what isn't a record."""
    if kind < len(KINDS):
        desk.book = KINDS[kind](desk.book, chance)
        return KINDS[kind].__name__
    if kind == len(KINDS):
        desk.clock += timedelta(days=1)
        return "the next day"
    if kind == len(KINDS) + 1:
        markdown, html = desk.templates
        name = chance.choice(sorted(markdown))
        desk.templates = ({**markdown, name: f"{markdown[name]}\n"}, html)
        return f"template {name}"
    desk.program = str(chance.random())
    return "another program"


@pytest.mark.parametrize("seed", range(4))
def test_what_changes_is_written_and_all_is_as_if_written_anew(desk: Desk, seed: int) -> None:
    """50 changes and more in all seeds, each kind twice at least."""
    chance = Random(seed)
    folder = desk.root / "site"
    desk.build(folder)
    every = list(range(len(KINDS) + 3))
    chance.shuffle(every)
    for kind in every[seed % 2 :: 2]:
        before = state.read((folder / state.FILE).read_bytes())
        what = changed(desk, kind, chance)
        built = desk.build(folder)
        full = desk.full(before)
        assert tree(folder) == full, what
        assert built.left == ()
    again = desk.build(folder)
    assert (again.written, again.removed) == (0, 0)


def test_several_processes_write_what_one_writes(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.build(desk.root / "one")
    here = []
    plain = publish.published

    def noted(book: Book, codes: Any = None, larder: Any = None) -> publish.PublicJournal:
        here.append(codes)
        return plain(book, codes, larder)

    monkeypatch.setattr(chapters, "published", noted)
    monkeypatch.setattr(copies, "MANY", 2)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    shutil.rmtree(desk.notebook / ".git" / "labbook")  # nothing is known any more
    built = desk.build(desk.root / "several")
    # Each process has a list of its own; entries with blocks, claims and words are looked at here.
    assert {"SBC"} not in here
    assert tree(desk.root / "several") == tree(desk.root / "one")
    assert [one.rule for one in built.state.problems]  # a broken block is told from there too


# What is kept of a formula follows from more than its own records ---------------------------------


def must_be_as_anew(desk: Desk) -> dict[str, bytes]:
    folder = desk.root / "site"
    before = state.read((folder / state.FILE).read_bytes())
    desk.build(folder)
    found = tree(folder)
    assert found == desk.full(before)
    return found


def test_a_batch_that_another_formula_s_batch_names_becomes_private(desk: Desk) -> None:
    ids = {batch.short: id_ for id_, batch in desk.book.batches.items()}
    made = replace(desk.book.batches[ids["9T"]], from_=(Parent(batch=ids["P9"], how="rework"),))
    desk.book = replace(desk.book, batches={**desk.book.batches, made.id: made})
    desk.build(desk.root / "site")
    page = f"batches/{made.id}.html"
    assert b"P9" in tree(desk.root / "site")[page]
    hidden = replace(desk.book.batches[ids["P9"]], public="no")
    desk.book = replace(desk.book, batches={**desk.book.batches, hidden.id: hidden})
    assert b"P9" not in must_be_as_anew(desk)[page]


def test_a_note_links_to_a_page_of_another_formula_that_goes(desk: Desk) -> None:
    ids = {batch.short: id_ for id_, batch in desk.book.batches.items()}
    note = f"As [the failed one](../batches/{ids['9T']}.md)."
    made = replace(desk.book.batches[ids["P9"]], notes=note)
    desk.book = replace(desk.book, batches={**desk.book.batches, made.id: made})
    desk.build(desk.root / "site")
    page, link = f"batches/{made.id}.html", f"{ids['9T']}.html".encode()
    assert link in tree(desk.root / "site")[page]
    hidden = replace(desk.book.batches[ids["9T"]], public="no")
    desk.book = replace(desk.book, batches={**desk.book.batches, hidden.id: hidden})
    assert link not in must_be_as_anew(desk)[page]


def test_a_name_in_a_formula_means_another_sheet(desk: Desk) -> None:
    desk.build(desk.root / "site")
    sheets = dict(desk.book.ingredients)
    del sheets["beeswax"]
    sheets["plum-wax"] = replace(sheets["glycerin"], id="plum-wax", also=("beeswax",))
    desk.book = replace(desk.book, ingredients=sheets)
    found = must_be_as_anew(desk)
    assert "ingredients/plum-wax.html" in found
    assert "ingredients/beeswax.html" not in found


def test_a_change_of_one_batch_writes_few_files(desk: Desk) -> None:
    folder = desk.root / "site"
    whole = desk.build(folder)
    batch = desk.book.batches["SBC-260122-9T"]
    batches = {**desk.book.batches, batch.id: replace(batch, aim="another aim")}
    desk.book = replace(desk.book, batches=batches)
    assert 0 < desk.build(folder).written < whole.written / 4


@pytest.mark.parametrize("steps", [1, 7, 30, 80])
def test_a_killed_build_leaves_old_or_new_files_whole_and_the_next_one_ends_it(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, steps: int
) -> None:
    folder = desk.root / "site"
    desk.build(folder)
    old = tree(folder)
    before = state.read((folder / state.FILE).read_bytes())
    changed(desk, len(KINDS) + 1, Random(1))
    desk.book = KINDS[0](desk.book, Random(3))
    new = desk.full(before)
    left = SimpleNamespace(steps=steps)
    plain = site_folder.SiteFolder.put

    def killed(self: site_folder.SiteFolder, path: str, raw: bytes) -> bool:
        left.steps -= 1
        if left.steps < 0:
            raise KeyboardInterrupt
        return plain(self, path, raw)

    with monkeypatch.context() as patched:
        patched.setattr(site_folder.SiteFolder, "put", killed)
        with pytest.raises(KeyboardInterrupt):
            desk.build(folder)
    for path, raw in tree(folder).items():
        assert raw in (old.get(path), new.get(path)), path
    desk.book = START  # what the killed build wrote may be private by now
    built = desk.build(folder)
    assert built.left == ()
    assert tree(folder) == desk.full(before)


def test_a_folder_of_others_is_left_alone(desk: Desk) -> None:
    folder = desk.root / "theirs"
    folder.mkdir()
    (folder / "index.html").write_text("mine")
    with pytest.raises(NotAllowed, match="left alone"):
        desk.build(folder)
    assert tree(folder) == {"index.html": b"mine"}


def test_files_of_others_in_the_folder_stay(desk: Desk) -> None:
    folder = desk.root / "site"
    desk.build(folder)
    (folder / "CNAME").write_text("example.org")
    stale = folder / "batches/SBC-260122-9T.html"
    stale.write_text("changed by hand")
    desk.book = replace(
        desk.book,
        batches={k: v for k, v in desk.book.batches.items() if k != "SBC-260122-9T"},
    )
    built = desk.build(folder)
    assert built.left == ("batches/SBC-260122-9T.html",)
    assert stale.read_text() == "changed by hand"
    assert (folder / "CNAME").read_text() == "example.org"
    assert not (folder / "markdown/batches/SBC-260122-9T.md").exists()


def test_a_file_of_others_in_the_place_of_a_page_is_not_written_over(desk: Desk) -> None:
    folder = desk.root / "site"
    desk.build(folder)
    (folder / "entries/2026-03-02-private.html").write_text("mine")
    entries = tuple(replace(one, public="yes") for one in desk.book.entries)
    desk.book = replace(desk.book, entries=entries)
    with pytest.raises(NotAllowed, match="was there already"):
        desk.build(folder)
    assert (folder / "entries/2026-03-02-private.html").read_text() == "mine"


def test_a_page_changed_by_hand_is_written_again(desk: Desk) -> None:
    folder = desk.root / "site"
    desk.build(folder)
    whole = tree(folder)
    (folder / "batches/SBC-260122-9T.html").write_text("changed by hand")
    (folder / "index.html").unlink()
    assert desk.build(folder).written == 2
    assert tree(folder) == whole


def test_a_link_in_the_folder_is_not_followed(desk: Desk) -> None:
    folder = desk.root / "site"
    folder.mkdir()
    outside = desk.root / "outside"
    outside.mkdir()
    (folder / "batches").symlink_to(outside, target_is_directory=True)
    with pytest.raises(NotAllowed):
        desk.build(folder)
    assert tree(outside) == {}


def test_left_temporary_files_are_cleared(desk: Desk) -> None:
    folder = desk.root / "site"
    desk.build(folder)
    (folder / "batches" / ".labbook-tmp-0123456789abcdef").write_text("half")
    desk.build(folder)
    assert not any("tmp" in path for path in tree(folder))


def corrected(book: Book) -> Book:
    """A published weighing is corrected."""
    batch = book.batches["SBC-260109-4M"]
    weighed = batch.weighings[0]
    told = Correction(
        id="c1", of=weighed.id, key="mass", was=str(weighed.mass), now="2.34 g",
        why="misread the balance", time=DAY,
    )  # fmt: skip
    batches = {**book.batches, batch.id: replace(batch, corrections=(*batch.corrections, told))}
    return replace(book, batches=batches)


def test_an_erratum_is_told_since_the_publication_that_is_named(desk: Desk) -> None:
    desk.build(desk.root / "one")
    last = site.state_in(desk.root / "one")
    desk.book = corrected(desk.book)
    desk.build(desk.root / "two", last)
    desk.build(desk.root / "three", last)
    assert tree(desk.root / "two") == tree(desk.root / "three")
    page = tree(desk.root / "two")["corrections.html"]
    assert b"2.34" in page
    assert b"misread the balance" in page
    desk.build(desk.root / "four")
    assert "corrections.html" not in tree(desk.root / "four")


def test_the_state_reads_back_what_it_says(desk: Desk) -> None:
    desk.build(desk.root / "one")
    last = site.state_in(desk.root / "one")
    desk.book = corrected(desk.book)
    desk.build(desk.root / "two", last)
    raw = (desk.root / "two" / state.FILE).read_bytes()
    assert state.read(raw).errata
    assert state.written(state.read(raw)) == raw


def jpeg(**options: Any) -> bytes:
    out = BytesIO()
    Image.new("RGB", (900, 600), "tan").save(out, "JPEG", **options)
    return out.getvalue()


def test_only_pictures_as_they_were_recorded_are_published(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(public_photos.PhotoFile, "copies", COPIES)
    place = Image.Exif()
    place[0x010E] = "zqsecret: 51.5 N, 0.1 W"  # ImageDescription, Exif 2.3
    raws = [jpeg(), jpeg(exif=place), jpeg(comment=b"zqsecret")]
    names = [f"2026-01-09-{sha256(one).hexdigest()[:16]}.jpg" for one in raws]
    swapped, gone = "2026-01-09-1111111111111111.jpg", "2026-01-09-0000000000000000.jpg"
    photos = tuple(
        Photo(id=f"p{number}", file=name, original="0" * 64, time=DAY)
        for number, name in enumerate((*names, swapped, gone), start=1)
    )
    id_ = "SBC-260109-4M"
    folder = desk.notebook / "batches/2026" / id_
    folder.mkdir(parents=True)
    for name, raw in zip((*names, swapped), (*raws, raws[0]), strict=True):
        (folder / name).write_bytes(raw)
    desk.book = replace(desk.book, photos={id_: Photos(batch=id_, photos=photos)})
    built = desk.build(desk.root / "site")
    found = {path: raw for path, raw in tree(desk.root / "site").items() if "photos/" in path}
    assert set(found) == {f"photos/{names[0]}", f"photos/small/{names[0]}"}
    assert found[f"photos/{names[0]}"] == raws[0]
    with Image.open(BytesIO(found[f"photos/small/{names[0]}"])) as small:
        assert small.size == (400, 267)
    left_out = [p for p in built.state.problems if p.rule == "photo-not-published"]
    assert [one.place.path.rsplit("/", 1)[-1] for one in left_out] == [*names[1:], swapped, gone]
    assert b"zqsecret" not in b"".join(tree(desk.root / "site").values())
    again = desk.build(desk.root / "site")
    assert again.written == 0
    assert again.state.problems == built.state.problems
