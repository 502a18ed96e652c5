"""What the program asks of git, against plain git in real repositories."""

import os
import threading
import time
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from labbook.model.errors import GitRefused, UnknownName
from labbook.notebook import git, gitcommit, gitrun
from tests.notebook.repos import (
    commit,
    git_says,
    hook,
    put,
    repository,
    run_git,
    subjects,
)

WHEN = datetime(2026, 2, 5, 12, 0, tzinfo=UTC)


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return repository(tmp_path / "nb")


# Standing ---------------------------------------------------------------------------------------


def test_a_folder_outside_of_git_stands_nowhere(tmp_path: Path) -> None:
    assert git.standing(tmp_path) is None
    assert git.toplevel(tmp_path) is None
    with pytest.raises(GitRefused, match="not kept in git") as caught:
        git.git_dir(tmp_path)
    assert "labbook init" in caught.value.mend


def test_inside_a_larger_repository_the_prefix_says_where(root: Path) -> None:
    folder = root / "lab books" / "crème"
    folder.mkdir(parents=True)
    assert git.prefix(folder) == "lab books/crème/"
    assert git.toplevel(folder) == root
    put(folder, "a.yaml", "1")
    put(root, "b.yaml", "1")
    new = git.commit_paths(folder, ["a.yaml"], "one\n")
    assert new is not None
    assert git_says(root, "-c", "core.quotePath=false", "ls-files") == "lab books/crème/a.yaml"
    assert [c.files[0].path for c in git.changes(folder, None, "")] == ["a.yaml"]
    assert set(git.tree_at(folder, "HEAD", "")) == {"a.yaml"}
    assert git.dirty(folder, ["a.yaml"]) == set()
    put(folder, "a.yaml", "2")
    assert git.dirty(folder, ["a.yaml", "other.yaml"]) == {"a.yaml"}


def test_a_linked_work_tree_has_its_own_folder_and_shares_the_common_one(
    root: Path, tmp_path: Path
) -> None:
    put(root, "a", "1")
    commit(root, "one")
    run_git(root, "worktree", "add", "-q", "-b", "side", str(tmp_path / "other"))
    found = git.must_stand(tmp_path / "other")
    assert (found.common, found.own.parent.name) == (root / ".git", "worktrees")
    put(tmp_path / "other", "b", "1")
    assert git.commit_paths(tmp_path / "other", ["b"], "two\n")
    assert git.branch(tmp_path / "other") == "side"
    assert subjects(root) == ["one"]


def test_a_bare_repository_with_a_work_tree(root: Path, tmp_path: Path) -> None:
    put(root, "a", "1")
    commit(root, "one")
    run_git(tmp_path, "clone", "-q", "--bare", str(root), str(tmp_path / "bare.git"))
    assert git.standing(tmp_path / "bare.git") is None
    run_git(tmp_path / "bare.git", "worktree", "add", "-q", str(tmp_path / "tree"), "main")
    put(tmp_path / "tree", "a", "2")
    assert git.commit_paths(tmp_path / "tree", ["a"], "two\n")
    assert subjects(tmp_path / "tree") == ["one", "two"]
    assert git.common_dir(tmp_path / "tree") == tmp_path / "bare.git"


def test_a_folder_whose_name_holds_a_line_break(tmp_path: Path) -> None:
    root = repository(tmp_path / "two\nlines")
    put(root, "a", "1")
    assert git.toplevel(root) == root
    assert git.commit_paths(root, ["a"], "one\n") == git.head(root)


def test_sha256_repositories(tmp_path: Path) -> None:
    root = repository(tmp_path, "--object-format=sha256")
    put(root, "a", "1\n")
    new = git.commit_paths(root, ["a"], "one\n")
    assert new is not None
    assert len(new) == 64
    found = git.blob_at(root, new, "a")
    assert found is not None
    assert found == (git.blob_id(root, b"1\n", "a"), b"1\n")


def test_before_the_first_commit(root: Path) -> None:
    assert git.head(root) is None
    assert git.branch(root) == "main"
    assert git.changes(root, None, "") == []
    assert git.revision_on(root, date(2026, 1, 1)) is None
    assert git.staged_files(root) == {}
    with pytest.raises(UnknownName):
        git.resolve(root, "HEAD")


