"""What git refused or what was cut off is finished by the next command."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from labbook.model.errors import GitRefused
from labbook.notebook import git, gitcommit, lock, settling
from labbook.notebook.desk import Desk
from labbook.notebook.intent import Intent, Target, digest, new_ident
from labbook.notebook.record import Change, Plan, leftovers, record
from tests.notebook.repos import (
    adding,
    assert_sound,
    commit,
    dead_process,
    git_says,
    hook,
    plan,
    put,
    repository,
    run_git,
    subjects,
)


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return repository(tmp_path / "nb")


def intents(root: Path) -> list[Path]:
    return sorted((root / ".git" / "labbook").glob("intents/*/*.json"))


# Refused by git ---------------------------------------------------------------------------------


def test_a_refused_entry_stays_and_the_next_command_commits_it(root: Path) -> None:
    hook(root, "pre-commit", "echo 'closed today' >&2; exit 1")
    with pytest.raises(GitRefused, match="closed today") as caught:
        record(root, plan(root, "a", b"1"), command="note")
    assert "next command" in caught.value.mend
    assert (root / "a").read_bytes() == b"1"
    assert len(intents(root)) == 1
    (said,) = leftovers(root)
    assert said.startswith("a: written by the labbook note of")
    with pytest.raises(GitRefused):
        record(root, plan(root, "b", b"1"), command="note")
    assert len(leftovers(root)) == 2

    hook(root, "pre-commit", "exit 0")
    done = record(root, plan(root, "c", b"1"), command="look")
    assert subjects(root) == ["Write a", "Write b", "Write c"]
    assert len(done.notes) == 2
    assert leftovers(root) == []
    assert_sound(root)


def test_a_leftover_that_is_still_refused_holds_up_no_other_entry(root: Path) -> None:
    hook(root, "pre-commit", 'git diff --cached --name-only | grep -q "^a$" && exit 1; exit 0')
    with pytest.raises(GitRefused):
        record(root, plan(root, "a", b"1"), command="note")
    assert record(root, plan(root, "b", b"1"), command="note").commit
    assert subjects(root) == ["Write b"]
    assert len(leftovers(root)) == 1


def test_refused_entries_of_one_file_become_one_commit_with_both_messages(root: Path) -> None:
    record(root, adding(root, "a", "0"), command="note")
    hook(root, "pre-commit", "exit 1")
    for line in ("1", "2"):
        with pytest.raises(GitRefused):
            record(root, adding(root, "a", line), command="note")
    hook(root, "pre-commit", "exit 0")
    done = record(root, adding(root, "a", "3"), command="look")
    assert (root / "a").read_text() == "0\n1\n2\n3\n"
    assert subjects(root) == ["Add 0", "Add 1", "Add 3"]
    assert git_says(root, "log", "-1", "--skip=1", "--format=%B") == (
        "Add 1\n\nAdd 2\n\nRecorded-by: labbook note\n"
    )
    assert len(done.notes) == 2


def test_what_the_person_takes_back_is_not_written_again(root: Path) -> None:
    record(root, plan(root, "a", b"1"), command="note")
    hook(root, "pre-commit", "exit 1")
    with pytest.raises(GitRefused):
        record(root, lambda: Plan((Change("a", b"1", b"2"), Change("b", None, b"1")), "x"),
               command="note")  # fmt: skip
    run_git(root, "checkout", "-q", "HEAD", "--", "a")
    hook(root, "pre-commit", "exit 0")
    record(root, plan(root, "c", b"1"), command="note")
    assert (root / "a").read_bytes() == b"1"
    assert git_says(root, "show", "--format=", "--name-only", "HEAD~1") == "b"
    assert leftovers(root) == []


@pytest.mark.parametrize("words", [["merge", "side"], ["rebase", "side"], ["cherry-pick", "side"]])
def test_in_a_merge_the_entry_waits_until_it_is_over(root: Path, words: list[str]) -> None:
    put(root, "a", "1\n")
    commit(root, "base")
    run_git(root, "checkout", "-q", "-b", "side")
    put(root, "a", "2\n")
    commit(root, "side")
    run_git(root, "checkout", "-q", "main")
    put(root, "a", "3\n")
    commit(root, "main")
    run_git(root, *words, check=False)
    with pytest.raises(GitRefused, match=f"middle of a {words[0]}"):
        record(root, plan(root, "entry", b"1"), command="look")
    assert (root / "entry").read_bytes() == b"1"
    run_git(root, words[0], "--abort")
    record(root, plan(root, "next", b"1"), command="look")
    assert subjects(root)[-2:] == ["Write entry", "Write next"]
    assert_sound(root)


@pytest.fixture
def rebasing(root: Path) -> Path:
    """In the middle of a rebase, `b` as both have it, `c` as main has it."""
    for path in ("a", "b", "c"):
        put(root, path, "1\n")
    commit(root, "base")
    run_git(root, "checkout", "-q", "-b", "side")
    put(root, "a", "2\n")
    put(root, "c", "2\n")
    commit(root, "side")
    put(root, "d", "1\n")
    commit(root, "side again")
    run_git(root, "checkout", "-q", "main")
    put(root, "a", "3\n")
    put(root, "c", "1\nmain\n")
    commit(root, "main")
    run_git(root, "checkout", "-q", "side")
    assert run_git(root, "rebase", "main", check=False).returncode
    put(root, "c", "1\nmain\n")
    run_git(root, "add", "c")
    return root


def waits(root: Path, path: str, line: str) -> None:
    with pytest.raises(GitRefused, match="middle of a rebase") as caught:
        record(root, adding(root, path, line), command="look")
    assert "git add -u" in caught.value.mend


@pytest.mark.parametrize("word", ["--abort", "--skip"])
def test_the_end_of_a_rebase_takes_no_entry_away(rebasing: Path, word: str) -> None:
    """It puts every file back that it knows; what was recorded in one is written again."""
    waits(rebasing, "b", "first")
    waits(rebasing, "b", "second")
    waits(rebasing, "new", "third")
    run_git(rebasing, "rebase", word)
    assert (rebasing / "b").read_text() == "1\n"
    record(rebasing, adding(rebasing, "e", "1"), command="look")
    assert git_says(rebasing, "show", "HEAD:b").split() == ["1", "first", "second"]
    assert git_says(rebasing, "show", "HEAD:new") == "third"
    assert git_says(rebasing, "status", "--porcelain") == ""
    assert leftovers(rebasing) == []
    assert_sound(rebasing)


def test_an_entry_of_a_file_that_a_rebase_gave_up_is_kept_aside(rebasing: Path) -> None:
    waits(rebasing, "c", "entry")
    run_git(rebasing, "rebase", "--abort")
    done = record(rebasing, adding(rebasing, "e", "1"), command="look")
    assert (rebasing / "c").read_text() == "2\n"
    (note,) = [note for note in done.notes if "put back" in note]
    (kept,) = (rebasing / ".git/labbook/aside").rglob("c")
    assert kept.read_text() == "1\nmain\nentry\n"
    assert str(kept.parents[1]) in note


def test_an_entry_goes_along_with_a_rebase_that_goes_on(rebasing: Path) -> None:
    """Git goes on with a clean tree alone; what it took along is not written again later."""
    waits(rebasing, "b", "entry")
    assert run_git(rebasing, "rebase", "--continue", check=False).returncode
    run_git(rebasing, "add", "-u")
    run_git(rebasing, "-c", "core.editor=true", "rebase", "--continue")
    put(rebasing, "b", "1\n")
    commit(rebasing, "taken out by hand")
    record(rebasing, adding(rebasing, "e", "1"), command="look")
    assert (rebasing / "b").read_text() == "1\n"
    assert leftovers(rebasing) == []


@pytest.mark.skipif(os.name == "nt", reason="a shell script stands for the signing program")
def test_a_signing_program_that_fails_refuses_and_the_entry_stays(
    root: Path, tmp_path: Path
) -> None:
    program = put(tmp_path, "sign", "#!/bin/sh\necho 'no secret key' >&2\nexit 2\n")
    program.chmod(0o755)
    run_git(root, "config", "commit.gpgSign", "true")
    run_git(root, "config", "gpg.program", str(program))
    with pytest.raises(GitRefused, match="failed to sign"):
        record(root, plan(root, "a", b"1"), command="note")
    assert (root / "a").exists()
    assert git.head(root) is None
    # The detached signature as git wants it: gitformat-signature, and the status line of gpg.
    armour = "-----BEGIN PGP SIGNATURE-----\\n\\n-----END PGP SIGNATURE-----\\n"
    text = f"#!/bin/sh\ncat >/dev/null\necho '[GNUPG:] SIG_CREATED ' >&2\nprintf -- '{armour}'\n"
    put(tmp_path, "sign", text)
    record(root, plan(root, "b", b"1"), command="note")
    assert subjects(root) == ["Write a", "Write b"]
    assert "gpgsig -----BEGIN PGP SIGNATURE-----" in git_says(root, "cat-file", "-p", "HEAD")


@pytest.mark.parametrize("where", ["detached", "unborn branch"])
def test_on_no_branch_and_on_an_unborn_one(root: Path, where: str) -> None:
    record(root, plan(root, "a", b"1"), command="note")
    words = ["--detach"] if where == "detached" else ["--orphan", "fresh"]
    run_git(root, "checkout", "-q", *words)
    done = record(root, plan(root, "a", b"2"), command="note")
    assert done.commit == git.head(root)
    assert git.branch(root) in (f"(detached at {str(done.commit)[:7]})", "fresh")


# Cut off ----------------------------------------------------------------------------------------


def cut_off(root: Path, *changes: Change, written: bool = False, child: int = 0) -> Intent:
    """What a command leaves that was killed right after its intent was on the disk."""
    table = Desk(root)
    targets = tuple(Target(c.path, (digest(c.old),), c.new) for c in changes)
    intent = Intent(new_ident(), "note", f"Cut off {changes[0].path}", time.time(), targets)
    owner = table.store.own(intent.ident)
    assert owner is not None
    table.store.save(intent)
    if written:
        table.store.note_written(intent)
    if child:
        table.store.note_child(intent.ident, child)
    owner.release()
    return intent


def test_a_cut_off_command_is_finished(root: Path) -> None:
    record(root, plan(root, "a", b"1"), command="note")
    intent = cut_off(
        root, Change("a", b"1", b"2"), Change("n/b", None, b"\xff\0"), Change("c", None, b"3")
    )
    put(root, "c", "3")
    put(root, f"n/.labbook-tmp-{intent.ident}-1", "half")
    (said,) = leftovers(root)
    assert said.startswith("a, n/b, c: the labbook note of")
    assert leftovers(root) == [said]
    done = record(root, plan(root, "d", b"1"), command="look")
    assert (root / "a").read_bytes() == b"2"
    assert (root / "n" / "b").read_bytes() == b"\xff\0"
    assert subjects(root) == ["Write a", "Cut off a", "Write d"]
    assert len(done.notes) == 1
    assert done.notes[0].startswith("Finished the labbook note of")
    assert leftovers(root) == []
    assert_sound(root)


def test_the_plan_reads_what_was_finished(root: Path) -> None:
    cut_off(root, Change("a", None, b"1\n"))
    record(root, adding(root, "a", "2"), command="note")
    assert (root / "a").read_text() == "1\n2\n"
    assert subjects(root) == ["Cut off a", "Add 2"]


def test_a_file_edited_since_is_left_and_what_was_meant_is_kept(root: Path) -> None:
    record(root, plan(root, "a", b"1"), command="note")
    cut_off(root, Change("a", b"1", b"meant"), Change("b", None, b"there"), Change("c", None, b"c"))
    put(root, "a", "by hand")
    put(root, "b", "there")
    done = record(root, plan(root, "d", b"1"), command="note")
    assert (root / "a").read_text() == "by hand"
    assert not (root / "c").exists()
    assert subjects(root) == ["Write a", "Cut off a", "Write d"]
    assert git_says(root, "show", "--format=", "--name-only", "HEAD~1") == "b"
    assert any("was edited since" in note for note in done.notes)
    (said,) = leftovers(root)
    kept = Path(said.partition(": ")[0])
    assert (kept / "files" / "a").read_bytes() == b"meant"
    assert intents(root) == []
    assert record(root, plan(root, "e", b"1"), command="note").commit


def test_a_damaged_intent_blocks_nothing(root: Path) -> None:
    cut_off(root, Change("a", None, b"1"))
    (file,) = intents(root)
    file.write_bytes(file.read_bytes()[:-20])
    assert "damaged" in leftovers(root)[0]
    done = record(root, plan(root, "b", b"1"), command="note")
    assert "damaged" in done.notes[0]
    assert intents(root) == []


def test_remains_of_an_unfinished_intent_are_swept(root: Path) -> None:
    intent = cut_off(root, Change("a", None, b"1"))
    (file,) = intents(root)
    file.rename(file.with_name(f".labbook-tmp-{intent.ident}"))
    record(root, plan(root, "b", b"1"), command="note")
    assert not (root / "a").exists()
    assert list(file.parent.iterdir()) == []


def test_a_commit_made_before_the_end_is_not_made_twice(root: Path) -> None:
    cut_off(root, Change("a", None, b"1"), written=True)
    put(root, "a", "1")
    commit(root, "the killed command's own")
    record(root, plan(root, "b", b"1"), command="note")
    assert subjects(root) == ["the killed command's own", "Write b"]


def test_the_lock_of_our_own_dead_git_is_removed(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gitcommit, "LOCK_PATIENCE", 0.1)
    cut_off(root, Change("a", None, b"1"), child=dead_process())
    put(root, ".git/index.lock", "")
    put(root, ".git/refs/heads/main.lock", "")
    record(root, plan(root, "b", b"1"), command="note")
    assert subjects(root) == ["Cut off a", "Write b"]
    assert not (root / ".git" / "index.lock").exists()


@pytest.mark.parametrize("whose", ["older", "much later", "of a living git", "of no known git"])
def test_any_other_lock_is_left(root: Path, whose: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gitcommit, "LOCK_PATIENCE", 0.1)
    monkeypatch.setattr(settling, "_ENDING", 0.1)
    child = {"of a living git": os.getpid(), "of no known git": 0}.get(whose, 1)
    cut_off(root, Change("a", None, b"1"), child=dead_process() if child == 1 else child)
    file = put(root, ".git/index.lock", "")
    shift = {"older": -60, "much later": 3600}.get(whose, 0)
    os.utime(file, (time.time() + shift,) * 2)
    with pytest.raises(GitRefused, match="Another git command"):
        record(root, plan(root, "b", b"1"), command="note")
    assert file.exists()
    assert (root / "a").exists()
    file.unlink()
    record(root, plan(root, "c", b"1"), command="note")
    assert subjects(root) == ["Cut off a", "Write b", "Write c"]


def test_a_zombie_is_no_living_process() -> None:
    process = subprocess.Popen([sys.executable, "-c", ""])
    assert lock.is_alive(os.getpid())
    if Path("/proc/self/stat").exists():
        while Path(f"/proc/{process.pid}/stat").read_bytes().rpartition(b") ")[2][:1] != b"Z":
            time.sleep(0.01)
        assert not lock.is_alive(process.pid)
    process.wait()
    assert not lock.is_alive(process.pid)


def test_two_work_trees_keep_their_intents_apart(root: Path, tmp_path: Path) -> None:
    record(root, plan(root, "a", b"1"), command="note")
    run_git(root, "worktree", "add", "-q", "-b", "side", str(tmp_path / "side"))
    cut_off(tmp_path / "side", Change("b", None, b"1"))
    assert record(root, plan(root, "a", b"2"), command="note").notes == ()
    assert leftovers(root) == []
    assert len(leftovers(tmp_path / "side")) == 1
    record(tmp_path / "side", plan(tmp_path / "side", "c", b"1"), command="note")
    assert subjects(tmp_path / "side") == ["Write a", "Cut off b", "Write c"]
    assert not (root / "b").exists()
