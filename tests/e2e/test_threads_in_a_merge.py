"""What public threads about other programs teach about git, in a merge and in a linked work tree.

`test_threads` tries the same on a notebook at rest. Each test names its thread.
"""

from __future__ import annotations

import os
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.conftest import Ran
from tests.e2e.bench import through_the_door
from tests.e2e.test_threads import GPG, POSIX, READING, config, program
from tests.e2e.two_copies import Copy, two_copies
from tests.notebook.repos import assert_sound, commit, git_says, hook, put, run_git, subjects
from tests.work.notebooks import PATH, Small

LO = "formulas/LO.yaml"
Env = dict[str, str | None]


@dataclass(frozen=True)
class Odd(Copy):
    """A notebook in the middle of a merge that left LO open, or in a linked work tree."""

    kind: str

    def reads(self, env: Env | None = None) -> list[Ran]:
        return [through_the_door(*words, cwd=self.root, env=env) for words in READING]

    def finish(self) -> None:
        if self.kind == "merge":
            self.mends(LO)
            run_git(self.root, "add", LO)
            run_git(self.root, "commit", "-q", "--no-edit")


def title(copy: Copy, text: str) -> None:
    lines = copy.text(LO).splitlines(keepends=True)
    new = [f"title: {text}\n" if line.startswith("title:") else line for line in lines]
    put(copy.root, LO, "".join(new))
    commit(copy.root, text)


@pytest.fixture(params=["merge", "worktree"])
def odd(request: pytest.FixtureRequest, small_made: Small, tmp_path: Path) -> Odd:
    root = Path(shutil.copytree(small_made.root, tmp_path / "nb"))
    if request.param == "worktree":
        run_git(root, "worktree", "add", "-q", "-b", "side", str(tmp_path / "tree"))
        return Odd(tmp_path / "tree", "worktree")
    copy = Odd(root, "merge")
    run_git(root, "checkout", "-q", "-b", "other")
    title(copy, "Milk")
    run_git(root, "checkout", "-q", "main")
    title(copy, "Lotion for the kiln")
    assert run_git(root, "merge", "other", check=False).returncode == 1
    return copy


# pre-commit/pre-commit#300, gitpython-developers/GitPython#535
def test_git_dir_of_another_notebook(odd: Odd, tmp_path: Path, small_made: Small) -> None:
    other = Path(shutil.copytree(small_made.root, tmp_path / "other"))
    before = git_says(other, "rev-parse", "HEAD")
    env: Env = {
        "GIT_DIR": str(other / ".git"),
        "GIT_WORK_TREE": str(other),
        "GIT_INDEX_FILE": str(other / ".git" / "index"),
    }
    assert odd.reads(env) == odd.reads()
    words = ("note", small_made.open[-2:], "pH 5.0 water phase")
    ran = through_the_door(*words, cwd=odd.root, env=env)
    assert ran.code == (4 if odd.kind == "merge" else 0), ran
    assert "5.0" in odd.text(small_made.path(small_made.open))
    assert git_says(other, "rev-parse", "HEAD") == before
    assert git_says(other, "status", "--porcelain") == ""


# golangci/golangci-lint#6513, evilmartians/lefthook#1264
@POSIX
def test_a_hook_checks_what_is_about_to_be_committed(odd: Odd, tmp_path: Path) -> None:
    call = f'"{sys.executable}" -m labbook'
    hook(odd.root, "pre-commit", f'{call} log HC > /dev/null && {call} check --staged > "$OUT"')
    env = {"OUT": str(tmp_path / "heard")}
    if odd.kind == "merge":
        run_git(odd.root, "add", LO)  # as it was left: the hook has to see that
        ran = run_git(odd.root, "commit", "-q", "--no-edit", env=env, check=False)
        assert ran.returncode != 0
        assert "merge-conflict" in (tmp_path / "heard").read_text(encoding="utf-8")
        odd.mends(LO)
        run_git(odd.root, "add", LO)
        run_git(odd.root, "commit", "-q", "--no-edit", env=env)
    else:
        put(odd.root, LO, odd.text(LO) + "# a word\n")
        run_git(odd.root, "commit", "-q", "-am", "by hand", env=env)
    assert "nothing found" in (tmp_path / "heard").read_text(encoding="utf-8")
    assert git_says(odd.root, "status", "--porcelain") == ""
    assert_sound(odd.root)


