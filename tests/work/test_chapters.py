"""The journal of a notebook of files: what changes in a file is in the next build, nothing else."""

import shutil
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from labbook.journal import state
from labbook.journal.book import Book
from labbook.work import chapters
from labbook.work.bench import Bench
from labbook.work.journal import chapters_of
from labbook.work.site import build
from tests.benchmarks.notebooks import Size, write

DAY = datetime(2026, 4, 16, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = write(tmp_path_factory.mktemp("begun") / "nb", Size(3, 3, 9))
    for path in (root / "formulas").iterdir():
        path.write_text(f'{path.read_text()}public: "with batches"\n')
    return root


@pytest.fixture
def root(begun: Path, tmp_path: Path) -> Path:
    shutil.copytree(begun, tmp_path / "nb")
    return tmp_path / "nb"


def tree(folder: Path) -> dict[str, bytes]:
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def built(root: Path) -> Path:
    build(Bench(root, DAY), root / "site")
    return root / "site"


def anew(root: Path, before: state.Published) -> dict[str, bytes]:
    """A build that knows nothing, into an empty folder."""
    shutil.rmtree(root / ".git" / "labbook")
    build(Bench(root, DAY), root / "other", before)
    found = tree(root / "other")
    shutil.rmtree(root / "other")
    return found


def replaced(pattern: str, old: str, new: str) -> Callable[[Path], None]:
    def change(root: Path) -> None:
        path = sorted(root.glob(pattern))[0]
        text = path.read_text()
        assert old in text
        path.write_text(text.replace(old, new, 1))

    return change


def _commit(root: Path) -> None:
    who = ("-c", "user.name=a", "-c", "user.email=a@example.org")
    subprocess.run(["git", *who, "commit", "-qam", "F000@4: saved"], cwd=root, check=True)


def saved(root: Path) -> None:
    """Another content under the next number."""
    replaced("formulas/F000.yaml", "version: 3", "version: 4")(root)
    replaced("formulas/F000.yaml", "glycerin, percent: 3", "glycerin, percent: 2")(root)
    _commit(root)


def renamed(root: Path) -> None:
    (root / "formulas/F001.yaml").rename(root / "formulas/ZZ.yaml")
    replaced("formulas/ZZ.yaml", "code: F001", "code: ZZ")(root)


def gone(root: Path) -> None:
    shutil.rmtree(sorted(root.glob("batches/*/*"))[1])


def entry(root: Path) -> None:
    (root / "journal").mkdir()
    ending = sorted(root.glob("batches/*/*"))[0].name
    text = f"---\npublic: yes\n---\n\n```labbook\nshow {ending}\n```\n\n```labbook\nlog F002\n```\n"
    (root / "journal/2026-04-01-a.md").write_text(text)


CHANGES = {
    "a batch's aim": replaced("batches/*/*/batch.yaml", "one figure moved", "another aim"),
    "a look": replaced("batches/*/*/stability.yaml", "grade: 0", "grade: 2, modes: [grains]"),
    "a jar's place": replaced("batches/*/*/jars.yaml", "cupboard", "shelf"),
    "a sheet": replaced("ingredients/glycerin.yaml", "Glycerin", "Glycerol"),
    "a limit": replaced("formulas/F002.yaml", "worst grade: 1", "worst grade: 0"),
    "a formula made private": replaced("formulas/F001.yaml", "with batches", "no"),
    "the title": replaced("labbook.yaml", "Large notebook", "Notebook"),
    "a version saved": saved,
    "a new code": renamed,
    "a batch that is gone": gone,
    "an entry": entry,
}


def test_after_each_change_of_files_the_site_is_as_if_written_anew(root: Path) -> None:
    folder = built(root)
    for count, (what, change) in enumerate(CHANGES.items()):
        before = state.read((folder / state.FILE).read_bytes())
        change(root)
        built(root)
        if count % 3 == 2 or count == len(CHANGES) - 1:  # what comes between is seen then too
            now = tree(folder)
            kept = {p: raw for p, raw in anew(root, before).items() if p != state.FILE}
            assert {p: raw for p, raw in now.items() if p != state.FILE} == kept, what


def test_a_change_of_one_batch_reads_its_own_formula_alone(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    built(root)
    looked = []
    plain = chapters.chapter_of

    def noted(book: Book, private: Any, claiming: Any, id_: str) -> chapters.Chapter:
        looked.append(id_)
        return plain(book, private, claiming, id_)

    monkeypatch.setattr(chapters, "chapter_of", noted)
    assert len(chapters_of(Bench(root, DAY))) == 3
    assert looked == []
    CHANGES["a look"](root)
    chapters_of(Bench(root, DAY))
    assert looked == ["f-000000"]


@pytest.mark.parametrize("raw", [b"no database", b""])
def test_a_file_of_what_is_kept_that_is_damaged_is_made_anew(root: Path, raw: bytes) -> None:
    before = tree(built(root))
    for path in (root / ".git" / "labbook").glob("*.sqlite"):
        path.write_bytes(raw)
    assert tree(built(root)) == before


def test_of_a_formula_that_is_gone_nothing_is_kept(root: Path) -> None:
    assert set(chapters_of(Bench(root, DAY))) == {"f-000000", "f-000001", "f-000002"}
    (root / "formulas/F001.yaml").unlink()
    for path in root.glob("batches/*/F001-*"):
        shutil.rmtree(path)
    assert "f-000001" not in chapters_of(Bench(root, DAY))
    (kept,) = (root / ".git/labbook").glob("chapters-*.sqlite")
    with closing(sqlite3.connect(kept)) as db:
        ids = db.execute("select id from kept order by id").fetchall()
    assert ids == [("f-000000",), ("f-000002",)]
