"""What public threads about other programs teach about git's environment and states.

Each test names the thread whose trouble must not come back here. `SCRIPT` stands for a whole
command: it reads everything and records an entry, in a process of its own.
"""

import os
import shlex
import shutil
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from labbook.model.errors import GitRefused
from labbook.notebook import git
from labbook.notebook.record import Change, Plan, leftovers, record
from labbook.notebook.snapshot import read_notebook
from tests.notebook.repos import (
    commit,
    git_says,
    hook,
    plan,
    put,
    python,
    repository,
    run_git,
    run_script,
    subjects,
)

SCRIPT = """
root = Path.cwd()
assert leftovers(root) == []
print(git.branch(root), git.head(root), git.prefix(root))
print([(c.id, c.author, c.subject, c.files) for c in git.changes(root, None, "")])
if git.head(root):
    print(git.tree_at(root, "HEAD", ""), git.resolve(root, "HEAD"))
print(sorted(git.staged_files(root)), sorted(git.dirty(root, ["a.yaml", "entry.yaml"])))
print(git.state(root), git.identity(root), git.blob_id(root, b"1", "a.yaml"))
"""
RECORD = """
record(root, plan(root, "entry.yaml", b"1\\n"), command="note")
"""


@pytest.fixture
def root(tmp_path: Path) -> Path:
    root = repository(tmp_path / "nb")
    put(root, "a.yaml", "1\n")
    commit(root, "first")
    return root


def config(folder: Path, text: str) -> dict[str, str]:
    """The person's own settings, added to the tests' maker."""
    maker = "[user]\n\tname = Test Maker\n\temail = test.maker@labbook.invalid\n"
    return {"GIT_CONFIG_GLOBAL": str(put(folder, "config", maker + text))}


def ran(root: Path, env: Mapping[str, str] | None = None) -> str:
    """What a whole command prints."""
    return run_script(SCRIPT, root, env).stdout


# pre-commit/pre-commit#300, gitpython-developers/GitPython#535
def test_variables_of_another_repository_have_no_say(root: Path, tmp_path: Path) -> None:
    other = repository(tmp_path / "other")
    put(other, "x", "1")
    before = commit(other, "of the other")
    env = {
        "GIT_DIR": str(other / ".git"),
        "GIT_WORK_TREE": str(other),
        "GIT_INDEX_FILE": str(other / ".git" / "index"),
        "GIT_COMMON_DIR": str(other / ".git"),
        "GIT_OBJECT_DIRECTORY": str(other / ".git" / "objects"),
        "GIT_PREFIX": "sub/",
        "GIT_NAMESPACE": "other",
        "GIT_CONFIG_PARAMETERS": f"'core.worktree'='{other}'",
    }
    expected = ran(root)
    assert str(git.head(root)) in expected
    assert ran(root, env) == expected
    run_script(SCRIPT + RECORD, root, env)
    assert subjects(root) == ["first", "Write entry.yaml"]
    assert git.head(other) == before
    assert git_says(other, "status", "--porcelain") == ""


# golangci/golangci-lint#6513, evilmartians/lefthook#1264
@pytest.mark.skipif(os.name == "nt", reason="the hook is a shell script")
@pytest.mark.parametrize("words", [["-a"], ["--", "b.yaml"], []])
def test_in_a_hook_the_index_being_committed_is_read_and_left_whole(
    root: Path, tmp_path: Path, words: list[str]
) -> None:
    put(root, "b.yaml", "old")
    put(root, "c.yaml", "old")
    commit(root, "second")
    code = (
        SCRIPT + 'Path("../seen").write_bytes(repr(git.staged_files(root)).encode())\n'
        'git.dirty(root, ["a.yaml"]); git.changes(root, None, "")\n'
    )
    hook(root, "pre-commit", shlex.join(python(code)))
    put(root, "b.yaml", "new")
    put(root, "c.yaml", "new")
    if not words:
        run_git(root, "add", "b.yaml")
    run_git(root, "commit", "-q", "-m", "third", *words)
    c = b"new" if words == ["-a"] else b"old"
    seen = {"a.yaml": b"1\n", "b.yaml": b"new", "c.yaml": c}
    assert (tmp_path / "seen").read_text() == repr(seen)
    changed = ["b.yaml", "c.yaml"] if words == ["-a"] else ["b.yaml"]
    assert git_says(root, "show", "--format=", "--name-only").split() == changed
    left = "" if words == ["-a"] else " M c.yaml"
    assert git_says(root, "status", "--porcelain") == left
    run_git(root, "fsck", "--strict")


