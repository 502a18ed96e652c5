"""The rooms keep their promises: pure ones touch nothing outside, starting loads little."""

import ast
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import labbook
from tests import purity

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = Path(labbook.__file__).resolve().parent

SLOW_IMPORTS = {
    "deepdiff",
    "git",
    "icalendar",
    "jinja2",
    "markdown_it",
    "matplotlib",
    "numpy",
    "openpyxl",
    "pydantic",
    "pydantic_core",
    "rich",
    "ruamel",
    "scipy",
}

IMPURE = """
import os, pathlib, socket, sqlite3, subprocess, sys, tempfile
import hypothesis, hypothesis.strategies as st

def test_reads(): pathlib.Path(__file__).read_text(encoding="utf-8")

def test_writes(): open("trace.txt", "w")

def test_swallows():
    try:
        open(__file__)
    except Exception:
        pass

def test_lists(): os.listdir(".")

def test_starts_a_process(): subprocess.run([sys.executable, "-c", ""])

def test_starts_a_shell(): os.system("exit 0")

def test_opens_a_socket(): socket.socket()

def test_opens_a_database(): sqlite3.connect(":memory:")

def test_makes_a_folder(tmp_path): (tmp_path / "made").mkdir()

def test_makes_a_temporary_file(): tempfile.mkstemp()

@hypothesis.given(st.integers())
def test_in_a_property(n): open(__file__)
"""

PURE = """
import pathlib
import hypothesis, hypothesis.strategies as st
import pytest

TEXT = pathlib.Path(__file__).read_text(encoding="utf-8")

@pytest.fixture
def text():
    return pathlib.Path(__file__).read_text(encoding="utf-8")

def test_reads_at_module_level(): assert TEXT

def test_reads_in_a_fixture(text): assert text == TEXT

def test_imports_late():
    import sys
    assert not {"colorsys", "wave", "deepdiff"} & set(sys.modules)
    import colorsys, wave
    import deepdiff

@hypothesis.given(st.text() | st.integers().map(lambda n: n + 1))
def test_in_a_property(x): assert x == x
"""


def outcomes(folder: Path, files: dict[str, str]) -> dict[str, str]:
    """Run test files as if they lay in this suite, under its own conftest: test name → outcome."""
    (folder / "tests").mkdir()
    shutil.copy(ROOT / "pyproject.toml", folder)
    for name in ("__init__.py", "conftest.py", "purity.py"):
        shutil.copy(ROOT / "tests" / name, folder / "tests")
    for path, body in files.items():
        (folder / "tests" / path).parent.mkdir(exist_ok=True)
        (folder / "tests" / path).write_text(body, encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-rA", "-p", "no:cacheprovider", "-p", "no:xdist"],
        cwd=folder,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        env={name: text for name, text in os.environ.items() if not name.startswith("PYTEST_")},
        check=False,
    )
    found = re.findall(r"^(PASSED|FAILED|ERROR) tests/(\S+)", ran.stdout, re.MULTILINE)
    assert found, ran.stdout + ran.stderr
    return {name: outcome for outcome, name in found}


def test_a_test_of_a_pure_room_that_reaches_outside_fails(tmp_path: Path) -> None:
    tests = re.findall(r"def (test_\w+)", IMPURE)
    expected = {f"trade/test_it.py::{name}": "FAILED" for name in tests}
    assert outcomes(tmp_path, {"trade/test_it.py": IMPURE}) == expected
    assert not (tmp_path / "trace.txt").exists()


def test_imports_and_test_tools_are_let_through(tmp_path: Path) -> None:
    tests = re.findall(r"def (test_\w+)", PURE)
    expected = {f"model/test_it.py::{name}": "PASSED" for name in tests}
    assert outcomes(tmp_path, {"model/test_it.py": PURE}) == expected


def test_every_pure_room_is_watched_and_no_other(tmp_path: Path) -> None:
    body = "import os\ndef test_lists(): os.listdir('.')\n"
    rooms = {*purity.PURE_ROOMS, "notebook", "work", "cli"}
    assert all((PACKAGE / room).is_dir() for room in rooms)
    assert outcomes(tmp_path, {f"{room}/test_it.py": body for room in rooms}) == {
        f"{room}/test_it.py::test_lists": "FAILED" if room in purity.PURE_ROOMS else "PASSED"
        for room in rooms
    }


CI_ONLY = """
import pytest

@pytest.mark.needs_tool("a-program-that-nobody-has")
def test_with_a_tool(): pass

@pytest.mark.needs_tool("a-program-that-nobody-has", "git")
def test_with_any_of_two(): pass

def test_free(): pytest.skip("for another reason")
"""


