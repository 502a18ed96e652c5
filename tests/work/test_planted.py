"""A secret in every private field of every file: in no byte that a build leaves, nor in git.

Filters broken on purpose show that each place is looked at.
"""

import json
import shutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from labbook.journal import larder, publish
from labbook.journal.errata import taken_apart
from labbook.notebook import gitpages, photo_copies
from labbook.work import journal_book
from labbook.work.bench import Bench
from labbook.work.journal import chapters_of, check
from labbook.work.pages_branch import build_branch
from labbook.work.served import build_served, served_folder
from labbook.work.site import build, state_in
from tests.work.planted import SHOW_NOTHING, Planted


def records(bench: Bench) -> bytes:
    """The public records that pages are made of, as text."""
    shelf = chapters_of(bench).shelf()
    return repr((shelf.entries, shelf.sheets, shelf.take(shelf.outlines))).encode()


def everything(folder: Path) -> bytes:
    files = [one for one in sorted(folder.rglob("*")) if one.is_file()]
    return b"\n".join(str(one.relative_to(folder)).encode() + one.read_bytes() for one in files)


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory) -> Planted:
    return Planted(tmp_path_factory.mktemp("planted") / "notebook")


@pytest.fixture
def bench(planted: Planted, monkeypatch: pytest.MonkeyPatch) -> Bench:
    monkeypatch.setattr(journal_book, "read_entries", lambda root: planted.entries)
    return planted.bench()


def test_the_walk_plants_what_it_should(planted: Planted) -> None:
    fields = set(planted.private().values())
    assert {"Lot.supplier", "Jar.given_to", "Batch.maker", "Photo.original", "git.email"} <= fields
    assert {name.partition(".")[0] for name in fields} >= {"Reaction", "Protocol", "Selector"}
    hidden = {name for name in fields if name.startswith("hidden ")}
    assert {"hidden Formula.title", "hidden Batch.aim", "hidden Look.note"} <= hidden
    assert len(fields - hidden) > 80
    assert len(hidden) > 130


# Nowhere ------------------------------------------------------------------------------------------


def test_no_secret_is_in_the_site_with_its_search_and_feed(
    planted: Planted, bench: Bench, tmp_path: Path
) -> None:
    built = build(bench, tmp_path / "site")
    raw = everything(tmp_path / "site")
    names = {one.name for one in (tmp_path / "site").rglob("*")}
    assert {"search-index.js", "published.json", "feed.xml"} <= names
    assert planted.told(raw) == []
    assert b"secret" in raw  # what is public was planted as well
    photos = [one.name for one in (tmp_path / "site/photos").glob("*.jpg")]
    assert photos == [next(iter(planted.pictures))]
    shown = {one.what.split("“")[1].split("”")[0] for one in built.state.problems
             if one.rule == "broken-block"}  # fmt: skip
    assert shown == SHOW_NOTHING


def test_no_secret_is_in_the_records_that_pages_are_made_of(planted: Planted, bench: Bench) -> None:
    raw = records(bench)
    assert b"SBC" in raw
    assert planted.told(raw) == []


def test_no_secret_is_in_any_object_of_the_branch(planted: Planted, bench: Bench) -> None:
    build_branch(bench, "pages")
    raw = planted.reachable()
    assert b"The journal as it is published" in raw
    assert b"http://www.w3.org/2005/Atom" in raw
    assert planted.told(raw) == []


def test_no_secret_is_served(planted: Planted, bench: Bench) -> None:
    served = build_served(bench)
    raw = b"\n".join((served_folder(bench) / path).read_bytes() for path in served.files)
    assert planted.told(raw) == []


def test_errata_tell_no_secret(planted: Planted, bench: Bench, tmp_path: Path) -> None:
    build(bench, tmp_path / "site")
    last = state_in(tmp_path / "site")
    figures = {
        part: json.dumps({key: f"{value}0" for key, value in taken_apart(of).items()})
        for part, of in last.figures.items()
    }
    build(bench, tmp_path / "site", replace(last, figures=figures))
    raw = everything(tmp_path / "site")
    assert b"corrections.html" in raw
    assert planted.told(raw) == []


def test_check_names_no_private_field(planted: Planted, bench: Bench, tmp_path: Path) -> None:
    found = check(bench, state_in(tmp_path))
    assert found.new
    assert planted.told(repr((found.new, found.things)).encode()) == []


# The watch sees each of them ----------------------------------------------------------------------

Break = Callable[[pytest.MonkeyPatch], None]


def _anything(*_: Any, **__: Any) -> bool:
    return True


def _unredacted(patch: pytest.MonkeyPatch) -> None:
    for module in (publish, larder):
        patch.setattr(module, "redacted", lambda value: value)


def _every_photo(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(publish, "_photos", lambda photos: photos.photos if photos else ())


def _every_entry(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(publish, "public_entries", lambda book: book.entries)


BROKEN: Mapping[str, tuple[Break, str]] = {
    "fields": (_unredacted, "Jar.given_to"),
    "formulas": (lambda patch: patch.setattr(publish, "is_public", _anything),
                 "hidden Formula.title"),
    "batches": (lambda patch: patch.setattr(publish, "batch_is_public", _anything),
                "hidden Batch.aim"),
    "entries": (_every_entry, "hidden.text"),
    "photos": (_every_photo, "hidden Photo.caption"),
    "pictures": (_every_photo, "picture 2"),
    "remarks in a picture": (lambda patch: patch.setattr(photo_copies, "is_bare", _anything),
                             "picture.remark"),
    "words behind a picture": (lambda patch: patch.setattr(photo_copies, "is_bare", _anything),
                               "picture.tail"),
    "premixes": (lambda patch: patch.setattr(
        larder.Larder, "_is_whole", lambda *_: False), "hidden Line.ingredient"),
}  # fmt: skip


@pytest.fixture
def forgetful(planted: Planted) -> Iterator[None]:
    """Nothing is known from other builds, and no other build will know of this one."""
    kept = planted.root / ".git/labbook"
    shutil.rmtree(kept, ignore_errors=True)
    yield
    shutil.rmtree(kept, ignore_errors=True)


@pytest.mark.usefixtures("forgetful")
@pytest.mark.parametrize("what", BROKEN)
def test_a_filter_that_lets_it_through_is_seen(
    planted: Planted, bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    breaks, field = BROKEN[what]
    breaks(monkeypatch)
    build(bench, tmp_path / "site")
    raw = records(bench) if what == "fields" else everything(tmp_path / "site")
    assert field in planted.told(raw)


def test_a_branch_that_took_more_than_the_pages_is_seen(
    planted: Planted, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = gitpages.commit_pages

    def more(root: Path, branch: Any, files: Mapping[str, Path], when: Any) -> str | None:
        return plain(root, branch, {**files, "more.md": planted.root / "secret.txt"}, when)

    monkeypatch.setattr(gitpages, "commit_pages", more)
    build_branch(bench, "pages")
    assert planted.told(planted.reachable()) == ["file.text"]
