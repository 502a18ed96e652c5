"""Recording: one command, one commit, of exactly the files that it wrote."""

import os
import shutil
import subprocess
import time
from dataclasses import replace
from pathlib import Path

import pytest

from labbook.model.errors import ChangedMeanwhile, GitRefused, LabbookError
from labbook.notebook import desk as desk_module
from labbook.notebook import git, lock
from labbook.notebook.atomic import NotWritten, Pending
from labbook.notebook.messages import joined, with_trailer
from labbook.notebook.record import Change, Plan, Recorded, Session, leftovers, record
from tests.notebook.repos import (
    adding,
    assert_sound,
    git_says,
    hook,
    plan,
    put,
    python,
    repository,
    run_git,
    subjects,
)


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return repository(tmp_path / "nb")


def intents(root: Path) -> list[Path]:
    return sorted((root / ".git" / "labbook").glob("intents/*/*.json"))


# One command ------------------------------------------------------------------------------------


def test_one_command_is_one_commit_of_its_paths(root: Path) -> None:
    put(root, "other", "1")
    done = record(
        root,
        lambda: Plan(
            (Change("a/b.yaml", None, b"1\n"), Change("c.yaml", None, b"2\n")),
            "Two files\n\nBody",
            7,
        ),
        command="make",
    )
    assert done == Recorded(git.head(root), ("a/b.yaml", "c.yaml"), 7)
    assert git_says(root, "log", "-1", "--format=%B") == (
        "Two files\n\nBody\n\nRecorded-by: labbook make\n"
    )
    assert git_says(root, "status", "--porcelain") == "?? other"
    assert intents(root) == []
    assert leftovers(root) == []
    assert_sound(root)


def test_changing_and_deleting(root: Path) -> None:
    record(root, plan(root, "a", b"1"), command="note")
    record(root, plan(root, "a", b"2"), command="note")
    record(root, plan(root, "a", None), command="drop")
    assert subjects(root) == ["Write a"] * 3
    assert not (root / "a").exists()
    assert git_says(root, "status", "--porcelain") == ""


def test_nothing_to_do_is_no_commit(root: Path) -> None:
    assert record(root, lambda: Plan((), "x", "same"), command="save") == Recorded(None, (), "same")
    record(root, plan(root, "a", b"1"), command="note")
    assert record(root, plan(root, "a", b"1"), command="note").commit is None
    assert subjects(root) == ["Write a"]
    assert intents(root) == []


def test_files_named_also_are_committed_as_they_stand(root: Path) -> None:
    put(root, "by-hand.yaml", "1")
    done = record(root, lambda: Plan((), "Save", also=("by-hand.yaml", "gone")), command="save")
    assert done.commit == git.head(root) is not None
    assert git_says(root, "ls-files") == "by-hand.yaml"


def test_a_file_edited_between_reading_and_writing_is_left(root: Path) -> None:
    put(root, "b", "edited")
    wanted = Plan((Change("a", None, b"1"), Change("b", b"read", b"2")), "x")
    with pytest.raises(ChangedMeanwhile):
        record(root, lambda: wanted, command="note")
    assert not (root / "a").exists()
    assert (root / "b").read_text() == "edited"
    assert intents(root) == []
    assert_sound(root)


@pytest.mark.parametrize("bad", ["../out", ".git/config", "sub/../../x"])
def test_a_path_that_leads_out_writes_nothing(root: Path, bad: str) -> None:
    before = (root / ".git" / "config").read_bytes()
    wanted = Plan((Change("a", None, b"1"), Change(bad, None, b"2")), "x")
    with pytest.raises(LabbookError):
        record(root, lambda: wanted, command="note")
    assert not (root / "a").exists()
    assert (root / ".git" / "config").read_bytes() == before
    assert intents(root) == []


