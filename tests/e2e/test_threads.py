"""What public threads about other programs teach about git, tried on whole commands.

Each test names the thread whose trouble must not come back here. `tests/notebook/test_threads_git`
has the same for the modules underneath.
"""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

from tests.conftest import Ran, RunLabbook
from tests.notebook.repos import commit, git_says, hook, put, repository, run_git, subjects
from tests.work.harm import swap
from tests.work.notebooks import PATH, Small, small_notebook

READING = (("log", "HC"), ("diff", "HC@1", "HC@3"), ("check",))
POSIX = pytest.mark.skipif(os.name == "nt", reason="hooks and programs are shell scripts")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Small:
    return small_notebook(tmp_path_factory.mktemp("made") / "nb")


@pytest.fixture
def small(made: Small, tmp_path: Path) -> Small:
    shutil.copytree(made.root, tmp_path / "nb")
    return Small(tmp_path / "nb", made.first, made.second, made.open)


def read_all(run: RunLabbook, root: Path, env: dict[str, str | None] | None = None) -> list[Ran]:
    """What the reading commands say."""
    return [run(*words, cwd=root, env=env) for words in READING]


def config(folder: Path, text: str) -> dict[str, str | None]:
    """The person's own settings, added to the tests' maker."""
    maker = "[user]\n\tname = Test Maker\n\temail = test.maker@labbook.invalid\n"
    return {"GIT_CONFIG_GLOBAL": str(put(folder, "gitconfig", maker + text))}


def program(folder: Path, name: str, body: str) -> Path:
    """A shell script."""
    found = put(folder, name, f"#!/bin/sh\n{body}\n")
    found.chmod(0o755)
    return found


def ends(found: Ran, code: int = 0) -> Ran:
    """The run, which has to have ended so, and never with a traceback."""
    assert "Traceback" not in found.out + found.err
    assert found.code == code, found
    return found


# pre-commit/pre-commit#300, gitpython-developers/GitPython#535
def test_git_dir_of_another_notebook(small: Small, tmp_path: Path, run_labbook: RunLabbook) -> None:
    other = tmp_path / "other"
    ends(run_labbook("init", other, "--title", "Another"))
    before = git_says(other, "rev-parse", "HEAD")
    env: dict[str, str | None] = {
        "GIT_DIR": str(other / ".git"),
        "GIT_WORK_TREE": str(other),
        "GIT_INDEX_FILE": str(other / ".git" / "index"),
        "GIT_OBJECT_DIRECTORY": str(other / ".git" / "objects"),
    }
    assert read_all(run_labbook, small.root, env) == read_all(run_labbook, small.root)
    ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root, env=env))
    assert "pH 5.0" in subjects(small.root)[-1]
    assert git_says(other, "rev-parse", "HEAD") == before
    assert git_says(other, "status", "--porcelain") == ""
    assert git_says(small.root, "status", "--porcelain") == ""


# golangci/golangci-lint#6513, evilmartians/lefthook#1264
@POSIX
@pytest.mark.parametrize("words", [["-a"], ["--", "formulas/LO.yaml"], []], ids=str)
def test_a_hook_checks_what_is_about_to_be_committed(
    small: Small, run_labbook: RunLabbook, words: list[str]
) -> None:
    call = f'"{sys.executable}" -m labbook'
    hook(small.root, "pre-commit", f'{call} log LO > /dev/null && {call} check --staged > "$OUT"')
    heard = small.root.parent / "heard"
    env = {"OUT": str(heard)}
    text = (small.root / PATH).read_text(encoding="utf-8")
    lotion = small.root / "formulas" / "LO.yaml"
    put(small.root, PATH, swap("beeswax: 2.5", "beeswax: 2,5")(text))
    put(small.root, str(lotion), lotion.read_text(encoding="utf-8") + "# a word\n")
    if not words:
        run_git(small.root, "add", "formulas/LO.yaml")
    ran = run_git(small.root, "commit", "-q", "-m", "by hand", *words, env=env, check=False)
    said = heard.read_text(encoding="utf-8")
    line = text.splitlines().index("      beeswax: 2.5") + 1
    if words == ["-a"]:  # the broken file is part of it
        assert ran.returncode == 1, ran
        assert f"{PATH}:{line}:" in said
        put(small.root, PATH, swap("beeswax: 2.5", "beeswax: 2.6")(text))
        run_git(small.root, "commit", "-q", "-m", "by hand", *words, env=env)
        left = ""
    else:
        assert ran.returncode == 0, (ran, said)
        assert "nothing found" in said
        left = f" M {PATH}"
    assert subjects(small.root)[-1] == "by hand"
    assert git_says(small.root, "status", "--porcelain") == left
    assert run_git(small.root, "fsck", "--strict").returncode == 0


