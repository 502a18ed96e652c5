"""The pages on a branch of their own: an orphan, neutral, and beside the work tree."""

import os
import subprocess
from pathlib import Path

import pytest

from tests.conftest import RunLabbook
from tests.e2e.test_journal import files_of, git

SIGNED = "labbook <labbook@journal.invalid>|labbook <labbook@journal.invalid>"


def tree(root: Path, name: str = "pages") -> dict[str, bytes]:
    paths = git(root, "ls-tree", "-r", "-z", "--name-only", name).split("\0")[:-1]
    read = ["git", "cat-file", "blob"]
    return {
        path: subprocess.run([*read, f"{name}:{path}"], cwd=root, capture_output=True).stdout
        for path in paths
    }


def state(root: Path) -> tuple[str, ...]:
    """All that must not change: files, index, branch, head, settings."""
    return (
        git(root, "status", "--porcelain", "--ignored"), git(root, "ls-files", "--stage"),
        git(root, "rev-parse", "HEAD"), (root / ".git/config").read_text(),
        (root / ".git/HEAD").read_text(), git(root, "for-each-ref", "refs/heads/main"),
    )  # fmt: skip


def test_the_branch_holds_the_pages_and_nothing_is_touched(
    run_labbook: RunLabbook, sample: Path
) -> None:
    (sample / "staged.txt").write_text("staged")
    git(sample, "add", "staged.txt")
    run_labbook("journal", "build", cwd=sample)
    before = state(sample)
    built = run_labbook("journal", "build", "--branch", "pages", cwd=sample)
    assert (built.code, built.err) == (0, "")
    assert "Nothing was sent anywhere" in built.out
    assert state(sample) == before
    assert tree(sample) == files_of(sample / "site")
    form = "--format=%an <%ae>|%cn <%ce>|%P|%B"
    assert git(sample, "log", form, "pages") == f"{SIGNED}||The journal as it is published"
    assert git(sample, "log", "-1", "--format=%ai %ci", "pages").count("+0000") == 2
    first = git(sample, "rev-parse", "pages")
    again = run_labbook("journal", "build", "--branch", "pages", cwd=sample)
    assert "as it was; nothing changed" in again.out
    assert git(sample, "rev-parse", "pages") == first


def test_the_next_publication_follows_the_last_one(run_labbook: RunLabbook, sample: Path) -> None:
    run_labbook("journal", "build", "--branch", "pages", cwd=sample)
    first = git(sample, "rev-parse", "pages")
    run_labbook("journal", "private", "9t", cwd=sample)
    assert run_labbook("journal", "build", "--branch", "pages", cwd=sample).code == 0
    assert git(sample, "log", "-1", "--format=%P", "pages") == first
    assert "batches/SBC-260122-9T.html" not in tree(sample)
    changed = git(sample, "diff", "--name-only", first, "pages").splitlines()
    assert "batches/SBC-260109-4M.html" not in changed


def test_no_object_of_the_branch_is_one_of_the_notebook(
    run_labbook: RunLabbook, sample: Path
) -> None:
    run_labbook("journal", "build", "--branch", "pages", cwd=sample)
    objects = {
        name: {
            line.split(" ")[0] for line in git(sample, "rev-list", "--objects", name).split("\n")
        }
        for name in ("main", "pages")
    }
    assert objects["pages"]
    assert not objects["main"] & objects["pages"]


@pytest.mark.parametrize("standing", ["worktree", "detached", "unborn"])
def test_wherever_one_stands(
    run_labbook: RunLabbook, sample: Path, tmp_path: Path, standing: str
) -> None:
    here = sample
    if standing == "worktree":
        here = tmp_path / "beside"
        git(sample, "worktree", "add", "-q", "-b", "work", str(here))
    elif standing == "detached":
        git(sample, "checkout", "-q", "--detach")
    else:
        git(sample, "symbolic-ref", "HEAD", "refs/heads/unborn")
    built = run_labbook("journal", "build", "--branch", "pages", cwd=here)
    assert (built.code, built.err) == (0, "")
    assert "index.html" in tree(sample)


