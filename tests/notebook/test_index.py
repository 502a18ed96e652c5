"""The index gives what a cold reading gives, whatever happened to files, index and processes."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest

from labbook.evidence.due import due_looks
from labbook.model.codec import to_json
from labbook.notebook.folder import record_paths
from labbook.notebook.index import store as store_module
from labbook.notebook.index.batches import NEVER, UNWATCHED
from labbook.notebook.index.scan import UNTOLD, believed, scan
from labbook.notebook.readfile import read_bytes
from labbook.notebook.snapshot import Snapshot
from labbook.work.batches import list_batches
from labbook.work.bench import Bench
from labbook.work.due import due, watch_of
from labbook.work.outcome_table import outcomes
from labbook.work.rows import may_be_due
from tests.benchmarks.notebooks import Size, write
from tests.work.notebooks import small_notebook


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("index") / "made", Size(3, 3, 12))


@pytest.fixture
def root(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "book"))


def _index(root: Path) -> Path:
    return root / ".git" / "labbook" / "index.sqlite"


def _cold(root: Path, clock: datetime | None = None) -> Bench:
    """The notebook read from its files alone, without any index."""
    bench = Bench(root, clock)
    files = {path: read_bytes(path, (root / path).read_bytes()) for path in record_paths(root)}
    bench.__dict__["snapshot"] = Snapshot(root, files)
    return bench


def _answers(bench: Bench) -> list[Any]:
    """What commands say: the files as read, lists, the calendar, outcomes."""
    snapshot = bench.snapshot
    found: list[Any] = [(path, held.as_json()) for path, held in snapshot.files.items()]
    found += [to_json(list_batches(bench, dropped=True)), to_json(due(bench, ahead=40))]
    found += [to_json(outcomes(bench, code)) for code in snapshot.formulas]
    found += [bench.open_batches(), snapshot.problems]
    return found


def _agrees(root: Path) -> None:
    assert _answers(Bench(root)) == _answers(_cold(root))


# What a hand does to files -----------------------------------------------------------------------


def _files(root: Path, name: str) -> list[Path]:
    return sorted(root.rglob(name))


def _swap(name: str, old: str, new: str) -> Callable[[Path, Random], None]:
    def change(root: Path, chance: Random) -> None:
        files = _files(root, name)
        if files:
            file = chance.choice(files)
            file.write_text(file.read_text("utf-8").replace(old, new), "utf-8")

    return change


def _same_stat(root: Path, chance: Random) -> None:
    """As long as before and with the old time of change, as some tools leave a file."""
    file = chance.choice(_files(root, "stability.yaml"))
    told = file.stat()
    file.write_text(file.read_text("utf-8").replace("grade: 0", "grade: 4"), "utf-8")
    os.utime(file, ns=(told.st_atime_ns, told.st_mtime_ns))


def _taken_away(root: Path, chance: Random) -> None:
    chance.choice(_files(root, "stability.yaml")).unlink()


def _batch_gone(root: Path, chance: Random) -> None:
    shutil.rmtree(chance.choice(_files(root, "batch.yaml")).parent)


def _batch_copied(root: Path, chance: Random) -> None:
    folder = chance.choice(_files(root, "batch.yaml")).parent
    new = folder.with_name(folder.name[:-2] + chance.choice(("Z9", "9Z", "Y8")))
    if not new.exists():
        shutil.copytree(folder, new, symlinks=True)


def _formula_renamed(root: Path, chance: Random) -> None:
    file = chance.choice(sorted((root / "formulas").glob("*.yaml")))
    new = file.with_name(f"R{chance.randrange(9)}.yaml")
    file.rename(new)
    new.write_text(new.read_text("utf-8").replace(f"code: {file.stem}", f"code: {new.stem}"))


def _link(root: Path, chance: Random) -> None:
    file = chance.choice(_files(root, "jars.yaml"))
    if not file.is_symlink():
        file.rename(file.with_name("elsewhere"))
        file.symlink_to("elsewhere")


CHANGES: tuple[Callable[[Path, Random], None], ...] = (
    _swap("stability.yaml", "grade: 0", "grade: 3"),
    _swap("stability.yaml", "looks:", "looks: ["),
    _swap("jars.yaml", "protocol: home", "protocol: none"),
    _swap("jars.yaml", "room", "fridge"),
    _swap("jars.yaml", "stays:", 'done: [{id: "z1", jar: "1", time: 2026-04-01}]\nstays:'),
    _swap("batch.yaml", "state: closed", "state: open"),
    _swap("batch.yaml", "size: 100 g", 'dropped: {time: 2026-04-01, why: "spilt"}\nsize: 100 g'),
    _swap("batch.yaml", "id: F", "id: G"),
    _swap("F*.yaml", "worst grade: 1", "worst grade: 3"),
    _swap("F*.yaml", "protocol: home", ""),
    _swap("home.yaml", "28 d", "27 d"),
    _swap("home.yaml", "28 d", "2000 d"),
    _swap("labbook.yaml", "protocol: home", "protocol: other"),
    _swap("labbook.yaml", "2026-04-16", "2026-04-02"),
    _same_stat, _taken_away, _batch_gone, _batch_copied, _formula_renamed, _link,
)  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_after_any_changes_the_index_answers_as_the_files_do(root: Path, seed: int) -> None:
    chance = Random(seed)
    _agrees(root)
    for _ in range(8):
        for change in chance.sample(CHANGES, chance.randrange(1, 4)):
            change(root, chance)
        _agrees(root)


def test_on_no_day_is_a_batch_thought_quiet_whose_look_is_due(root: Path) -> None:
    bench = Bench(root)
    for row in bench.rows:
        watch = watch_of(bench, bench.snapshot.batches[row.id])
        start = date.fromisoformat(row.made[:10])
        for day in (start + timedelta(days=n) for n in range(-2, 60)):
            if due_looks(watch, day, ahead=3):
                assert may_be_due(row, day + timedelta(days=3))
    assert {row.watch for row in bench.rows} - {NEVER, UNWATCHED}


def test_what_is_due_is_kept_for_one_day_and_until_a_file_changes(tmp_path: Path) -> None:
    root = small_notebook(tmp_path / "nb").root
    day = datetime(2026, 3, 9, 18, tzinfo=UTC)
    answers = []
    for when in (day, day, day + timedelta(days=7), day):
        answers.append(due(Bench(root, when)))
        assert answers[-1] == due(_cold(root, when))
    assert answers[0] == answers[1] == answers[3] != answers[2]
    assert answers[0].overdue or answers[0].today
    for file in root.rglob("jars.yaml"):
        file.unlink()
    assert due(Bench(root, day)) == due(_cold(root, day)) != answers[0]


# What happens to the index -----------------------------------------------------------------------


def _damaged(path: Path) -> None:
    raw = bytearray(path.read_bytes())
    raw[4096:12288] = b"\xa5" * 8192
    path.write_bytes(raw)


def _of_another_schema(path: Path) -> None:
    with sqlite3.connect(path) as db:
        db.execute("drop table file")
        db.execute("create table file (something text)")
        db.execute("pragma user_version = 1")


HARM: dict[str, Callable[[Path], object]] = {
    "gone": lambda path: path.unlink(),
    "empty": lambda path: path.write_bytes(b""),
    "no database": lambda path: path.write_bytes(b"words" * 4000),
    "cut off": lambda path: path.write_bytes(path.read_bytes()[:9000]),
    "damaged inside": _damaged,
    "of another schema": _of_another_schema,
}


@pytest.mark.parametrize("harm", HARM.values(), ids=HARM.keys())
def test_a_harmed_index_is_made_anew(root: Path, harm: Callable[[Path], object]) -> None:
    _agrees(root)
    harm(_index(root))
    _agrees(root)
    _agrees(root)


def test_another_program_reads_everything_itself(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _agrees(root)
    monkeypatch.setattr(store_module, "program_stamp", lambda: "another")
    _agrees(root)
    with sqlite3.connect(_index(root)) as db:
        assert db.execute("select distinct program from content").fetchall() == [("another",)]
        assert len(db.execute("select distinct book from file").fetchall()) == 1


def test_while_another_command_holds_the_index_changes_are_seen(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_module, "_WAIT", 0.05)
    _agrees(root)
    with sqlite3.connect(_index(root)) as other:
        other.execute("begin immediate")
        _swap("stability.yaml", "grade: 0", "grade: 3")(root, Random(1))
        _agrees(root)
        other.rollback()
    _agrees(root)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_in_a_folder_that_may_not_be_written(root: Path) -> None:
    folder = root / ".git"
    folder.chmod(0o500)
    try:
        _agrees(root)
    finally:
        folder.chmod(0o700)


def test_without_a_repository_everything_is_read_cold(root: Path) -> None:
    shutil.rmtree(root / ".git")
    _agrees(root)


def test_two_notebooks_in_one_repository_never_see_each_other(made: Path, tmp_path: Path) -> None:
    both = tmp_path / "both"
    subprocess.run(["git", "init", "-q", str(both)], check=True)
    ignored = shutil.ignore_patterns(".git")
    for name in ("one", "two"):
        shutil.copytree(made, both / name, ignore=ignored)
    _batch_gone(both / "two", Random(1))
    for _ in range(2):
        _agrees(both / "one")
        _agrees(both / "two")
    assert len(Bench(both / "one").rows) == len(Bench(both / "two").rows) + 1


def test_a_worktree_has_an_index_of_its_own(root: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    words = ["git", "-C", str(root), "worktree", "add", "-q", "--detach", str(other)]
    subprocess.run(words, check=True)
    _batch_gone(other, Random(1))
    _agrees(root)
    _agrees(other)


_BUSY = """
import sys
from pathlib import Path
from random import Random
from labbook.work.bench import Bench
root, number = Path(sys.argv[1]), int(sys.argv[2])
for turn in range(6):
    file = sorted(root.rglob("stability.yaml"))[number]
    file.write_text(file.read_text().replace(f"grade: {turn % 4}", f"grade: {(turn + 1) % 4}"))
    bench = Bench(root)
    assert len(bench.rows) == 12
    held = bench.snapshot.stability[file.parent.name]
    assert all(look.grade == (turn + 1) % 4 for look in held.looks if look.grade != 3), turn
"""


def test_several_processes_at_once(root: Path) -> None:
    _agrees(root)
    running = [
        subprocess.Popen([sys.executable, "-c", _BUSY, str(root), str(n)], stderr=subprocess.PIPE)
        for n in range(4)
    ]
    for process in running:
        _, said = process.communicate(timeout=120)
        assert process.returncode == 0, said.decode()
    _agrees(root)


# The scan ----------------------------------------------------------------------------------------


def test_the_scan_finds_the_files_that_a_walk_finds(root: Path) -> None:
    (root / "formulas" / ".hidden.yaml").write_text("x")
    (root / "batches" / "notes").mkdir()
    _link(root, Random(2))
    found = [path for group in scan(root).values() for path in group.paths]
    assert found == list(record_paths(root))


def test_a_stat_is_believed_only_some_time_after_the_change() -> None:
    second = 10**9
    old = (5 * second, 5 * second, 10, 1)
    assert believed(old, 8 * second) == old
    assert believed(old, 6 * second) == UNTOLD
    assert believed((5 * second, 7 * second, 10, 1), 8 * second) == UNTOLD
