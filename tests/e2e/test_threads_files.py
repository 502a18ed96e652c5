"""What public threads about other programs teach about files and the command line.

Each test names the thread whose trouble must not come back here.
"""

from __future__ import annotations

import importlib
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Ran, RunLabbook
from tests.notebook.repos import commit, git_says, put, run_git
from tests.work.harm import swap
from tests.work.notebooks import PATH, Small, small_notebook


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Small:
    return small_notebook(tmp_path_factory.mktemp("made") / "nb")


@pytest.fixture
def small(made: Small, tmp_path: Path) -> Small:
    shutil.copytree(made.root, tmp_path / "nb")
    return Small(tmp_path / "nb", made.first, made.second, made.open)


def ends(found: Ran, code: int = 0) -> Ran:
    """The run, which has to have ended so, and never with a traceback."""
    assert "Traceback" not in found.out + found.err
    assert found.code == code, found
    return found


ODD = """\
code:   "HC"          # on the jar
title: 'Hand cream, for  throwers'


id: f-hc0001
emulsion: water-in-oil    # W/O
phases:
    - phase:  A
      name: oil
      lines:
         # the fat
         {sunflower-oil: 20.0, beeswax: 1.50}
    -   phase: B
        lines:
        - { ingredient: water , percent: q.s. }\x20\x20
        - percent: 0.50
          ingredient: sodium-benzoate
notes: >-
   folded
   words
targets: []
version: 3   # kept by save
"""


# pre-commit/pre-commit#210
@pytest.mark.parametrize("newline", ["\n", "\r\n"], ids=["LF", "CRLF"])
@pytest.mark.parametrize("final", [True, False], ids=["final newline", "none"])
def test_a_changed_number_is_a_diff_of_one_line(
    small: Small, run_labbook: RunLabbook, newline: str, final: bool
) -> None:
    run_git(small.root, "config", "core.autocrlf", "false")
    put(small.root, ".gitattributes", "* -text\n")
    text = (ODD if final else ODD.removesuffix("\n")).replace("\n", newline)
    put(small.root, PATH, text.encode())
    commit(small.root, "as I like it")
    ends(run_labbook("save", "HC", cwd=small.root))
    assert git_says(small.root, "diff", "--numstat", "HEAD~1", "--", PATH) == f"1\t1\t{PATH}"
    now = (small.root / PATH).read_bytes().decode()
    assert now == text.replace("version: 3 ", "version: 4 ")
    ends(run_labbook("undo", cwd=small.root))
    assert (small.root / PATH).read_bytes().decode() == text


LONG = "It went in slowly, a spoon at a time, " * 8 + "and came out white."
URL = "https://notebook.invalid/" + "a/very/long/path/" * 12 + "?with=a&query=of#parts"


# treeverse/dvc#9397
def test_long_notes_and_addresses_survive(small: Small, run_labbook: RunLabbook) -> None:
    assert len(LONG) > 300
    text = (small.root / PATH).read_text(encoding="utf-8")
    head, _, tail = text.partition("notes: |\n")
    added = f"source: {URL}\ncomment: {LONG}\n"
    put(small.root, PATH, swap("percent: 3}", "percent: 2}")(f"{head}{added}notes: |\n{tail}"))
    ends(run_labbook("save", "HC", cwd=small.root))
    assert added in (small.root / PATH).read_text(encoding="utf-8")
    ends(run_labbook("note", small.open[-2:], f"{LONG} {URL}", cwd=small.root))
    path = small.root / small.path(small.open)
    (line,) = [one for one in path.read_bytes().splitlines() if URL.encode() in one]
    assert LONG.encode() in line
    ends(run_labbook("weigh", small.open[-2:], "beeswax=2.51", cwd=small.root))
    ends(run_labbook("note", small.open[-2:], "pH 5.0", cwd=small.root))
    assert line in path.read_bytes().splitlines()
    assert URL in ends(run_labbook("show", small.open[-2:], "--json", cwd=small.root)).out


AWKWARD = ("9509425e4", "58899e0", "0123", "0815", "1_000", "NO", "2024-01-01", "12:30", "0x1F")


