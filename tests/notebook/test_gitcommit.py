"""Commits of just the named paths, and the environment that git gets."""

import os
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from labbook.model.errors import GitRefused
from labbook.notebook import git, gitcommit, gitrun
from tests.notebook.repos import (
    commit,
    dead_process,
    git_says,
    hook,
    put,
    repository,
    run_git,
    run_script,
    subjects,
)

WHEN = datetime(2026, 2, 5, 12, 0, tzinfo=UTC)


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return repository(tmp_path / "nb")


# Committing -------------------------------------------------------------------------------------


def test_only_the_named_paths_are_committed_and_what_was_staged_stays(root: Path) -> None:
    for name in ("mine", "staged", "changed", "gone"):
        put(root, name, "1")
    commit(root, "one")
    for name in ("mine", "staged", "changed"):
        put(root, name, "2")
    run_git(root, "add", "staged")
    put(root, "*", "a file with a pattern's name")
    (root / "gone").unlink()
    new = git.commit_paths(root, ["mine", "gone", "*", "never-there"], "two\n", when=WHEN)
    assert git_says(root, "show", "--format=", "--name-status", "--no-renames", str(new)) == (
        "A\t*\nD\tgone\nM\tmine"
    )
    assert git_says(root, "diff", "--cached", "--name-only") == "staged"
    assert git_says(root, "diff", "--name-only") == "changed"
    stamp = int(WHEN.timestamp())
    assert git_says(root, "log", "-1", "--format=%at %ct") == f"{stamp} {stamp}"


def test_a_file_that_git_ignores_is_committed_all_the_same(root: Path) -> None:
    put(root, ".gitignore", "*.yaml\n")
    put(root, "a.yaml", "1")
    assert git.dirty(root, ["a.yaml"]) == {"a.yaml"}
    assert git.commit_paths(root, ["a.yaml"], "one\n")
    assert git.dirty(root, ["a.yaml"]) == set()


def test_unchanged_files_make_no_commit(root: Path) -> None:
    put(root, "a", "1")
    first = git.commit_paths(root, ["a"], "one\n")
    assert git.commit_paths(root, ["a"], "two\n") is None
    assert git.commit_paths(root, ["never-there"], "two\n") is None
    assert git.commit_paths(root, [], "two\n") is None
    assert git.head(root) == first


def test_a_hook_that_refuses_is_quoted(root: Path) -> None:
    hook(root, "pre-commit", "echo 'not on a Friday' >&2; exit 1")
    put(root, "a", "1")
    with pytest.raises(GitRefused, match="not on a Friday") as caught:
        git.commit_paths(root, ["a"], "one\n")
    assert caught.value.exit_code == 4
    assert git.head(root) is None


