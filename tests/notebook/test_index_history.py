"""History out of the index is the history that git tells, whatever was done to the branches."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path
from random import Random

import pytest

from labbook.notebook.git import Commit
from labbook.notebook.history import History
from labbook.notebook.index.commits import FORMULAS, CommitLog
from labbook.notebook.index.store import Store
from labbook.work.bench import Bench
from tests.benchmarks.notebooks import Size, write


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("history") / "made", Size(2, 3, 2))


@pytest.fixture
def root(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "book"))


def _git(root: Path, *words: str, check: bool = True) -> str:
    who = ("-c", "user.name=the potter", "-c", "user.email=potter@example.org")
    line = ["git", "-C", str(root), *who, *words]
    return subprocess.run(line, check=check, capture_output=True, encoding="utf-8").stdout.strip()


def _commit(root: Path, message: str) -> None:
    _git(root, "add", "-A")
    _git(root, "commit", "-q", "--allow-empty", "-m", message)


def _raised(root: Path, chance: Random) -> None:
    """A new number with a new content, which two branches can do alike."""
    file = chance.choice(sorted((root / "formulas").glob("*.yaml")))
    text = file.read_text("utf-8")
    at = text.index("version: ") + 9
    end = text.index("\n", at)
    text = f"{text[:at]}{int(text[at:end]) + 1}{text[end:]}"
    text = text.replace("{ingredient: beeswax, percent: ", "{ingredient: beeswax, percent: 1")
    file.write_text(text, "utf-8")
    _commit(root, f"{file.stem} raised {chance.random()}")


def _renamed(root: Path, chance: Random) -> None:
    file = chance.choice(sorted((root / "formulas").glob("*.yaml")))
    new = file.with_name(f"R{chance.randrange(99)}.yaml")
    if not new.exists():
        new.write_text(file.read_text("utf-8").replace(f"code: {file.stem}", f"code: {new.stem}"))
        file.unlink()
        _commit(root, "renamed")


def _sheet_renamed(root: Path, chance: Random) -> None:
    files = sorted((root / "ingredients").glob("*.yaml"))
    chance.choice(files).rename(root / "ingredients" / f"other-{chance.randrange(99)}.yaml")
    _commit(root, "another name")


def _merged(root: Path, chance: Random) -> None:
    """Another branch from some time ago, merged whichever side wins."""
    here = _git(root, "rev-parse", "HEAD")
    back = chance.randrange(1, 4)
    _git(root, "checkout", "-q", "--detach", f"HEAD~{back}", check=False)
    _raised(root, chance)
    there = _git(root, "rev-parse", "HEAD")
    _git(root, "checkout", "-q", here)
    _git(root, "merge", "-q", "-s", "ours", "-m", "both", there)


def _rewound(root: Path, chance: Random) -> None:
    _git(root, "reset", "-q", "--hard", f"HEAD~{chance.randrange(1, 3)}", check=False)


def _amended(root: Path, chance: Random) -> None:
    _git(root, "commit", "-q", "--amend", "-m", f"said otherwise {chance.random()}")


def _commits(root: Path) -> list[Commit]:
    return CommitLog(Store(root), FORMULAS).commits()


def _told(history: History) -> object:
    codes = sorted(history.versions)
    stories = [history.story(v.formula.id) for code in codes for v in history.of(code)]
    every = [history.contents(v) for code in codes for v in history.of(code)]
    return {code: history.of(code) for code in codes}, stories, every


def _agrees(root: Path, tmp_path: Path) -> None:
    apart = tmp_path / "cold"
    shutil.copytree(root, apart)
    shutil.rmtree(apart / ".git" / "labbook", ignore_errors=True)
    warm, cold = Bench(root), Bench(apart)
    assert _commits(root) == _commits(apart)
    assert _told(warm.history) == _told(cold.history)
    shutil.rmtree(apart)


DEEDS = (_raised, _raised, _raised, _renamed, _sheet_renamed, _merged, _rewound, _amended)


@pytest.mark.parametrize("seed", range(4))
def test_after_any_deeds_the_index_tells_what_git_tells(
    root: Path, tmp_path: Path, seed: int
) -> None:
    chance = Random(seed)
    _agrees(root, tmp_path)
    for _ in range(6):
        for deed in chance.sample(DEEDS, chance.randrange(1, 3)):
            deed(root, chance)
        _agrees(root, tmp_path)


def test_only_what_came_since_is_asked_for(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from labbook.notebook import git

    asked: list[str | None] = []
    whole = git.changes

    def spied(
        root: Path, revision: str | None, folder: str, *, since: str | None = None
    ) -> list[git.Commit]:
        asked.append(since)
        return whole(root, revision, folder, since=since)

    monkeypatch.setattr(git, "changes", spied)
    head = _git(root, "rev-parse", "HEAD")
    _commits(root)
    _commits(root)
    _raised(root, Random(1))
    _commits(root)
    assert asked == [None, head]


def test_a_shallow_history_grows_without_another_commit(root: Path, tmp_path: Path) -> None:
    part = tmp_path / "part"
    subprocess.run(["git", "clone", "-q", "--depth=2", f"file://{root}", str(part)], check=True)
    short = len(_commits(part))
    _git(part, "fetch", "-q", "--unshallow")
    assert len(_commits(part)) == len(_commits(root)) > short


def test_history_stays_of_one_commit_while_another_command_goes_elsewhere(root: Path) -> None:
    _raised(root, Random(3))
    history, told = Bench(root).history, _told(Bench(root).history)
    _rewound(root, Random(0))
    other = Bench(root).history
    assert _told(other) != told
    assert _told(history) == told
    assert _told(Bench(root).history) == _told(other)


def test_another_name_of_a_sheet_asks_only_for_contents_that_use_it(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from labbook.notebook.index import facts

    _told(Bench(root).history)
    asked: list[str] = []
    monkeypatch.setattr(facts, "read_blobs", lambda root, some, kind, store: asked.extend(some))
    (root / "ingredients" / "clay.yaml").write_text('id: "clay"\n', "utf-8")
    assert Bench(root).history.numbered("F000")
    assert not asked


def test_a_forked_process_asks_the_index_for_itself(root: Path) -> None:
    bench = Bench(root)
    told = [version.digest for version in bench.history.of("F000")]
    child = os.fork()
    if not child:
        bench.snapshot.files.reopen()  # type: ignore[attr-defined]
        bench.history.forget()
        same = told == [version.digest for version in bench.history.of("F000")]
        os._exit(0 if same and bench.snapshot.batches else 1)
    assert os.waitpid(child, 0)[1] == 0
    assert told == [version.digest for version in bench.history.of("F000")]