@pytest.mark.parametrize("name", ["", "--all", "-h", "no-such", "HEAD~99", "a\0b", "HEAD^{tree}x"])
def test_a_name_that_is_no_commit(root: Path, name: str) -> None:
    put(root, "a", "1")
    commit(root, "one")
    with pytest.raises(UnknownName, match="names no commit"):
        git.resolve(root, name)


def start_state(root: Path, doing: str) -> None:
    """Brings a repository with a conflict into the middle of something."""
    put(root, "a", "1\n")
    commit(root, "base")
    run_git(root, "checkout", "-q", "-b", "side")
    put(root, "a", "2\n")
    commit(root, "side")
    run_git(root, "checkout", "-q", "main")
    put(root, "a", "3\n")
    commit(root, "main")
    words = {
        "merge": ["merge", "side"],
        "rebase": ["rebase", "side"],
        "cherry-pick": ["cherry-pick", "side"],
        "revert": ["revert", "--no-edit", "HEAD~1"],
        "bisect": ["bisect", "start"],
    }[doing]
    run_git(root, *words, check=doing == "bisect")


@pytest.mark.parametrize("doing", ["merge", "rebase", "cherry-pick", "revert", "bisect"])
def test_in_the_middle_of_something_no_commit_is_made(root: Path, doing: str) -> None:
    start_state(root, doing)
    before = git.head(root)
    assert git.state(root) == doing
    put(root, "new", "1")
    with pytest.raises(GitRefused, match=f"middle of a {doing}") as caught:
        git.commit_paths(root, ["new"], "entry\n")
    assert f"git {doing}" in caught.value.mend
    assert git.head(root) == before
    assert (root / "new").read_text() == "1"


# Identity ---------------------------------------------------------------------------------------