def test_an_error_in_the_middle_puts_the_first_file_back(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(root, "a", "old")
    real = Pending.replace

    def second_fails(self: Pending, expect: bytes | None) -> None:
        if self.path.name == "b":
            raise NotWritten("b can't be written: the disk is full.")
        real(self, expect)

    wanted = Plan(
        (Change("a", b"old", b"new"), Change("n", None, b"1"), Change("b", None, b"2")), "x"
    )
    with monkeypatch.context() as patch, pytest.raises(NotWritten):
        patch.setattr(Pending, "replace", second_fails)
        record(root, lambda: wanted, command="note")
    assert (root / "a").read_text() == "old"
    assert sorted(p.name for p in root.iterdir()) == [".git", "a"]
    assert intents(root) == []
    assert record(root, lambda: wanted, command="note").commit


def test_an_error_in_the_plan_writes_nothing(root: Path) -> None:
    def stopped() -> Plan:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        record(root, stopped, command="note")
    assert record(root, plan(root, "a", b"1"), command="note").commit


def test_without_git_or_a_name_nothing_is_written(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(GitRefused, match="not kept in git"):
        record(tmp_path, plan(tmp_path, "a", b"1"), command="note")
    run_git(root, "config", "user.useConfigOnly", "true")
    with monkeypatch.context() as patch, pytest.raises(GitRefused, match="your name"):
        patch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
        record(root, plan(root, "a", b"1"), command="note")
    with monkeypatch.context() as patch, pytest.raises(GitRefused, match="not installed"):
        patch.setenv("PATH", str(tmp_path))
        record(root, plan(root, "a", b"1"), command="note")
    assert not (root / "a").exists()
    assert not (tmp_path / "a").exists()


# Locking ----------------------------------------------------------------------------------------


def test_a_command_waits_for_another_and_says_so(root: Path) -> None:
    holder = subprocess.Popen(
        python("""
        root = Path.cwd()
        def slow():
            print("holding", flush=True)
            sys.stdin.readline()
            return plan(root, "a", b"1")()
        record(root, slow, command="note")
        """),
        cwd=root,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert holder.stdout is not None
    assert holder.stdin is not None
    assert holder.stdout.readline() == b"holding\n"
    said: list[str] = []

    def let_go(sentence: str) -> None:
        said.append(sentence)
        holder.communicate(b"\n")

    record(root, plan(root, "b", b"1"), command="note", wait=let_go)
    assert said == [lock.WAITING]
    assert subjects(root) == ["Write a", "Write b"]


def test_a_lock_held_too_long_is_said_and_nothing_is_written(tmp_path: Path) -> None:
    with (
        lock.locked(tmp_path),
        pytest.raises(LabbookError, match="nothing was written"),
        lock.locked(tmp_path, patience=0.1),
    ):
        pytest.fail("the lock was taken twice")


def test_leftovers_need_no_git_where_there_are_none(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert leftovers(root) == []
    assert leftovers(tmp_path) == []


# Sessions ---------------------------------------------------------------------------------------


def test_a_session_writes_each_entry_at_once_and_commits_at_the_end(root: Path) -> None:
    with Session(root, "weigh") as session:
        assert session.write(lambda: replace(adding(root, "a", "1")(), result="one")) == "one"
        assert (root / "a").read_text() == "1\n"
        assert git.head(root) is None
        assert leftovers(root) == []
        session.write(adding(root, "a", "2"))
        session.write(adding(root, "b", "3"))
        session.write(lambda: Plan((), "nothing"))
        session.message = "Weigh: 3 entries"
    assert session.recorded == Recorded(git.head(root), ("a", "b"), None)
    assert subjects(root) == ["Weigh: 3 entries"]
    assert git_says(root, "log", "-1", "--format=%b") == "Recorded-by: labbook weigh\n"
    assert intents(root) == []
    assert_sound(root)


def test_a_session_without_entries_commits_nothing(root: Path) -> None:
    with Session(root, "weigh") as session:
        pass
    assert session.recorded == Recorded(None, (), None)


def test_other_commands_record_while_a_session_is_open(root: Path) -> None:
    with Session(root, "weigh") as session:
        session.write(adding(root, "a", "1"))
        done = record(root, adding(root, "a", "2"), command="note")
        assert (done.commit, done.notes) == (git.head(root), ())
        session.write(adding(root, "a", "3"))
    assert (root / "a").read_text() == "1\n2\n3\n"
    assert subjects(root) == ["Add 2", "Add 3"]


def test_an_error_in_a_session_keeps_its_entries(root: Path) -> None:
    with pytest.raises(KeyboardInterrupt), Session(root, "weigh") as session:
        session.write(adding(root, "a", "1"))
        raise KeyboardInterrupt
    assert subjects(root) == ["Add 1"]


def test_a_failed_entry_of_a_session_leaves_the_others(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Session(root, "weigh") as session:
        session.write(adding(root, "a", "1"))
        with monkeypatch.context() as patch, pytest.raises(NotWritten):
            patch.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(28, "full")))
            session.write(adding(root, "a", "2"))
        with pytest.raises(ChangedMeanwhile):
            session.write(lambda: Plan((Change("a", b"other", b"3"),), "x"))
        session.write(adding(root, "a", "4"))
    assert (root / "a").read_text() == "1\n4\n"
    assert_sound(root)


def test_a_refused_session_ends_with_the_refusal_and_its_entries_wait(root: Path) -> None:
    hook(root, "pre-commit", "exit 1")
    with pytest.raises(GitRefused), Session(root, "weigh") as session:
        session.write(adding(root, "a", "1"))
    with pytest.raises(ValueError, match="own") as caught, Session(root, "weigh") as session:
        session.write(adding(root, "a", "2"))
        raise ValueError("own")
    assert "hook" in caught.value.__notes__[0]
    hook(root, "pre-commit", "exit 0")
    record(root, plan(root, "b", b"1"), command="note")
    assert subjects(root) == ["Add 1", "Write b"]
    assert (root / "a").read_text() == "1\n2\n"


# Messages ---------------------------------------------------------------------------------------


def test_the_last_line_names_the_command_once() -> None:
    assert with_trailer("Subject", "save") == "Subject\n\nRecorded-by: labbook save\n"
    assert with_trailer("Subject\n\nRecorded-by: labbook save", "x") == (
        "Subject\n\nRecorded-by: labbook x\n"
    )
    assert (
        with_trailer("a\0b\n\nbody\n\n\n", "save") == "a b\n\nbody\n\nRecorded-by: labbook save\n"
    )
    assert with_trailer(" \n", "save") == "record\n\nRecorded-by: labbook save\n"


def test_messages_are_joined_in_order() -> None:
    assert joined([("A\n\nmore", "note"), ("B", "look"), ("C", "note")]) == (
        "A\n\nmore\n\nB\n\nC\n\nRecorded-by: labbook note\nRecorded-by: labbook look\n"
    )


def test_the_store_is_found_from_the_desk(root: Path) -> None:
    base, store = desk_module.storage(git.must_stand(root))
    assert base == root / ".git" / "labbook"
    assert store.folder.parent == base / "intents"


@pytest.mark.skipif(os.name == "nt", reason="a shell script stands for git")
def test_an_entry_that_another_commit_took_along_is_recorded(root: Path) -> None:
    """A `git commit` of somebody else between our two steps takes whatever is staged."""
    real = shutil.which("git")
    script = put(root.parent / "bin", "git", f"""#!/bin/sh
for word; do if [ "$word" = --only ]; then '{real}' commit -q -m shopping; fi; done
exec '{real}' "$@"
""")  # fmt: skip
    must_record(root, script)
    assert subjects(root)[-1] == "shopping"
    assert git_says(root, "show", "HEAD:entries.yaml").split() == ["1"]
    assert leftovers(root) == []


def must_record(root: Path, script: Path) -> None:
    """Writes an entry, with a script in place of git."""
    script.chmod(0o755)
    env = os.environ | {"PATH": f"{script.parent}{os.pathsep}{os.environ['PATH']}"}
    ran = subprocess.run(
        python('record(Path.cwd(), adding(Path.cwd(), "entries.yaml", "1"), command="note")'),
        cwd=root, env=env, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr


@pytest.mark.skipif(os.name == "nt", reason="a shell script stands for git")
def test_an_entry_is_committed_after_one_that_came_first(root: Path) -> None:
    """Git reads the branch, another commit comes, and git calls that fatal: once."""
    real = shutil.which("git")
    script = put(root.parent / "bin", "git", f"""#!/bin/sh
for word; do if [ "$word" = --only ] && [ ! -e '{root.parent}/overtaken' ]; then
  touch '{root.parent}/overtaken'
  '{real}' commit -q --allow-empty --only -m shopping
  echo "fatal: the branch moved" >&2
  exit 128
fi; done
exec '{real}' "$@"
""")  # fmt: skip
    must_record(root, script)
    assert subjects(root)[-2:] == ["shopping", "Add 1"]
    assert leftovers(root) == []


@pytest.mark.skipif(os.name == "nt", reason="a shell script stands for git")
def test_an_entry_is_committed_though_another_git_took_its_message(root: Path) -> None:
    """All gits of a repository write their message into one file, which a commit reads back."""
    real = shutil.which("git")
    script = put(root.parent / "bin", "git", f"""#!/bin/sh
for word; do if [ "$word" = --only ] && [ ! -e '{root.parent}/taken' ]; then
  touch '{root.parent}/taken'
  echo shopping > '{root}/.git/COMMIT_EDITMSG'
  echo "Aborting commit due to empty commit message." >&2
  exit 1
fi; done
exec '{real}' "$@"
""")  # fmt: skip
    must_record(root, script)
    assert subjects(root)[-1] == "Add 1"
    assert leftovers(root) == []


def test_a_hook_that_declines_is_asked_once(root: Path) -> None:
    hook(root, "pre-commit", "echo asked >> asked; exit 1")
    with pytest.raises(GitRefused, match="a hook"):
        record(root, adding(root, "entries.yaml", "1"), command="note")
    assert (root / "asked").read_text(encoding="utf-8") == "asked\n"


def test_a_lock_that_our_git_could_not_take_away_goes_and_an_older_one_stays(root: Path) -> None:
    place = git.must_stand(root)
    since = time.time()
    (head, branch) = (root / ".git" / "HEAD.lock", root / ".git" / "refs" / "heads" / "x.lock")
    head.touch()
    branch.touch()
    os.utime(branch, (since - 60, since - 60))
    git.clear_left_locks(place, since)
    assert not head.exists()
    assert branch.exists()