# pre-commit/pre-commit#545, tibirna/qgit#66
@POSIX
def test_diff_settings(odd: Odd, tmp_path: Path, small_made: Small) -> None:
    loud = tmp_path / "ran"
    script = program(tmp_path, "shout", f"touch '{loud}'")
    env = config(
        tmp_path,
        f"[diff]\n\texternal = {script}\n\tnoprefix = true\n[color]\n\tui = always\n"
        f"[core]\n\tpager = {script}\n[log]\n\tshowSignature = true\n\tdecorate = full\n"
        "[merge]\n\tconflictStyle = diff3\n[pull]\n\trebase = true\n",
    )
    assert odd.reads(env) == odd.reads()
    odd.finish()
    words = ("note", small_made.open[-2:], "pH 5.0 water phase")
    assert through_the_door(*words, cwd=odd.root, env=env).code == 0
    assert not loud.exists()


# pre-commit/pre-commit#603
@POSIX
def test_names_beyond_ascii_in_a_merge(odd: Odd, tmp_path: Path) -> None:
    odd.finish()
    root = Path(shutil.copytree(odd.root, tmp_path / "crème" / "é, an 'odd' name", symlinks=True))
    if odd.kind == "worktree":
        shutil.rmtree(root)
        run_git(odd.root, "worktree", "move", str(odd.root), str(root))
    copy = Copy(root)
    name = "ingredients/crème-é.yaml"
    copy.types("ingredient", "new", "crème-é")
    run_git(root, "checkout", "-q", "-b", "aside")
    put(root, name, copy.text(name) + "# here\n")
    commit(root, "here")
    run_git(root, "checkout", "-q", "-")
    put(root, name, "# there\n" + copy.text(name))
    commit(root, "there")
    run_git(root, "merge", "-q", "--no-edit", "aside")
    assert "# here" in copy.text(name)
    assert "# there" in copy.text(name)
    assert "+# here" in git_says(root, "show", "-m", "--first-parent", "HEAD")


# gitpython-developers/GitPython#1631
@pytest.mark.skipif(sys.platform != "linux", reason="other systems allow only Unicode names")
def test_a_name_that_is_not_utf8(small_made: Small, tmp_path: Path) -> None:
    first, second, _ = two_copies(small_made.root, tmp_path)
    name = os.fsdecode(b"journal/caf\xe9.md")
    for copy in (first, second):
        put(copy.root, name, f"words of {copy.root.name}\n")
        commit(copy.root, "a bad name")
    first.types("sync")
    said = second.types("sync", code=4)
    assert "journal/caf" in said
    put(second.root, name, "words of both\n")
    second.types("sync")
    assert git_says(second.root, "status", "--porcelain") == ""


# gitpython-developers/GitPython#633, #510, #1060
def test_on_no_branch(odd: Odd, small_made: Small) -> None:
    odd.finish()
    before = odd.reads()
    run_git(odd.root, "checkout", "-q", "--detach")
    assert odd.reads() == before
    odd.types("note", small_made.open[-2:], "pH 5.0 water phase")
    assert "git switch" in odd.types("sync", code=4)
    odd.types("undo")
    assert subjects(odd.root)[-1].startswith("Undo: ")