def test_no_name_is_said_before_a_commit_and_setting_one_mends_it(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    run_git(root, "config", "user.useConfigOnly", "true")
    put(root, "a", "1")
    assert git.identity(root) is None
    with pytest.raises(GitRefused, match="doesn't know your name") as caught:
        git.commit_paths(root, ["a"], "one\n")
    assert "git config user.name" in caught.value.mend
    assert git.head(root) is None
    git.set_identity(root, "Zoë O'Potter")
    assert git.identity(root) == "Zoë O'Potter <zo.o.potter@labbook.invalid>"
    assert git.commit_paths(root, ["a"], "one\n") == git.head(root)


def test_the_person_is_author_and_committer(root: Path) -> None:
    assert git.identity(root) == "Test Maker <test.maker@labbook.invalid>"
    put(root, "a", "1")
    git.commit_paths(root, ["a"], "one\n")
    assert git_says(root, "log", "-1", "--format=%an|%cn|%ae") == (
        "Test Maker|Test Maker|test.maker@labbook.invalid"
    )


# History ----------------------------------------------------------------------------------------


def test_changes_come_oldest_first_with_both_sides_of_a_merge(root: Path) -> None:
    put(root, "f/a", "1\n")
    put(root, "other", "1\n")
    first = commit(root, "one")
    run_git(root, "checkout", "-q", "-b", "side")
    put(root, "f/a", "1\nside\n")
    side = commit(root, "two")
    run_git(root, "checkout", "-q", "main")
    put(root, "f/b", "3\n")
    main = commit(root, "three")
    run_git(root, "merge", "-q", "--no-commit", "side")
    put(root, "f/a", "neither\n")
    merged = commit(root, "four")
    put(root, "other", "2\n")
    commit(root, "elsewhere")
    run_git(root, "rm", "-q", "f/b")
    gone = commit(root, "five")

    found = git.changes(root, None, "f")
    assert [c.id for c in found if c.id not in (side, main)] == [first, merged, gone]
    assert {c.id for c in found[1:3]} == {side, main}
    by_id = {c.id: c for c in found}
    assert set(by_id[merged].parents) == {side, main}
    assert {(f.path, f.status) for f in by_id[merged].files} == {
        ("f/a", "M"),
        ("f/b", "A"),
    }
    assert len([f for f in by_id[merged].files if f.path == "f/a"]) == 2
    last = by_id[gone].files[0]
    assert (last.path, last.status, last.new_blob) == ("f/b", "D", None)
    assert last.old_blob == git_says(root, "rev-parse", f"{main}:f/b")
    assert [c.id for c in git.changes(root, None, "f", since=merged)] == [gone]
    assert [c.id for c in git.changes(root, first, "f")] == [first]


def test_messages_come_back_as_written(root: Path) -> None:
    put(root, "a", "1")
    message = "Crème: 0,5 % → 0.8 %\n\n# no comment\n\x01 not a record\n:100644 no change\n"
    new = git.commit_paths(root, ["a"], message)
    (found,) = git.changes(root, None, "")
    assert (found.id, found.subject) == (new, "Crème: 0,5 % → 0.8 %")
    assert found.body == "# no comment\n\x01 not a record\n:100644 no change\n"
    run_git(root, "commit", "-q", "--allow-empty-message", "--allow-empty", "-m", "")
    put(root, "b", "1")
    run_git(root, "add", "b")
    run_git(root, "-c", "i18n.commitEncoding=ISO-8859-1", "commit", "-q", "-F",
            str(put(root.parent, "message", "é".encode("latin-1"))))  # fmt: skip
    assert [c.subject for c in git.changes(root, None, "")][1:] == ["é"]


def test_links_are_no_records(root: Path) -> None:
    (root / "link").symlink_to("/etc/passwd")
    put(root, "plain", "1")
    commit(root, "one")
    assert [f.path for f in git.changes(root, None, "")[0].files] == ["plain"]
    assert set(git.tree_at(root, "HEAD", "")) == {"plain"} == set(git.staged_files(root))
    assert git.blob_at(root, "HEAD", "link") is None


def test_blobs_are_read_in_one_go(root: Path) -> None:
    contents = [b"", b"\n", b"a\n\nb", bytes(range(256)), b"x" * 100_000]
    for number, data in enumerate(contents):
        put(root, f"{number}", data)
    commit(root, "one")
    tree = git.tree_at(root, "HEAD", "")
    found = git.blobs(root, [*tree.values(), *tree.values(), "0" * 40])
    assert [found[tree[str(n)]] for n in range(5)] == contents
    assert "0" * 40 not in found
    assert git.blobs(root, []) == {}


def test_the_last_commit_of_a_day_by_its_own_calendar(root: Path) -> None:
    ids = []
    for number, moment in enumerate(
        ["2026-02-04T23:30:00+02:00", "2026-02-05T00:30:00+02:00", "2026-02-07T10:00:00-08:00"]
    ):
        put(root, "a", f"{number}")
        when = datetime.fromisoformat(moment)
        ids.append(git.commit_paths(root, ["a"], "x\n", when=when))
    assert [c.when.isoformat() for c in git.changes(root, None, "")][0] == (
        "2026-02-04T23:30:00+02:00"
    )
    assert git.revision_on(root, date(2026, 2, 3)) is None
    assert git.revision_on(root, date(2026, 2, 4)) == ids[0]
    assert (
        git.revision_on(root, date(2026, 2, 5)) == ids[1] == git.revision_on(root, date(2026, 2, 6))
    )
    assert git.revision_on(root, date(2030, 1, 1)) == ids[2]


def test_a_blob_id_is_what_git_stores_with_its_filters(root: Path) -> None:
    put(root, ".gitattributes", "*.yaml text eol=lf\n")
    put(root, "a.yaml", b"1\r\n2\r\n")
    commit(root, "one")
    assert git.blob_id(root, b"1\r\n2\r\n", "a.yaml") == git_says(root, "rev-parse", "HEAD:a.yaml")
    assert git.blob_id(root, b"1\r\n", "a.bin") != git.blob_id(root, b"1\n", "a.bin")


def test_staged_files_are_those_of_the_index(root: Path) -> None:
    put(root, "a", "staged")
    run_git(root, "add", "a")
    put(root, "a", "later")
    put(root, "b", "not staged")
    assert git.staged_files(root) == {"a": b"staged"}


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
    mine = put(root, ".git/next-index-77.lock", "")
    theirs = put(root, ".git/next-index-78.lock", "")
    now = time.time()
    place = git.must_stand(root)
    assert git.clear_dead_locks(place, [77], now + 10, now + 60) == []
    os.utime(lock, (now - 100, now - 100))
    assert git.clear_dead_locks(place, [77], now - 5, now + 60) == [mine.name]
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
            "GIT_CONFIG_PARAMETERS", "GIT_ALTERNATE_OBJECT_DIRECTORIES", "GIT_NEXT_YEARS")  # fmt: skip
    assert not [name for name in gone if gitrun.is_kept(name)]
    kept = ("PATH", "HOME", "GIT_AUTHOR_NAME", "GIT_SSH_COMMAND", "GIT_CONFIG_KEY_3", "GIT_TRACE2")
    assert all(gitrun.is_kept(name) for name in kept)