def test_hooks_see_the_persons_language(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LC_ALL", "C.UTF-8")
    hook(root, "post-commit", 'echo "$LC_ALL" > seen')
    put(root, "a", "1")
    git.commit_paths(root, ["a"], "one\n")
    assert (root / "seen").read_text() == "C.UTF-8\n"


def test_a_lock_that_goes_away_is_waited_for(root: Path) -> None:
    put(root, "a", "1")
    lock = put(root, ".git/index.lock", "")
    timer = threading.Timer(0.3, lock.unlink)
    timer.start()
    assert git.commit_paths(root, ["a"], "one\n") == git.head(root)
    timer.join()


def test_a_lock_that_stays_is_named_and_left(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gitcommit, "LOCK_PATIENCE", 0.2)
    put(root, "a", "1")
    lock = put(root, ".git/index.lock", "")
    with pytest.raises(GitRefused, match="Another git command") as caught:
        git.commit_paths(root, ["a"], "one\n")
    assert str(lock) in caught.value.mend
    assert lock.exists()


def test_only_locks_of_our_own_time_are_cleared(root: Path) -> None:
    lock = put(root, ".git/index.lock", "")
    mine = put(root, f".git/next-index-{dead_process()}.lock", "")
    theirs = put(root, f".git/next-index-{os.getpid()}.lock", "")
    now = time.time()
    place = git.must_stand(root)
    assert git.clear_dead_locks(place, now + 10, now + 60) == []
    os.utime(lock, (now - 100, now - 100))
    assert git.clear_dead_locks(place, now - 5, now + 60) == [mine.name]
    assert (lock.exists(), theirs.exists()) == (True, True)


# Versions and the seal --------------------------------------------------------------------------


def fake_git(folder: Path, says: str, monkeypatch: pytest.MonkeyPatch) -> None:
    file = put(folder, "git", f"#!/bin/sh\necho '{says}'\n")
    file.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")


@pytest.mark.parametrize("version", ["2.31.9", "1.9.0", "nonsense"])
def test_an_old_git_is_refused_with_its_version(
    version: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fake_git(tmp_path, f"git version {version}", monkeypatch)
    with pytest.raises(GitRefused, match=r"2\.32 or newer") as caught:
        git.available()
    assert version in caught.value.what


@pytest.mark.parametrize(
    "version", ["2.32.0", "2.39.3 (Apple Git-146)", "2.45.1.windows.1", "3.0.0"]
)
def test_newer_ones_are_taken(
    version: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fake_git(tmp_path, f"git version {version}", monkeypatch)
    git.available()


def test_sealed_gives_the_same_commit_whatever_the_persons_settings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    heads = []
    for number in range(2):
        root = tmp_path / f"nb{number}"
        with git.sealed("Ines", "ines@labbook.invalid"):
            git.start(root, sealed=True)
            put(root, "a.yaml", b"1\n")
            heads.append(git.commit_paths(root, ["a.yaml"], "one\n", when=WHEN))
        config = put(
            tmp_path,
            "config",
            "[user]\nname = X\nemail = x@x.invalid\n[commit]\ngpgSign = true\n[core]\n"
            "autocrlf = true\nhooksPath = /nowhere\n[init]\ndefaultBranch = other\n"
            "defaultObjectFormat = sha256\n[i18n]\ncommitEncoding = ISO-8859-1\n",
        )
        monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(config))
    assert heads[0] == heads[1] is not None
    assert git.branch(tmp_path / "nb1") == "main"
    assert not gitrun.is_sealed()


def test_the_environment_is_put_back(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_DIR", "/elsewhere")
    monkeypatch.setenv("GIT_TRACE", "0")
    git.head(root)
    assert os.environ["GIT_DIR"] == "/elsewhere"
    assert "GIT_PYTHON_REFRESH" not in os.environ


def test_the_kept_variables_are_a_list() -> None:
    gone = ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_OBJECT_DIRECTORY", "GIT_NAMESPACE",
            "GIT_PREFIX", "GIT_EXTERNAL_DIFF", "GIT_LITERAL_PATHSPECS", "GIT_COMMON_DIR",
            "GIT_CONFIG_PARAMETERS", "GIT_ALTERNATE_OBJECT_DIRECTORIES", "GIT_NEW")  # fmt: skip
    assert not [name for name in gone if gitrun.is_kept(name)]
    kept = ("PATH", "HOME", "GIT_AUTHOR_NAME", "GIT_SSH_COMMAND", "GIT_CONFIG_KEY_3", "GIT_TRACE2")
    assert all(gitrun.is_kept(name) for name in kept)


@pytest.mark.parametrize("locale", ["C", "C.UTF-8", "POSIX"])
def test_names_and_messages_are_the_same_in_any_locale(root: Path, locale: str) -> None:
    code = """
    root = Path.cwd()
    record(root, plan(root, "crème/é.yaml", b"1", "Crème: 0,5 → 0.8 %"), command="note")
    (found,) = git.changes(root, None, "")
    assert (found.subject, found.files[0].path) == ("Crème: 0,5 → 0.8 %", "crème/é.yaml")
    """
    run_script(code, root, {"LC_ALL": locale, "LANG": locale})
    assert subjects(root) == ["Crème: 0,5 → 0.8 %"]
    assert (root / "crème" / "é.yaml").exists()