def test_a_branch_that_is_checked_out_is_left_alone(
    run_labbook: RunLabbook, sample: Path, tmp_path: Path
) -> None:
    run_labbook("journal", "build", "--branch", "pages", cwd=sample)
    git(sample, "worktree", "add", "-q", str(tmp_path / "beside"), "pages")
    refused = run_labbook("journal", "build", "--branch", "pages", cwd=sample)
    assert refused.code != 0
    assert "pages is checked out" in refused.err
    refused = run_labbook("journal", "build", "--branch", "main", cwd=sample)
    assert "main is checked out" in refused.err


def test_a_branch_of_others_is_left_alone(run_labbook: RunLabbook, sample: Path) -> None:
    git(sample, "branch", "theirs")
    refused = run_labbook("journal", "build", "--branch", "theirs", cwd=sample)
    assert refused.code != 0
    assert "theirs is no branch of pages" in refused.err
    run_labbook("journal", "build", "--branch", "pages", cwd=sample)
    tip = git(sample, "rev-parse", "pages")
    for path, why in (("formulas/SBC.yaml", "other files"), ("extra.html", "a commit of")):
        blob = git(sample, "rev-parse", "HEAD:formulas/SBC.yaml")
        index = sample / ".git/other-index"
        env = {**os.environ, "GIT_INDEX_FILE": str(index)}
        if why == "other files":
            who = {"NAME": "labbook", "EMAIL": "labbook@journal.invalid"}
            roles = ("AUTHOR", "COMMITTER")
            env |= {f"GIT_{role}_{key}": value for role in roles for key, value in who.items()}
        commit = _commit(sample, env, tip, path, blob)
        git(sample, "update-ref", "refs/heads/pages", commit)
        refused = run_labbook("journal", "build", "--branch", "pages", cwd=sample)
        assert refused.code != 0
        assert why in refused.err
        assert git(sample, "rev-parse", "pages") == commit


def _commit(root: Path, env: dict[str, str], parent: str, path: str, blob: str) -> str:
    def said(*words: str, stdin: str = "") -> str:
        ran = subprocess.run(
            ["git", *words], cwd=root, env=env, input=stdin, capture_output=True, text=True
        )
        assert ran.returncode == 0, ran.stderr
        return ran.stdout.strip()

    said("read-tree", parent)
    said("update-index", "--add", "--cacheinfo", f"100644,{blob},{path}")
    message = "The journal as it is published"
    return said("commit-tree", said("write-tree"), "-p", parent, stdin=message)


def test_odd_names_are_refused(run_labbook: RunLabbook, sample: Path) -> None:
    for name in ("-d", "a..b", "HEAD", "a b", "@{-1}"):
        refused = run_labbook("journal", "build", f"--branch={name}", cwd=sample)
        assert refused.code != 0, name
        assert git(sample, "for-each-ref", "--format=%(refname)") == "refs/heads/main"


def test_a_folder_or_a_branch(run_labbook: RunLabbook, sample: Path) -> None:
    refused = run_labbook("journal", "build", "--branch", "pages", "--output", "out", cwd=sample)
    assert refused.code == 2 or "Leave out" in refused.err


def test_the_state_of_a_publication_elsewhere_is_named(
    run_labbook: RunLabbook, sample: Path, tmp_path: Path
) -> None:
    run_labbook("journal", "build", cwd=sample)
    last = tmp_path / "published.json"
    last.write_bytes((sample / "site/published.json").read_bytes())
    correct = ("batch", "correct", "4m", "beeswax=1.60", "-m", "misread the balance")
    assert run_labbook(*correct, cwd=sample).code == 0
    for out in ("one", "two"):
        words = ("journal", "build", "--since", last, "--output", tmp_path / out)
        assert run_labbook(*words, cwd=sample).code == 0
    assert files_of(tmp_path / "one") == files_of(tmp_path / "two")
    assert b"misread the balance" in files_of(tmp_path / "one")["corrections.html"]
    wrong = run_labbook("journal", "build", "--since", "labbook.yaml", cwd=sample)
    assert "says nothing about an earlier journal" in " ".join(wrong.err.split())
