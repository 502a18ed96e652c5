"""How long commands take in a large notebook, as ratios to a floor measured in the same run.

`python -m tests.benchmarks.scale [small] [slow] [FOLDER]` prints the table of DEVELOPERS.md; `slow`
adds the commands that read all records, FOLDER is a notebook written before. A floor is a
bare Python that imports the modules which the command imported, lets `git diff-files` (where
history is told: `git log --raw`) look at the notebook, and makes one select; that of the start is a
program of two commands that do nothing. Processor time counts, children included, and of several
runs the least, so that a busy machine changes little.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.notebooks import SMALL, STANDARD, write
from tests.benchmarks.test_start import BARE

FLOOR = """
import importlib, sqlite3, subprocess, sys
for name in {modules!r}:
    try:
        importlib.import_module(name)
    except ImportError:
        pass
subprocess.run({git!r}, stdout=subprocess.PIPE, check=True)
sqlite3.connect({index!r}).execute({select!r}).fetchall()
"""
LISTED = """
import sys
sys.argv = ["labbook", *{words!r}]
from labbook.cli import main
main.run()
sys.stdout = sys.__stderr__
print("\\n".join(sorted(sys.modules)), file=sys.stderr)
"""
PARSE = """
import pathlib
from ruamel.yaml import YAML
for path in sorted(pathlib.Path(".").rglob("*.yaml")):
    parser = YAML(typ="safe")
    parser.load(path.read_bytes())