# home-assistant/supervisor#3314, helm/helm#6921
@pytest.mark.parametrize("text", AWKWARD)
def test_what_looks_like_a_number_stays_text(
    small: Small, run_labbook: RunLabbook, text: str
) -> None:
    from ruamel.yaml import YAML

    yaml: Any = importlib.import_module("yaml")  # it has no types

    words = ("ingredient", "lot", "add", "glycerin", "--lot", text, "--supplier", text)
    ends(run_labbook(*words, "--name", "pack", cwd=small.root))
    written = (small.root / "lots" / "pack.yaml").read_text(encoding="utf-8")
    for reader in (yaml.safe_load, YAML(typ="safe", pure=True).load):
        found = reader(written)
        assert (found["lot"], found["supplier"]) == (text, text)
    # Typed without quotes by a hand it is text as well.
    put(small.root, "lots/pack.yaml", written.replace(f'"{text}"', text))
    assert f'"{text}"' in ends(run_labbook("show", "pack", "--json", cwd=small.root)).out


def figures(data: Any, at: str = "") -> dict[str, Any]:
    """The numbers of plain data by their place."""
    if isinstance(data, dict):
        return {k: v for key, one in data.items() for k, v in figures(one, f"{at}/{key}").items()}
    if isinstance(data, list):
        return {k: v for n, one in enumerate(data) for k, v in figures(one, f"{at}/{n}").items()}
    number = isinstance(data, int | float) and not isinstance(data, bool)
    return {at: (type(data), data)} if number else {}


# treeverse/dvc#8466, yaml/pyyaml#173
def test_numbers_are_the_same_to_old_and_new_readers(small: Small, run_labbook: RunLabbook) -> None:
    from ruamel.yaml import YAML

    yaml: Any = importlib.import_module("yaml")  # it has no types

    name = small.open[-2:]
    text = (small.root / PATH).read_text(encoding="utf-8")
    put(small.root, PATH, swap("chloride, percent: 0.8", "chloride, percent: 0.00001")(text))
    made = ends(run_labbook("make", "HC", "--size", "1000000g", cwd=small.root))
    assert "HC@4" in made.out
    ends(run_labbook("weigh", name, "beeswax=2.50", "glycerin=0.00001", "--yes", cwd=small.root))
    ends(run_labbook("note", name, "pH 5.10; viscosity 120000 mPa.s", cwd=small.root))
    refused = run_labbook("weigh", name, "water=1e-5", cwd=small.root)
    assert refused.code == 2
    texts = [p.read_text(encoding="utf-8") for p in small.root.glob("batches/2026/*/batch.yaml")]
    for text in texts:
        old = figures(yaml.safe_load(text))
        assert old == figures(YAML(typ="safe", pure=True).load(text))
        assert old
        assert not re.search(r"[ :][0-9.]+e[-+]?[0-9]", text)
    assert any("mass: 2.50 g" in text for text in texts)
    assert any("value: 5.10" in text for text in texts)
    assert any("percent: 0.00001" in text for text in texts)


# teemtee/tmt#511, yaml/pyyaml#41, ApeWorX/ape#1718
def test_a_key_twice_names_both_lines_and_the_next_file_is_read(
    small: Small, run_labbook: RunLabbook
) -> None:
    text = (small.root / PATH).read_text(encoding="utf-8")
    put(small.root, PATH, text + "emulsion: gel\n")
    lotion = (small.root / "formulas" / "LO.yaml").read_text(encoding="utf-8")
    put(small.root, "formulas/LO.yaml", lotion.replace("emulsion: oil-in-water", "emulsion: wet"))
    said = ends(run_labbook("check", cwd=small.root), 1).out
    first = text.splitlines().index("emulsion: water-in-oil") + 1
    last = len(text.splitlines()) + 1
    assert f"{PATH}:{last}:1" in said
    assert re.search(rf"\b(line )?{first}\b", said[said.index(f"{PATH}:{last}:1") :])
    wrong = lotion.splitlines().index("emulsion: oil-in-water") + 1
    assert f"formulas/LO.yaml:{wrong}:11" in said


FAIL = """
import sys, {module} as module
def fail(*words, **named):
    raise {error}
module.{name} = fail
from labbook.cli.main import run
sys.argv = ["labbook", *sys.argv[1:]]
sys.exit(run())
"""
FULL = 'OSError(28, "No space left on device")'