# pre-commit/pre-commit#545
@POSIX
def test_diff_settings(small: Small, tmp_path: Path, run_labbook: RunLabbook) -> None:
    loud = tmp_path / "ran"
    script = program(tmp_path, "shout", f"touch '{loud}'")
    env = config(
        tmp_path,
        f"[diff]\n\texternal = {script}\n\tnoprefix = true\n[color]\n\tui = always\n"
        f"[core]\n\tpager = {script}\n[log]\n\tdecorate = full\n\tfollow = true\n"
        "[status]\n\tshowUntrackedFiles = no\n[format]\n\tpretty = oneline\n",
    )
    assert read_all(run_labbook, small.root, env) == read_all(run_labbook, small.root)
    ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root, env=env))
    assert not loud.exists()
    assert git_says(small.root, "status", "--porcelain") == ""


GPG = """cat > /dev/null
case "$*" in
*--verify*) echo "gpg: many words" >&2; echo "[GNUPG:] GOODSIG 0 Test Maker" ;;
*) echo "[GNUPG:] SIG_CREATED " >&2
   printf -- "-----BEGIN PGP SIGNATURE-----\\n\\n-----END PGP SIGNATURE-----\\n" ;;
esac"""


# tibirna/qgit#66, desktop/desktop#5477, gitpython-developers/GitPython#580,
# copier-org/copier#1224
@POSIX
def test_signed_commits(small: Small, tmp_path: Path, run_labbook: RunLabbook) -> None:
    gpg = program(tmp_path, "gpg", GPG)
    env = config(
        tmp_path,
        f"[gpg]\n\tprogram = {gpg}\n[commit]\n\tgpgSign = true\n[log]\n\tshowSignature = true\n",
    )
    put(small.root, PATH, swap("percent: 3}", "percent: 2}")(
        (small.root / PATH).read_text(encoding="utf-8")
    ))  # fmt: skip
    ends(run_labbook("save", "HC", cwd=small.root, env=env))
    assert "gpgsig" in git_says(small.root, "cat-file", "-p", "HEAD")
    shown = {name: value for name, value in env.items() if value}
    assert b"many words" in run_git(small.root, "log", env=shown).stdout  # plain git shows them
    assert read_all(run_labbook, small.root, env) == read_all(run_labbook, small.root)
    program(tmp_path, "gpg", "exit 1")
    refused = ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root, env=env), 4)
    assert "gpg" in refused.err
    assert "HC@4" in subjects(small.root)[-1]
    ends(run_labbook("note", small.open[-2:], "smells of wax", cwd=small.root))
    assert [s for s in subjects(small.root) if "pH 5.0" in s]


# gitpython-developers/GitPython#580, copier-org/copier#1224
def test_a_git_that_knows_no_name(small: Small, run_labbook: RunLabbook) -> None:
    run_git(small.root, "config", "user.useConfigOnly", "true")
    nameless: dict[str, str | None] = {
        "GIT_CONFIG_GLOBAL": os.devnull,
        **{f"GIT_{who}_NAME": None for who in ("AUTHOR", "COMMITTER")},
        **{f"GIT_{who}_EMAIL": None for who in ("AUTHOR", "COMMITTER")},
    }
    before = (small.root / small.path(small.open)).read_bytes()
    commits = subjects(small.root)
    refused = ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root, env=nameless), 4)
    assert "user.name" in refused.err
    assert "no email was given" in refused.err  # git's own words
    assert (small.root / small.path(small.open)).read_bytes() == before
    assert subjects(small.root) == commits
    assert all(found.code == 0 for found in read_all(run_labbook, small.root, nameless))