def test_an_index_of_another_repository_is_not_taken_for_ours(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = repository(tmp_path / "other")
    put(other, "x", "1")
    commit(other, "one")
    monkeypatch.setenv("GIT_INDEX_FILE", str(other / ".git" / "index"))
    assert git.staged_files(root) == {"a.yaml": b"1\n"}


# pre-commit/pre-commit#545
def test_diff_settings_change_no_output(root: Path, tmp_path: Path) -> None:
    put(root, ".gitattributes", "*.yaml diff=shout\n")
    commit(root, "attributes")
    loud = tmp_path / "ran"
    script = put(tmp_path, "shout", f"#!/bin/sh\ntouch '{loud}'\n")
    script.chmod(0o755)
    text = (
        f"[diff]\n\texternal = {script}\n\tnoprefix = true\n\trenames = copies\n"
        f'\tmnemonicPrefix = true\n\trelative = true\n[diff "shout"]\n\tcommand = {script}\n'
        f"\ttextconv = {script}\n[color]\n\tui = always\n[core]\n\tpager = {script}\n"
        "[status]\n\tshowUntrackedFiles = no\n\trelativePaths = true\n\tbranch = true\n"
        "[log]\n\tdate = relative\n\tdecorate = full\n\tfollow = true\n\tdiffMerges = off\n"
        "\tmailmap = true\n[format]\n\tpretty = oneline\n[column]\n\tui = always\n"
    )
    assert ran(root, config(tmp_path, text)) == ran(root)
    run_script(SCRIPT + RECORD, root, config(tmp_path, text))
    assert subjects(root)[-1] == "Write entry.yaml"
    assert not loud.exists()


# tibirna/qgit#66, desktop/desktop#5477
def test_signatures_do_not_stand_in_the_history(root: Path, tmp_path: Path) -> None:
    program = put(
        tmp_path,
        "gpg",
        """#!/bin/sh
cat > /dev/null
case "$*" in
*--verify*) echo "gpg: many words" >&2; echo "[GNUPG:] GOODSIG 0 Test Maker" ;;
*) echo "[GNUPG:] SIG_CREATED " >&2
   printf -- "-----BEGIN PGP SIGNATURE-----\\n\\n-----END PGP SIGNATURE-----\\n" ;;
esac
""",
    )
    program.chmod(0o755)
    signing = config(tmp_path, f"[gpg]\n\tprogram = {program}\n[commit]\n\tgpgSign = true\n")
    run_script(SCRIPT + RECORD, root, signing)
    assert "gpgsig" in git_says(root, "cat-file", "-p", "HEAD")
    shown = config(tmp_path, f"[gpg]\n\tprogram = {program}\n[log]\n\tshowSignature = true\n")
    assert b"many words" in run_git(root, "log", env=shown).stdout  # plain git does show them
    assert ran(root, shown) == ran(root)


# pre-commit/pre-commit#603
@pytest.mark.skipif(os.name == "nt", reason="Windows forbids such names")
@pytest.mark.parametrize("path", ["crème/é.yaml", "two\nlines.yaml", 'q"uo\\te.yaml', " a", "-f"])
def test_any_name_is_recorded_and_listed(root: Path, path: str) -> None:
    done = record(root, plan(root, path, b"1\n"), command="note")
    assert git.dirty(root, [path]) == set()
    put(root, path, "2\n")
    assert git.dirty(root, [path]) == {path}
    assert git.staged_files(root)[path] == b"1\n"
    assert [f.path for f in git.changes(root, done.commit, path)[-1].files] == [path]
    found = git.blob_at(root, "HEAD", path)
    assert found is not None
    assert found[1] == b"1\n"
    record(root, plan(root, path, None), command="note")
    assert path not in git.tree_at(root, "HEAD", "")


# gitpython-developers/GitPython#1631
@pytest.mark.skipif(sys.platform != "linux", reason="other systems allow only Unicode names")
def test_a_name_that_is_not_utf8_breaks_nothing(root: Path) -> None:
    name = os.fsdecode(b"caf\xe9.yaml")
    put(root, name, "1")
    ran(root)
    commit(root, "a bad name")
    ran(root)
    run_script(SCRIPT + RECORD, root)
    assert subjects(root) == ["first", "a bad name", "Write entry.yaml"]
    record(root, plan(root, name, b"2"), command="note")
    assert git.changes(root, None, "")[-1].files[0].path == name
    assert name in git.tree_at(root, "HEAD", "")


# gitpython-developers/GitPython#633, #510, #1060
def test_on_a_detached_head_all_works(root: Path) -> None:
    run_git(root, "checkout", "-q", "--detach")
    short = git_says(root, "rev-parse", "--short", "HEAD")
    assert ran(root).startswith(f"(detached at {short})")
    run_script(SCRIPT + RECORD, root)
    assert subjects(root) == ["first", "Write entry.yaml"]
    assert git_says(root, "rev-parse", "main") != git.head(root)


# ICB-DCM/pyABC#264, opsmill/infrahub#296
def test_before_the_first_commit_all_works(tmp_path: Path) -> None:
    root = repository(tmp_path / "fresh")
    assert ran(root).startswith("main None")
    run_script(SCRIPT + RECORD, root)
    assert subjects(root) == ["Write entry.yaml"]


# fsfe/reuse-tool#203
def test_a_work_tree_nested_in_an_ignored_folder_is_not_entered(root: Path) -> None:
    put(root, ".gitignore", "/trees/\n")
    commit(root, "ignore")
    run_git(root, "worktree", "add", "-q", "-b", "side", str(root / "trees" / "one"))
    put(root, "trees/one/formulas/XX.yaml", "code: XX\n")
    put(root, "labbook.yaml", "format: 1\ntitle: T\n")
    assert list(read_notebook(root).files) == ["labbook.yaml"]
    assert set(git.staged_files(root)) == {"a.yaml", ".gitignore"}
    run_script(SCRIPT + RECORD, root)
    assert git_says(root, "show", "--format=", "--name-only") == "entry.yaml"
    inside = root / "trees" / "one"
    record(inside, plan(inside, "entry.yaml", b"2\n"), command="note")
    assert git.branch(inside) == "side"
    assert subjects(inside) == ["first", "ignore", "Write entry.yaml"]


# pre-commit/pre-commit#2063, #570
def test_nothing_of_the_persons_work_is_touched(root: Path, tmp_path: Path) -> None:
    inner = repository(tmp_path / "inner")
    put(inner, "x", "1")
    commit(inner, "inner")
    run_git(root, "-c", "protocol.file.allow=always", "submodule", "add", "-q", str(inner), "sub")
    commit(root, "submodule")
    run_git(root, "config", "submodule.recurse", "true")
    put(root, "sub/x", "changed inside")
    put(root, "a.yaml", "staged\n")
    run_git(root, "add", "a.yaml")
    put(root, "a.yaml", "unstaged on top\n")
    put(root, "untracked", "1")
    before = git_says(root, "status", "--porcelain")
    record(root, plan(root, "entry.yaml", b"1\n"), command="note")
    with pytest.raises(GitRefused):
        hook(root, "pre-commit", "exit 1")
        record(root, plan(root, "entry2.yaml", b"1\n"), command="note")
    (root / "entry2.yaml").unlink()
    run_git(root, "rm", "-q", "--cached", "entry2.yaml")
    assert git_says(root, "status", "--porcelain") == before
    assert (root / "sub" / "x").read_text() == "changed inside"
    assert (root / "a.yaml").read_text() == "unstaged on top\n"
    assert git_says(root, "show", ":a.yaml") == "staged"
    assert git_says(root, "stash", "list") == ""


# gitpython-developers/GitPython#580, copier-org/copier#1224
@pytest.mark.skipif(os.name == "nt", reason="the signing program is a shell script")
def test_commits_are_the_persons_own(root: Path, tmp_path: Path) -> None:
    failing = put(tmp_path, "gpg", "#!/bin/sh\nexit 1\n")
    failing.chmod(0o755)
    env = config(tmp_path, f"[gpg]\n\tprogram = {failing}\n[commit]\n\tgpgSign = true\n")
    refused = run_script(SCRIPT + RECORD, root, env, check=False)
    assert refused.returncode
    assert "GitRefused" in refused.stderr
    assert subjects(root) == ["first"]
    nameless = {"GIT_CONFIG_GLOBAL": os.devnull, "EMAIL": ""}
    run_git(root, "config", "user.useConfigOnly", "true")
    refused = run_script(SCRIPT.replace("== []", "") + RECORD, root, nameless, check=False)
    assert "no email was given" in refused.stderr  # git's own words, in English for a test
    assert subjects(root) == ["first"]
    hook(root, "commit-msg", 'echo "Seen: by the hook" >> "$1"')
    record(root, plan(root, "b.yaml", b"1"), command="note")
    assert git_says(root, "log", "-1", "--format=%an %b").split("\n")[-2] == "Seen: by the hook"


# gitpython-developers/GitPython#1882
def test_without_git_reading_works_and_recording_says_why(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(root, "labbook.yaml", "format: 1\ntitle: T\n")
    empty = tmp_path / "empty"
    empty.mkdir()
    code = """
    from labbook.notebook.snapshot import read_notebook
    root = Path.cwd()
    assert read_notebook(root).settings.title == "T"
    assert leftovers(root) == []
    try:
        record(root, plan(root, "b.yaml", b"1"), command="note")
    except Exception as error:
        print(type(error).__name__, error.exit_code, error.what, "|", error.mend)
    """
    said = run_script(code, root, {"PATH": str(empty)})
    assert said.stdout.startswith("GitRefused 4 git is not installed")
    assert said.stdout.count("\n") == 1
    assert said.stderr == ""
    assert not (root / "b.yaml").exists()


# twisted/towncrier#448
@pytest.mark.skipif(os.name == "nt", reason="a shell script stands before git")
@pytest.mark.parametrize("verb", ["rev-parse", "var", "add", "diff", "commit"])
def test_a_failing_git_is_never_taken_for_done(
    verb: str, root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = shutil.which("git")
    put(tmp_path / "bin", "git", f"""#!/bin/sh
for word; do [ "$word" = "{verb}" ] && {{ echo "fatal: out of paper" >&2; exit 128; }}; done
exec {real} "$@"
""").chmod(0o755)  # fmt: skip
    put(root, "b.yaml", "old")
    wanted = Plan((Change("b.yaml", b"old", b"new"), Change("c.yaml", None, b"1")), "x")
    with monkeypatch.context() as patch, pytest.raises(GitRefused) as caught:
        patch.setenv("PATH", f"{tmp_path / 'bin'}{os.pathsep}{os.environ['PATH']}")
        record(root, lambda: wanted, command="note")
    assert "out of paper" in caught.value.what
    assert subjects(root) == ["first"]
    if verb in ("rev-parse", "var"):  # asked before anything is written
        assert (root / "b.yaml").read_text() == "old"
        assert leftovers(root) == []
    else:  # the entry is kept, and the next command commits it
        assert (root / "b.yaml").read_text() == "new"
        record(root, plan(root, "d.yaml", b"1"), command="note")
        assert subjects(root) == ["first", "x", "Write d.yaml"]