def failing(small: Small, module: str, name: str, error: str, *words: str) -> Ran:
    """Runs a command of which one function fails."""
    code = FAIL.format(module=module, name=name, error=error)
    ran = subprocess.run(
        [sys.executable, "-c", code, *words],
        cwd=small.root,
        env=os.environ | {"TMPDIR": str(small.root.parent)},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    return Ran(ran.returncode, ran.stdout, ran.stderr)


# blakeblackshear/frigate#23138, NousResearch/hermes-agent#700
@pytest.mark.parametrize(
    ("module", "name", "error", "code"),
    [
        ("labbook.notebook.edit", "append", 'ValueError("half a list")', 70),
        ("os", "replace", FULL, 3),
        ("os", "fsync", FULL, 3),
    ],
    ids=["dump", "replace", "write"],
)
def test_a_failed_write_leaves_the_old_bytes(
    small: Small, run_labbook: RunLabbook, module: str, name: str, error: str, code: int
) -> None:
    path = small.root / small.path(small.open)
    before = path.read_bytes()
    found = ends(failing(small, module, name, error, "note", small.open[-2:], "pH 5.0"), code)
    assert found.out == ""
    assert path.read_bytes() == before
    assert git_says(small.root, "status", "--porcelain") == ""
    ends(run_labbook("note", small.open[-2:], "smells of wax", cwd=small.root))
    assert not list(small.root.rglob(".labbook-tmp-*"))
    ends(run_labbook("check", cwd=small.root))


# The command line ------------------------------------------------------------------------------


# fastapi/typer#1867
def test_mistakes_of_usage_and_of_the_notebook(small: Small, run_labbook: RunLabbook) -> None:
    for words in (["close", "--jars", "many"], ["diff"], ["no-such-command"], ["log", "--no"]):
        found = ends(run_labbook(*words, cwd=small.root), 2)
        assert found.err.startswith("Usage: labbook")
        assert found.out == ""
    found = ends(run_labbook("log", "NOPE", cwd=small.root), 2)
    assert found.err.startswith("stopped ")
    found = ends(run_labbook("log", "HC", cwd=small.root.parent), 2)
    assert "labbook init" in found.err


# anaconda/anaconda-client#875, Textualize/rich#2676
def test_brackets_are_only_brackets(small: Small, run_labbook: RunLabbook) -> None:
    title = "Cream [/close] [red]for[/red] :smile: **throwers**"
    text = (small.root / PATH).read_text(encoding="utf-8")
    put(small.root, PATH, swap("title: Hand cream for throwers   #", f'title: "{title}"   #')(text))
    for words in (["formula", "list"], ["show", "HC"], ["log", "HC"]):
        said = " ".join(ends(run_labbook(*words, cwd=small.root)).out.split())
        assert title in said
    refused = ends(run_labbook("log", "[/close]", cwd=small.root), 2)
    assert "[/close]" in refused.err


# anaconda/anaconda-client#875
def test_the_help_of_every_command() -> None:
    code = (
        "from labbook.cli.main import app\nimport typer\n"
        "def tell(command, name, parent):\n"
        "    context = command.make_context(name, [], parent=parent, resilient_parsing=True)\n"
        "    assert command.get_help(context)\n"
        "    for name in getattr(command, 'list_commands', lambda _: ())(context):\n"
        "        tell(command.get_command(context, name), name, context)\n"
        "tell(typer.main.get_command(app), 'labbook', None)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert ran.returncode == 0, ran.stderr


# IAMconsortium/nomenclature#555
def test_a_mistake_of_the_program_shows_no_values(small: Small, tmp_path: Path) -> None:
    words = ("note", small.open[-2:], "given to a secret friend")
    found = ends(failing(small, "labbook.notebook.edit", "append", 'ValueError("x")', *words), 70)
    (report,) = tmp_path.glob("labbook-report-*")
    assert str(report) in " ".join(found.err.split())
    assert "secret friend" not in found.err + report.read_text(encoding="utf-8")
    assert "edit" in report.read_text(encoding="utf-8")


# Backblaze/B2_Command_Line_Tool#1071
@pytest.mark.skipif(os.name == "nt", reason="pipes end otherwise there")
@pytest.mark.parametrize("words", [["log", "HC"], ["check", "--json"], ["--help"]], ids=" ".join)
@pytest.mark.parametrize("unbuffered", ["1", ""], ids=["at once", "at the end"])
def test_a_reader_that_has_left(small: Small, words: list[str], unbuffered: str) -> None:
    read, write = os.pipe()
    os.close(read)
    ran = subprocess.run(
        [sys.executable, "-m", "labbook", *words],
        cwd=small.root, stdout=write, stderr=subprocess.PIPE, check=False,
        env=os.environ | {"PYTHONUNBUFFERED": unbuffered},
    )  # fmt: skip
    os.close(write)
    assert ran.stderr == b""
    assert ran.returncode == 141