"""
DIFF_FILES = ("git", "diff-files")
LOG = ("git", "log", "--raw", "-z", "--no-abbrev", "--", "formulas")
SELECT = "select * from batch"


@dataclass(frozen=True, slots=True)
class Case:
    """One command, the git command of its floor, and the goal for the ratio."""

    words: tuple[str, ...]
    git: tuple[str, ...] = DIFF_FILES
    goal: float | None = None


CASES = (
    Case(("batch", "list"), goal=1.5),
    Case(("due",), goal=1.5),
    Case(("outcomes", "F001"), goal=1.5),
    Case((), git=LOG),
    Case(("log", "F001"), git=LOG, goal=1.5),
    Case(("show", "F001"), git=LOG),
    Case(("diff", "F001", "1", "2"), git=LOG),
)
OUT = "{out}"
SLOW = (Case(("why",)), Case(("export", OUT), git=LOG), Case(("check",), git=LOG))
JOURNAL = Case(("journal", "build"), git=LOG)


@dataclass(frozen=True, slots=True)
class Row:
    """What was measured: seconds of processor time of a command and its floor, and memory."""

    name: str
    seconds: float
    floor: float
    megabytes: float
    goal: float | None = None

    @property
    def ratio(self) -> float:
        """Times the floor."""
        return self.seconds / self.floor


def _python(code: str) -> list[str]:
    return [sys.executable, "-c", code]


def _labbook(words: Sequence[str]) -> list[str]:
    return [sys.executable, "-m", "labbook", *words]


def run(command: Sequence[str], folder: Path) -> tuple[float, float]:
    """Processor seconds of one run, its children included, and its megabytes."""
    script = (
        "import os, resource, subprocess, sys\n"
        "code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL).returncode\n"
        "told = resource.getrusage(resource.RUSAGE_CHILDREN)\n"
        "print(code, told.ru_utime + told.ru_stime, told.ru_maxrss / 1024)\n"
    )
    line = [sys.executable, "-c", script, *command]
    done = subprocess.run(line, cwd=folder, stdout=subprocess.PIPE, check=True, encoding="ascii")
    code, seconds, megabytes = done.stdout.split()
    if code not in ("0", "1"):  # `check` ends with 1 where it found something
        raise RuntimeError(f"{' '.join(command)} ended with {code}")
    return float(seconds), float(megabytes)


def floor_of(case: Case, folder: Path) -> list[str]:
    """The floor of a command, which is run once to see what it imports."""
    said = subprocess.run(
        _python(LISTED.format(words=_words(case))),
        cwd=folder, capture_output=True, check=False, encoding="utf-8",
    )  # fmt: skip
    modules = [name for name in said.stderr.split("\n") if name and not name.startswith("__")]
    return _python(FLOOR.format(
        modules=modules, git=list(case.git), select=SELECT,
        index=str(folder / ".git" / "labbook" / "index.sqlite"),
    ))  # fmt: skip


def _words(case: Case) -> list[str]:
    """What is typed; a folder to write into is a new one each time."""
    return [tempfile.mkdtemp() if word == OUT else word for word in case.words]


def measured(case: Case, folder: Path, times: int = 5) -> Row:
    """A command in a notebook whose index is warm, against its floor, run in turn."""
    floor = floor_of(case, folder)
    ours, floors, memory = [], [], 0.0
    for _ in range(times):
        seconds, megabytes = run(_labbook(_words(case)), folder)
        ours.append(seconds)
        memory = max(memory, megabytes)
        floors.append(run(floor, folder)[0])
    name = " ".join(("labbook", *(word for word in case.words if word != OUT)))
    return Row(name, min(ours), min(floors), memory, case.goal)


def start(folder: Path, times: int = 5) -> Row:
    """The list of commands, against a program of two commands."""
    bare = _python(BARE.replace("app()", 'app(["--help"])'))
    ours = [run(_labbook(("--help",)), folder) for _ in range(times)]
    floors = [run(bare, folder)[0] for _ in range(times)]
    seconds, memory = min(one for one, _ in ours), max(most for _, most in ours)
    return Row("labbook --help", seconds, min(floors), memory)


def journal(folder: Path) -> list[Row]:
    """The journal of all formulas with their batches: built whole, and after one look at a jar."""
    for path in (folder / "formulas").iterdir():
        path.write_text(f'{path.read_text()}public: "with batches"\n', encoding="utf-8")
    who = ("-c", "user.name=the potter", "-c", "user.email=potter@example.org")
    subprocess.run(["git", *who, "commit", "-qam", "All public"], cwd=folder, check=True)
    run(_labbook(("log", "F001")), folder)
    whole = run(_labbook(JOURNAL.words), folder)
    floor = run(floor_of(JOURNAL, folder), folder)[0]
    jar = f"{sorted((folder / 'batches').glob('*/F000-*'))[-1].name}.1"
    subprocess.run([*_labbook(("look", jar, "0"))], cwd=folder, check=True, capture_output=True)
    after = run(_labbook(JOURNAL.words), folder)
    names = ("labbook journal build, all of it", "labbook journal build, after a look")
    return [
        Row(name, *one[:1], floor, one[1]) for name, one in zip(names, (whole, after), strict=True)
    ]


def cold(folder: Path) -> Row:
    """The first command in a notebook without index, against parsing its files in C."""
    index = folder / ".git" / "labbook" / "index.sqlite"
    index.unlink(missing_ok=True)
    start, _ = run(_labbook(("--help",)), folder)
    seconds, megabytes = run(_labbook(("batch", "list")), folder)
    floor, _ = run(_python(PARSE), folder)
    return Row("index, cold", seconds - start, floor, megabytes, 1.3)


def table(rows: Sequence[Row]) -> str:
    """The rows in Markdown."""
    lines = ["| command | ms | floor, ms | ratio | goal | MB |", "| --- " * 6 + "|"]
    for row in rows:
        goal = "" if row.goal is None else f"{row.goal}"
        figures = f"{row.seconds * 1000:.0f} | {row.floor * 1000:.0f} | {row.ratio:.2f}"
        lines.append(f"| {row.name} | {figures} | {goal} | {row.megabytes:.0f} |")
    return "\n".join(lines)


def warm(folder: Path, cases: Sequence[Case], times: int = 5) -> list[Row]:
    """Each command with its index warm."""
    rows = []
    for case in cases:
        if times > 1:  # what takes long is asked once to see what it imports, and once measured
            run(_labbook(_words(case)), folder)
        rows.append(measured(case, folder, times))
    return rows


def main(words: Sequence[str]) -> None:
    """Writes a notebook, or takes the one in a folder that is named, measures, prints the table."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    slow = SLOW if "slow" in words else ()
    folders = [Path(word) for word in words if Path(word).is_dir()]
    with tempfile.TemporaryDirectory() as named:
        folder = Path(named) / "book"
        rows = []
        if folders:
            folder = folders[0].resolve()
        else:
            write(folder, SMALL if "small" in words else STANDARD)
            run(_labbook(("batch", "list")), folder)  # compiles the modules
            rows.append(cold(folder))
        rows += [start(folder), *warm(folder, CASES), *warm(folder, slow, times=1)]
        rows += journal(folder) if slow else []
    sys.stdout.write(table(rows) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
