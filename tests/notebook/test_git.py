"""What the program asks of git, against plain git in real repositories."""

import os
from datetime import date, datetime
from pathlib import Path

import pytest

from labbook.model.errors import GitRefused, UnknownName
from labbook.notebook import git
from tests.notebook.repos import (
    commit,
    git_says,
    put,
    repository,
    run_git,
    subjects,
)


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
    assert "user.name" in caught.value.mend
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
    assert git.changes(root, None, "")[0].when.isoformat() == "2026-02-04T23:30:00+02:00"
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