# pre-commit/pre-commit#603
@pytest.mark.skipif(os.name == "nt", reason="Windows forbids such names")
def test_names_beyond_ascii(small: Small, tmp_path: Path, run_labbook: RunLabbook) -> None:
    root = tmp_path / "crème" / "é, an 'odd' name"
    shutil.copytree(small.root, root)
    ends(run_labbook("ingredient", "new", "crème-é", cwd=root))
    text = (root / PATH).read_text(encoding="utf-8")
    put(root, PATH, swap("beeswax: 2.5", "crème-é: 2.5")(text))
    put(root, "ingredients/two\nlines.yaml", 'id: "x"\n')
    ends(run_labbook("save", "HC", cwd=root))
    assert "crème-é" in ends(run_labbook("show", "HC", cwd=root)).out
    assert "crème-é" in ends(run_labbook("diff", "HC@3", "HC@4", cwd=root)).out
    held = run_git(root, "ls-files", "-z").stdout.decode().split("\0")
    assert "ingredients/crème-é.yaml" in held
    said = run_labbook("check", cwd=root)
    assert "Traceback" not in said.err
    assert "name-of-file" in said.out
    assert ends(run_labbook("undo", cwd=root)).out


# gitpython-developers/GitPython#1631
@pytest.mark.skipif(sys.platform != "linux", reason="other systems allow only Unicode names")
def test_a_name_that_is_not_utf8(small: Small, run_labbook: RunLabbook) -> None:
    before = read_all(run_labbook, small.root)
    put(small.root, os.fsdecode(b"journal/caf\xe9.md"), "words")
    assert read_all(run_labbook, small.root) == before
    ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root))
    commit(small.root, "a bad name")
    assert all(found.code == 0 for found in read_all(run_labbook, small.root))
    put(small.root, os.fsdecode(b"lots/caf\xe9.yaml"), 'id: "x"\n')
    found = run_labbook("check", cwd=small.root)
    assert "Traceback" not in found.err
    ends(run_labbook("note", small.open[-2:], "smells of wax", cwd=small.root))


# gitpython-developers/GitPython#633, #510, #1060
def test_on_no_branch(small: Small, run_labbook: RunLabbook) -> None:
    before = read_all(run_labbook, small.root)
    run_git(small.root, "checkout", "-q", "--detach")
    assert read_all(run_labbook, small.root) == before
    ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root))
    ends(run_labbook("undo", cwd=small.root))
    assert subjects(small.root)[-1].startswith("Undo: ")


# ICB-DCM/pyABC#264, opsmill/infrahub#296
def test_before_the_first_commit(small: Small, tmp_path: Path, run_labbook: RunLabbook) -> None:
    root = repository(tmp_path / "fresh")
    put(root, "labbook.yaml", "format: 1\ntitle: Studio\n")
    text = (small.root / PATH).read_text(encoding="utf-8")
    put(root, PATH, swap("version: 3\n", "")(text))
    words = [[], ["formula", "list"], ["log", "HC"], ["check"], ["batch", "list"], ["show", "HC"]]
    for line in [*words, ["diff", "HC", "HC"]]:
        ends(run_labbook(*line, cwd=root))
    assert "nothing to undo" in ends(run_labbook("undo", cwd=root), 2).err
    ends(run_labbook("save", "HC", cwd=root))
    assert len(subjects(root)) == 1