@pytest.mark.parametrize(("ci", "expected"), [("true", "ERROR"), ("", None)])
def test_what_needs_a_tool_may_skip_but_not_under_ci(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ci: str, expected: str | None
) -> None:
    monkeypatch.setenv("CI", ci)
    found = outcomes(tmp_path, {"work/test_it.py": CI_ONLY})
    assert found.get("work/test_it.py::test_with_a_tool") == expected
    assert found["work/test_it.py::test_with_any_of_two"] == "PASSED"
    assert "work/test_it.py::test_free" not in found


SEALED = """
import os, pathlib, subprocess

def test_no_setting_of_the_developer_is_left():
    foreign = {"GIT_DIR", "GIT_INDEX_FILE", "LABBOOK_DIR", "XDG_CONFIG_HOME", "EMAIL", "EDITOR"}
    assert not foreign & set(os.environ)
    assert os.environ["LC_ALL"] == "C"

def test_git_knows_the_tests_maker_only(tmp_path):
    git = lambda *words: subprocess.run(["git", *words], cwd=tmp_path, capture_output=True)
    settings = git("config", "--list", "--name-only").stdout.split()
    assert settings == [b"user.name", b"user.email", b"init.defaultbranch"]
    assert pathlib.Path.home() == pathlib.Path(os.environ["GIT_CONFIG_GLOBAL"]).parent
"""


def test_the_suite_is_sealed_from_the_developers_machine(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    foreign = ("GIT_DIR", "GIT_INDEX_FILE", "LABBOOK_DIR", "XDG_CONFIG_HOME", "EMAIL", "EDITOR")
    for name in foreign:
        monkeypatch.setenv(name, str(tmp_path / "elsewhere"))
    monkeypatch.setenv("LC_ALL", "C")
    settings = {"user.name": "A Developer", "diff.external": "false", "color.ui": "always"}
    monkeypatch.setenv("GIT_CONFIG_COUNT", str(len(settings)))
    for number, (key, value) in enumerate(settings.items()):
        monkeypatch.setenv(f"GIT_CONFIG_KEY_{number}", key)
        monkeypatch.setenv(f"GIT_CONFIG_VALUE_{number}", value)
    found = outcomes(tmp_path, {"work/test_it.py": SEALED})
    assert set(found.values()) == {"PASSED"}, found
    assert len(found) == 2


# What starting loads ---------------------------------------------------------------------------


def loaded_by(statement: str) -> set[str]:
    """Top-level names of the modules in memory after a fresh Python ran the statement."""
    code = f"{statement}\nimport json, sys\nprint(json.dumps(sorted(sys.modules)))"
    ran = subprocess.run(
        [sys.executable, "-c", code],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    return {name.partition(".")[0] for name in json.loads(ran.stdout)}


def test_starting_the_command_loads_nothing_slow() -> None:
    loaded = loaded_by("import labbook.cli.main")
    assert "labbook" in loaded
    # An interpreter may load some by itself, through .pth files of the developer's environment.
    assert loaded & SLOW_IMPORTS <= loaded_by("pass")


def module_level_imports(tree: ast.Module) -> set[str]:
    """Top-level names that a module imports whenever it is imported itself."""
    found: set[str] = set()
    waiting: list[ast.AST] = [tree]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.partition(".")[0])
        elif isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            waiting += node.orelse
        elif not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            waiting += ast.iter_child_nodes(node)
    return found


def test_module_level_imports_are_found_wherever_they_hide() -> None:
    hidden = "try:\n    import git\nexcept ImportError:\n    pass\nclass A:\n    import rich.table"
    inner = "class A:\n    def f(self):\n        import scipy"
    guarded = "if TYPE_CHECKING:\n    import scipy\nelse:\n    import numpy\ndef f(): import jinja2"
    assert module_level_imports(ast.parse(hidden)) == {"git", "rich"}
    assert module_level_imports(ast.parse(guarded)) == {"numpy"}
    assert module_level_imports(ast.parse(inner)) == set()


def test_slow_libraries_are_imported_where_they_are_used() -> None:
    """Only the YAML modules of `notebook`, which are imported late themselves, may do otherwise."""
    early = {}
    for file in sorted(PACKAGE.rglob("*.py")):
        names = module_level_imports(ast.parse(file.read_text(encoding="utf-8"))) & SLOW_IMPORTS
        if file.is_relative_to(PACKAGE / "notebook"):
            names -= {"ruamel"}
        if names:
            early[str(file.relative_to(PACKAGE))] = sorted(names)
    assert not early, f"move these imports into the functions that use them: {early}"