# pre-commit/pre-commit#2063, #570
def test_what_the_person_has_begun_stays(odd: Odd, small_made: Small) -> None:
    put(odd.root, PATH, odd.text() + "# mine\n")
    put(odd.root, "untracked.txt", "1")
    before, index = odd.text(LO), git_says(odd.root, "ls-files", "-s", "-u")
    status = git_says(odd.root, "status", "--porcelain")
    for words in (("check",), ("log", "HC"), ("diff", "HC"), ("list",)):
        odd.ran(*words)
    code = 4 if odd.kind == "merge" else 0
    odd.types("note", small_made.open[-2:], "pH 5.0 water phase", code=code)
    assert odd.text().endswith("# mine\n")
    assert odd.text(LO) == before
    assert git_says(odd.root, "stash", "list") == ""
    if odd.kind == "merge":  # the entry is in its file, and no more than that has changed
        changed = f" M {small_made.path(small_made.open)}"
        assert sorted(git_says(odd.root, "status", "--porcelain").splitlines()) == sorted(
            [*status.splitlines(), changed]
        )
        assert git_says(odd.root, "ls-files", "-s", "-u") == index
        odd.finish()
        odd.types("note", small_made.open[-2:], "smells of wax")
    assert sum("pH 5.0" in subject for subject in subjects(odd.root)) == 1
    assert git_says(odd.root, "status", "--porcelain") == f" M {PATH}\n?? untracked.txt"


# gitpython-developers/GitPython#1882
def test_without_git(odd: Odd, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    env: Env = {"PATH": str(tmp_path / "empty")}
    for words in (("show", "HC"), ("batch", "list")):
        assert through_the_door(*words, cwd=odd.root, env=env).code == 0
    ran = through_the_door("sync", cwd=odd.root, env=env)
    assert ran.code == 4
    assert "git is not installed" in ran.err


# twisted/towncrier#448
@POSIX
@pytest.mark.parametrize("verb", ["fetch", "merge", "push"])
def test_a_failing_git_is_told(small_made: Small, tmp_path: Path, verb: str) -> None:
    first, second, store = two_copies(small_made.root, tmp_path)
    title(first, "Milk")
    first.types("sync")
    put(second.root, "journal/a.md", "words\n")
    commit(second.root, "words")
    sent, before = git_says(store, "rev-parse", "main"), git_says(second.root, "rev-parse", "HEAD")
    real = shutil.which("git")
    program(
        tmp_path / "bin",
        "git",
        f'for word; do [ "$word" = {verb} ] && {{ echo "fatal: out of paper" >&2; exit 128; }};'
        f' done\nexec {real} "$@"',
    )
    env: Env = {"PATH": f"{tmp_path / 'bin'}{os.pathsep}{os.environ['PATH']}"}
    ran = through_the_door("sync", cwd=second.root, env=env)
    assert ran.code == 4, ran
    assert "out of paper" in ran.err
    assert ran.out == ""
    assert git_says(store, "rev-parse", "main") == sent
    assert git_says(second.root, "status", "--porcelain") == ""
    if verb != "push":
        assert git_says(second.root, "rev-parse", "HEAD") == before
    second.types("sync")


# gitpython-developers/GitPython#580, copier-org/copier#1224
@POSIX
def test_a_merge_is_signed_where_the_person_signs(small_made: Small, tmp_path: Path) -> None:
    first, second, store = two_copies(small_made.root, tmp_path)
    title(first, "Milk")
    first.types("sync")
    put(second.root, "journal/a.md", "words\n")
    commit(second.root, "words")
    gpg = program(tmp_path, "gpg", GPG)
    env = config(tmp_path, f"[gpg]\n\tprogram = {gpg}\n[commit]\n\tgpgSign = true\n")
    assert through_the_door("sync", cwd=second.root, env=env).code == 0
    assert "gpgsig" in git_says(second.root, "cat-file", "-p", "HEAD")
    title(first, "Milk again")
    first.types("sync")
    put(second.root, "journal/b.md", "words\n")
    commit(second.root, "more words")
    program(tmp_path, "gpg", "exit 1")
    sent = git_says(store, "rev-parse", "main")
    ran = through_the_door("sync", cwd=second.root, env=env)
    assert ran.code == 4
    assert "gpg" in ran.err
    assert git_says(store, "rev-parse", "main") == sent
    second.types("sync")
    first.types("sync")
    assert "Milk again" in second.text(LO)