# fsfe/reuse-tool#203
def test_a_work_tree_inside_of_the_notebook(small: Small, run_labbook: RunLabbook) -> None:
    put(small.root, ".git/info/exclude", "/trees/\n")
    before = read_all(run_labbook, small.root)
    run_git(small.root, "worktree", "add", "-q", "-b", "side", str(small.root / "trees" / "one"))
    assert read_all(run_labbook, small.root) == before
    inside = small.root / "trees" / "one"
    assert read_all(run_labbook, inside) == before
    ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=inside / "formulas"))
    assert "pH 5.0" in subjects(inside)[-1]
    assert "pH 5.0" not in subjects(small.root)[-1]
    assert git_says(small.root, "status", "--porcelain") == ""


# pre-commit/pre-commit#2063, #570
def test_what_the_person_has_begun_stays(small: Small, run_labbook: RunLabbook) -> None:
    put(small.root, "formulas/LO.yaml", "staged: yes\n")
    run_git(small.root, "add", "formulas/LO.yaml")
    put(small.root, "formulas/LO.yaml", "on top: yes\n")
    put(small.root, "untracked.txt", "1")
    before = git_says(small.root, "status", "--porcelain")
    ends(run_labbook("restore", "HC@1", cwd=small.root))
    ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root))
    ends(run_labbook("undo", cwd=small.root))
    assert git_says(small.root, "status", "--porcelain") == before
    assert (small.root / "formulas" / "LO.yaml").read_text() == "on top: yes\n"
    assert git_says(small.root, "show", ":formulas/LO.yaml") == "staged: yes"
    assert git_says(small.root, "stash", "list") == ""
    put(small.root, PATH, (small.root / PATH).read_text(encoding="utf-8") + "# mine\n")
    mine = (small.root / PATH).read_bytes()
    ends(run_labbook("log", "HC", cwd=small.root))
    assert (small.root / PATH).read_bytes() == mine


# gitpython-developers/GitPython#1882
def test_without_git(small: Small, tmp_path: Path, run_labbook: RunLabbook) -> None:
    (tmp_path / "empty").mkdir()
    env: dict[str, str | None] = {"PATH": str(tmp_path / "empty")}
    ends(run_labbook("--help", env=env, through="module"))
    for line in ([], ["formula", "list"], ["show", "HC"], ["batch", "list"], ["check"]):
        ends(run_labbook(*line, cwd=small.root, env=env, through="module"))
    said = ends(run_labbook("check", cwd=small.root, env=env, through="module")).out
    assert "versions, pins and closed batches: git is not installed" in " ".join(said.split())
    before = (small.root / small.path(small.open)).read_bytes()
    words = ("note", small.open[-2:], "pH 5.0")
    refused = ends(run_labbook(*words, cwd=small.root, env=env, through="module"), 4)
    assert refused.out == ""
    assert refused.err.startswith("stopped     git is not installed")
    assert (small.root / small.path(small.open)).read_bytes() == before


# twisted/towncrier#448
@POSIX
@pytest.mark.parametrize("verb", ["var", "add", "commit"])
def test_a_failing_git_is_told(
    small: Small, tmp_path: Path, run_labbook: RunLabbook, verb: str
) -> None:
    real = shutil.which("git")
    program(
        tmp_path / "bin",
        "git",
        f'for word; do [ "$word" = {verb} ] && {{ echo "fatal: out of paper" >&2; exit 128; }};'
        f' done\nexec {real} "$@"',
    )
    env: dict[str, str | None] = {"PATH": f"{tmp_path / 'bin'}{os.pathsep}{os.environ['PATH']}"}
    before = (small.root / small.path(small.open)).read_bytes()
    refused = ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root, env=env), 4)
    assert "out of paper" in refused.err
    assert refused.out == ""
    now = (small.root / small.path(small.open)).read_bytes()
    assert (now == before) == (verb == "var")  # asked first; later the entry is kept
    ends(run_labbook("note", small.open[-2:], "smells of wax", cwd=small.root))
    assert len([s for s in subjects(small.root) if "pH 5.0" in s]) == (verb != "var")
    assert git_says(small.root, "status", "--porcelain") == ""
