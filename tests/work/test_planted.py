"""A secret in every private field of every file: in no byte that a build leaves, nor in git."""

import subprocess
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from labbook.journal.fields import PUBLIC
from labbook.model.entry import Entry
from labbook.model.kinds import KINDS
from labbook.model.rulebook import RuleBook
from labbook.model.versions import Version
from labbook.notebook.readfile import ReadFile
from labbook.notebook.snapshot import Snapshot
from labbook.work import journal
from labbook.work.bench import Bench
from labbook.work.journal import check
from labbook.work.pages_branch import build_branch
from labbook.work.served import build_served, served_folder
from labbook.work.site import build, state_in
from tests.journal.filled import book, filled

DAY = datetime(2026, 4, 16, 12, tzinfo=UTC)
FOLDER = "batches/2026/SBC-260203-4M"
PATHS = {
    **{kind: f"{FOLDER}/{kind}.yaml" for kind in KINDS},
    "notebook": "labbook.yaml",
    "formula": "formulas/SBC.yaml",
    "trial": f"{FOLDER}/formula.yaml",
}
BLOCKS = ("show SBC@2", "show 4m", "diff SBC 1 2", "log SBC", "outcomes SBC", "timeline SBC",
          "why 4m", "photos 4m", "trend SBC", "curve SBC")  # fmt: skip


class Planted:
    """A notebook in git whose every file, found by walking the kinds, is full of secrets."""

    def __init__(self, root: Path) -> None:
        self.words: dict[tuple[str, str], str] = {}
        self.root = root
        records = book(self.secret)
        files = {}
        for kind in KINDS.values():
            path, record = self._record(kind.name, kind.record, records)
            files[path] = ReadFile(path, kind.name, record, ())
        self.snapshot = Snapshot(root, files)
        self.snapshot.__dict__["rulebook"] = RuleBook()
        self.versions: Mapping[str, tuple[Version, ...]] = records.versions
        text = "\n\n".join(f"```labbook\n{one}\n```" for one in BLOCKS)
        self.entries = (
            *records.entries,
            Entry(path="journal/b.md", name="b", title="Blocks", public="yes", text=text),
            Entry(path="journal/c.md", name="c", title=self.secret("hidden", "title"),
                  text=self.secret("hidden", "text")),
        )  # fmt: skip
        (root / "journal").mkdir(parents=True)
        for one in self.entries:
            (root / one.path).write_text(one.text)
        (root / "secret.txt").write_text(self.secret("file", "text"))
        self._git("init", "-q", "--template=", "-b", "main")
        self._git("add", ".")
        who = ("-c", f"user.name={self.secret('git', 'name')}")
        mail = ("-c", f"user.email={self.secret('git', 'email')}@example.org")
        self._git(*who, *mail, "commit", "-q", "-m", self.secret("git", "message"))

    def secret(self, record: str, name: str) -> str:
        """A word of its own for each field."""
        return self.words.setdefault((record, name), f"zq{len(self.words):04d}secret")

    def _record(self, kind: str, record: type[Any], records: Any) -> tuple[str, Any]:
        """The path and the record of a kind: that of the book, or one filled whole."""
        if kind == "ingredient":
            name, sheet = next(iter(records.ingredients.items()))
            return f"ingredients/{name}.yaml", sheet
        if kind == "equipment":
            name, tool = next(iter(records.equipment.items()))
            return f"equipment/{name}.yaml", tool
        return PATHS[kind], filled(record, self.secret)

    def _git(self, *words: str) -> bytes:
        return subprocess.run(
            ["git", *words], cwd=self.root, check=True, capture_output=True
        ).stdout

    def bench(self) -> Bench:
        """A bench whose notebook is this one."""
        bench = Bench(self.root, DAY)
        bench.__dict__["snapshot"] = self.snapshot
        bench.__dict__["history"] = SimpleNamespace(versions=self.versions)
        return bench

    def private(self) -> dict[str, str]:
        """Every word that may be nowhere, with the field that it stands in."""
        allowed = {record.__name__: names for record, names in PUBLIC.items()}
        return {
            word: f"{record}.{name}"
            for (record, name), word in self.words.items()
            if name.removesuffix(" key") not in allowed.get(record, frozenset())
        }

    def reachable(self) -> bytes:
        """Every object that somebody gets with the branch of pages."""
        listed = self._git("rev-list", "--objects", "--no-object-names", "pages")
        said = subprocess.run(
            ["git", "cat-file", "--batch"], cwd=self.root, input=listed, capture_output=True,
            check=True,
        )  # fmt: skip
        return said.stdout


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory) -> Planted:
    return Planted(tmp_path_factory.mktemp("planted") / "notebook")


@pytest.fixture
def bench(planted: Planted, monkeypatch: pytest.MonkeyPatch) -> Bench:
    monkeypatch.setattr(journal, "read_entries", lambda root: planted.entries)
    return planted.bench()


def everything(folder: Path) -> bytes:
    files = [one for one in sorted(folder.rglob("*")) if one.is_file()]
    return b"\n".join(str(one.relative_to(folder)).encode() + one.read_bytes() for one in files)


def told(planted: Planted, raw: bytes) -> list[str]:
    return [field for word, field in planted.private().items() if word.encode() in raw]


def test_the_walk_plants_what_it_should(planted: Planted) -> None:
    fields = set(planted.private().values())
    assert {"Lot.supplier", "Jar.given_to", "Batch.maker", "Photo.original", "git.email"} <= fields
    assert {name.partition(".")[0] for name in fields} >= {"Reaction", "Protocol", "Selector"}
    assert len(fields) > 80


def test_no_secret_is_in_the_site_with_its_search_and_feed(
    planted: Planted, bench: Bench, tmp_path: Path
) -> None:
    built = build(bench, tmp_path / "site")
    raw = everything(tmp_path / "site")
    names = {one.name for one in (tmp_path / "site").rglob("*")}
    assert {"search-index.js", "published.json"} <= names
    assert told(planted, raw) == []
    assert b"secret" in raw  # what is public was planted as well
    shown = [one.what for one in built.state.problems if one.rule == "broken-block"]
    assert len(shown) < len(BLOCKS) / 2, shown


def test_no_secret_is_in_any_object_of_the_branch(planted: Planted, bench: Bench) -> None:
    build_branch(bench, "pages")
    raw = planted.reachable()
    assert b"The journal as it is published" in raw
    assert told(planted, raw) == []


def test_no_secret_is_served(planted: Planted, bench: Bench) -> None:
    served = build_served(bench)
    raw = b"\n".join((served_folder(bench) / path).read_bytes() for path in served.files)
    assert told(planted, raw) == []


def test_errata_tell_no_secret(planted: Planted, bench: Bench, tmp_path: Path) -> None:
    build(bench, tmp_path / "site")
    last = state_in(tmp_path / "site")
    figures = {
        part: {key: f"{value}0" for key, value in of.items()} for part, of in last.figures.items()
    }
    build(bench, tmp_path / "site", replace(last, figures=figures))
    raw = everything(tmp_path / "site")
    assert b"corrections.html" in raw
    assert told(planted, raw) == []


def test_check_names_no_private_field(planted: Planted, bench: Bench, tmp_path: Path) -> None:
    found = check(bench, state_in(tmp_path))
    assert found.new
    assert told(planted, repr((found.new, found.things)).encode()) == []
