"""The same commands in every surrounding: folders, git's states, consoles, files of others."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import RunLabbook, command
from tests.e2e.bench import Hand, ended
from tests.e2e.terminal import at_terminal
from tests.notebook.repos import commit, git_says, put, repository, run_git
from tests.work.notebooks import PATH, Small

POSIX = pytest.mark.skipif(os.name == "nt", reason="a matter of POSIX systems")
READING = (
    (), ("show", "HC"), ("formula", "list"), ("formula", "scale", "HC"), ("batch", "list"),
    ("batch", "sheet"), ("check",), ("due",), ("outcomes", "HC"), ("ingredient", "list"),
)  # fmt: skip
"""Commands that read, and need no history."""


def copied(small: Small, to: Path) -> Small:
    """The notebook in a folder of another name."""
    shutil.copytree(small.root, to)
    return Small(to, small.first, small.second, small.open)


# Where the notebook is ----------------------------------------------------------------------------


def test_from_a_sub_folder_by_name_and_by_variable(hand: Hand, tmp_path: Path) -> None:
    run = hand.run
    inside = hand.root / "batches" / "2026"
    listed = ended(run("batch", "list", cwd=inside)).out
    assert hand.open in listed
    assert ended(run("--notebook", "nb", "batch", "list", cwd=tmp_path)).out == listed
    env = {"LABBOOK_DIR": str(hand.root)}
    assert ended(run("batch", "list", cwd=tmp_path, env=env)).out == listed
    said = ended(run("--notebook", "nowhere", "batch", "list", cwd=hand.root), 2).err
    assert "is no notebook: it has no labbook.yaml" in said.replace("\n            ", " ")


def test_outside_of_any(run_labbook: RunLabbook, tmp_path: Path) -> None:
    assert "no notebook here" in ended(run_labbook(cwd=tmp_path)).out
    said = ended(run_labbook("batch", "list", cwd=tmp_path), 2).err
    assert "labbook init FOLDER" in said
    assert list(tmp_path.iterdir()) == []


def test_inside_a_larger_repository(run_labbook: RunLabbook, tmp_path: Path) -> None:
    outer = repository(tmp_path / "outer")
    put(outer, "a.txt", "a\n")
    commit(outer, "before")
    put(outer, "b.txt", "b\n")
    run_git(outer, "add", "b.txt")
    put(outer, "a.txt", "a\nmore\n")
    said = ended(run_labbook("init", "nb", cwd=outer)).out
    assert "inside" in said
    ended(run_labbook("formula", "new", "DD", "--type", "gel", cwd=outer / "nb"))
    ended(run_labbook("make", "DD", cwd=outer / "nb"))
    assert git_says(outer, "status", "--porcelain") == " M a.txt\nA  b.txt"
    paths = git_says(outer, "log", "-4", "--format=", "--name-only")
    assert {path.split("/")[0] for path in paths.split("\n") if path} == {"nb"}


def test_a_path_with_spaces_and_umlauts(hand: Hand, tmp_path: Path) -> None:
    small = copied(hand.small, tmp_path / "Töpferei Süd" / "mein Heft")
    there = Hand(hand.run, small)
    there.says("weigh", "beeswax=2.5")
    there.says("note", "riecht nach Mandelöl")
    assert "remark: riecht nach Mandelöl" in git_says(small.root, "log", "-1", "--format=%s")
    assert "beeswax" in there.says("show", small.open)


@POSIX
def test_a_path_that_can_be_pasted(run_labbook: RunLabbook, tmp_path: Path) -> None:
    (tmp_path / "my room").mkdir()
    ran = at_terminal("init", "my room/a book", cwd=tmp_path)
    pasted = next(line for line in ended(ran).out.splitlines() if "cd " in line)
    where = subprocess.run(
        ["sh", "-c", f"{pasted.removeprefix('then').strip()} && pwd"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert where.stdout.strip() == str(tmp_path / "my room" / "a book")


# Git missing, nameless, in odd states -------------------------------------------------------------


@POSIX
def test_without_git_one_reads_and_records_nothing(hand: Hand, tmp_path: Path) -> None:
    empty = {"PATH": str(tmp_path / "empty")}
    for words in READING:
        said = ended(hand.run(*words, cwd=hand.root, env=empty)).out
        assert said, words
    assert "HC@3 by its file" in hand.does("show", "HC", env=empty)
    before = (hand.root / hand.small.path(hand.small.open)).read_bytes()
    for words in (("make", "HC"), ("weigh", "beeswax=1"), ("note", "x"), ("close",), ("save",),
                  ("log", "HC"), ("undo",), ("init", "other")):  # fmt: skip
        said = ended(hand.run(*words, cwd=hand.root, env=empty), 4).err
        assert "git is not installed" in said, words
        assert "https://git-scm.com" in said
    assert (hand.root / hand.small.path(hand.small.open)).read_bytes() == before
    assert not (hand.root / "other").exists()
    assert git_says(hand.root, "status", "--porcelain") == ""


@POSIX
def test_where_git_knows_no_name(hand: Hand, tmp_path: Path) -> None:
    nameless = {"GIT_CONFIG_GLOBAL": os.devnull, "EMAIL": None}
    config = {"GIT_CONFIG_GLOBAL": str(put(tmp_path, "config", "[user]\n\tuseConfigOnly = true\n"))}
    said = ended(hand.run("init", "new", cwd=tmp_path, env=nameless | config), 2).err
    assert "Git knows no name" in said
    assert '--name "Your name"' in said
    assert not (tmp_path / "new").exists()
    said = ended(hand.run("note", "x", cwd=hand.root, env=config), 4).err
    assert 'labbook init --name "Your name"' in said
    assert hand.batch(hand.open).remarks == ()
    ended(hand.run("init", "new", "--name", "Ada Potter", cwd=tmp_path, env=config))
    assert git_says(tmp_path / "new", "log", "-1", "--format=%an %ae") == (
        "Ada Potter ada.potter@labbook.invalid"
    )
    asked = [("Your name, for this notebook only", "Bea")]
    ended(at_terminal("init", "asked", cwd=tmp_path, env=config, answers=asked))
    assert git_says(tmp_path / "asked", "log", "-1", "--format=%an") == "Bea"


def test_a_detached_head(hand: Hand) -> None:
    run_git(hand.root, "checkout", "--quiet", "--detach")
    hand.says("note", "smells of almonds")
    assert "almonds" in git_says(hand.root, "log", "-1", "--format=%s")
    assert git_says(hand.root, "rev-parse", "--abbrev-ref", "HEAD") == "HEAD"


def test_an_unborn_branch(hand: Hand) -> None:
    run_git(hand.root, "checkout", "--quiet", "--orphan", "fresh")
    assert "HC, not saved yet" in hand.says()
    assert "which history doesn't hold" in hand.says("log", "HC")
    hand.says("save", "HC")
    assert git_says(hand.root, "log", "--format=%s").startswith("HC@1: ")
    held = git_says(hand.root, "ls-tree", "-r", "--name-only", "HEAD")
    assert "labbook.yaml" not in held  # what else was staged stays staged


def test_a_clone(hand: Hand, tmp_path: Path) -> None:
    run_git(tmp_path, "clone", "--quiet", str(hand.root), "clone")
    there = tmp_path / "clone"
    assert hand.open in ended(hand.run(cwd=there)).out
    said = ended(hand.run("init", cwd=there)).out
    assert "a notebook already" in said
    assert "a repository of its own" in said
    assert (there / ".labbook" / "schema" / "formula.json").exists()
    assert git_says(there, "status", "--porcelain") == ""
    ended(hand.run("formula", "new", "NEW", "--type", "gel", cwd=there))


# Line ends, bytes, bad files ----------------------------------------------------------------------


@pytest.mark.parametrize("setting", ["true", "input", "false"])
def test_windows_line_ends(hand: Hand, setting: str) -> None:
    run_git(hand.root, "config", "core.autocrlf", setting)
    path = hand.small.path(hand.small.open)
    raw = (hand.root / path).read_bytes().replace(b"\n", b"\r\n")
    put(hand.root, path, raw)
    formula = (hand.root / PATH).read_bytes()
    put(hand.root, PATH, formula.replace(b"\n", b"\r\n"))
    assert "HC@3" in hand.does("show", "HC").splitlines()[0]
    assert "changed since" not in hand.does("show", "HC")
    hand.does("weigh", "beeswax=2.51")
    now = (hand.root / path).read_bytes()
    assert now.count(b"\n") == now.count(b"\r\n") > raw.count(b"\n")
    assert "nothing found" in hand.does("check")


@POSIX
def test_a_file_whose_name_is_no_text(hand: Hand) -> None:
    named = os.fsencode(hand.root / "formulas") + b"/caf\xe9.yaml"
    Path(os.fsdecode(named)).write_bytes(b"code: X\n")
    assert "HC" in hand.says("formula", "list")
    ran = hand.run("check", cwd=hand.root)
    assert ran.code in (0, 1)
    assert "mistake" not in ran.err
    hand.says("note", "smells of almonds")


def test_one_bad_file_beside_good_ones(hand: Hand) -> None:
    put(hand.root, "formulas/LO.yaml", "code: LO\n  title: [never closed\n")
    assert "HC@3" in hand.does("show", "HC")
    assert "formulas/LO.yaml" in hand.does()
    found = ended(hand.run("check", cwd=hand.root), 1).out
    assert "formulas/LO.yaml:2" in found
    said = hand.does("show", "LO", code=3)
    assert "formulas/LO.yaml:2" in said
    assert "labbook check LO" in said
    hand.does("note", "pH 5.2")
    hand.does("make", "HC")


# Consoles and pipes -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "console",
    [
        {"LC_ALL": "C", "LANG": None},
        {"LC_ALL": None, "LANG": "C"},
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        {"PYTHONIOENCODING": "ascii"},
        {"PYTHONIOENCODING": "cp1252"},
    ],
    ids=["LC_ALL=C", "LANG=C", "no UTF-8 at all", "ascii", "cp1252"],
)
def test_consoles_without_utf8(hand: Hand, tmp_path: Path, console: dict[str, str | None]) -> None:
    small = copied(hand.small, tmp_path / "Töpferei")
    env = {"PYTHONIOENCODING": None, "PYTHONUTF8": None} | console
    text = (small.root / PATH).read_text(encoding="utf-8")
    put(small.root, PATH, text.replace("beeswax: 2.5", "beeswax: 3.5"))
    ran = ended(hand.run("show", "HC", cwd=small.root, env=env))
    assert "72" in ran.out
    ran = ended(hand.run(cwd=small.root, env=env))
    assert "beeswax 2.5" in ran.out
    if console.get("PYTHONUTF8") == "0" or console.get("PYTHONIOENCODING"):
        assert "2.5 -> 3.5" in ran.out
    for words in (("show", small.open), ("log", "HC"), ("diff", "HC"), ("show", "HC", "--json"),
                  ("batch", "sheet")):  # fmt: skip
        ended(hand.run(*words, cwd=small.root, env=env))


@POSIX
def test_a_pipe_that_is_closed_early(hand: Hand) -> None:
    for words in (("show", "HC", "--json"), ("log", "HC"), ("check",)):
        process = subprocess.Popen(
            [*command("script"), *words], cwd=hand.root, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip
        assert process.stdout is not None
        process.stdout.close()
        _, err = process.communicate(timeout=60)
        assert process.returncode in (0, 141)
        assert err == b""


@pytest.mark.parametrize("words", [("weigh",), ("check", "--fix"), ("edit", "HC")])
def test_nothing_asks_where_there_is_no_terminal(hand: Hand, words: tuple[str, ...]) -> None:
    if words == ("check", "--fix"):
        text = (hand.root / PATH).read_text(encoding="utf-8")
        put(hand.root, PATH, text.replace("beeswax: 2.5", "beeswax: 2,5"))
    ran = hand.run(*words, cwd=hand.root, env={"EDITOR": None, "VISUAL": None})
    assert ran.code == 2, ran
    assert "mend" in ran.err


def test_python_minus_m_is_the_same(hand: Hand) -> None:
    same = hand.run("batch", "list", cwd=hand.root, through="module")
    assert ended(same).out == hand.says("batch", "list")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a file that is always full is of Linux")
def test_output_that_finds_no_room_is_a_sentence_and_the_entry_stays(hand: Hand) -> None:
    with Path("/dev/full").open("w") as full:
        ran = subprocess.run(
            [sys.executable, "-m", "labbook", "journal", "new", "Cracked hands"],
            cwd=hand.root, stdin=subprocess.DEVNULL, stdout=full, stderr=subprocess.PIPE,
            encoding="utf-8", check=False,
        )  # fmt: skip
    assert ran.returncode == 3
    assert "What the command had to say can't be written: No space left" in ran.stderr
    assert "report" not in ran.stderr
    assert list((hand.root / "journal").glob("*-cracked-hands.md"))
