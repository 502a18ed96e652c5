"""What all tests share: the seal from the developer's machine, the watch, the installed command."""

import os
import shutil
import subprocess
import sys
import sysconfig
import time
from collections.abc import Generator, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

import hypothesis
import pytest

from tests.purity import PURE_ROOMS, watched

HERE = Path(__file__).resolve().parent

# A found example is written into the test by hand, as @example: no database that differs from
# machine to machine. Without a deadline a busy machine fails no test.
hypothesis.settings.register_profile("dev", database=None, deadline=None)
hypothesis.settings.register_profile(
    "ci", database=None, deadline=None, derandomize=True, print_blob=True
)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") == "true" else "dev")

# The seal --------------------------------------------------------------------------------------

GIT_CONFIG = """\
[user]
\tname = Test Maker
\temail = test.maker@labbook.invalid
[init]
\tdefaultBranch = main
"""

FOREIGN = ("COLUMNS", "EDITOR", "EMAIL", "FORCE_COLOR", "LINES", "NO_COLOR", "PAGER", "VISUAL")
FOREIGN_PREFIXES = ("GIT_", "LABBOOK_", "XDG_")


@pytest.fixture(scope="session", autouse=True)
def sealed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A home of the tests' own, a maker's name for git, UTC; nothing of the developer's settings.

    LC_ALL and LANG stay as they are: the program has to work under any.
    """
    home = tmp_path_factory.mktemp("home")
    config = home / "gitconfig"
    config.write_text(GIT_CONFIG, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        for name in list(os.environ):
            if name in FOREIGN or name.startswith(FOREIGN_PREFIXES):
                patch.delenv(name)
        patch.setenv("HOME", str(home))
        patch.setenv("USERPROFILE", str(home))
        patch.setenv("GIT_CONFIG_GLOBAL", str(config))
        patch.setenv("GIT_CONFIG_NOSYSTEM", "1")
        patch.setenv("GIT_ATTR_NOSYSTEM", "1")
        # Hundreds of commands are started: they share compiled modules, outside of the tree.
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        patch.setenv("PYTHONPYCACHEPREFIX", str(home / "pycache"))
        patch.setenv("TZ", "UTC")
        if sys.platform != "win32":
            time.tzset()
        yield home


# The watch over the pure rooms -----------------------------------------------------------------


def is_pure(path: Path) -> bool:
    """Whether a test file belongs to a pure room."""
    return path.is_relative_to(HERE) and path.relative_to(HERE).parts[0] in PURE_ROOMS


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, object, object]:
    """Run tests of pure rooms under the watch; a refusal that the code swallowed fails too."""
    if not is_pure(item.path):
        return (yield)
    with watched() as seen:
        result = yield
    if seen:
        pytest.fail(f"input or output in a pure room: {'; '.join(seen)}", pytrace=False)
    return result


# Tools that not every machine has --------------------------------------------------------------


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test whose tool is not there."""
    for marker in item.iter_markers("needs_tool"):
        if not any(shutil.which(name) for name in marker.args):
            pytest.skip(f"needs {' or '.join(marker.args)}, which is not installed")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Under CI=true every tool is there: a test that needs one and skips has failed."""
    report = yield
    if report.skipped and os.environ.get("CI") == "true" and item.get_closest_marker("needs_tool"):
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} may not skip under CI=true: {report.longrepr}"
    return report


# The installed command -------------------------------------------------------------------------


@dataclass(frozen=True)
class Ran:
    """What a run of the command left behind."""

    code: int
    out: str
    err: str


class RunLabbook(Protocol):
    """The command as a user runs it, in a process of its own."""

    def __call__(
        self,
        *args: str | Path,
        cwd: Path | None = None,
        stdin: str | None = None,
        env: Mapping[str, str | None] | None = None,
        through: Literal["script", "module"] = "script",
    ) -> Ran:
        """Run `labbook ARGS`; without `stdin` there is nothing to read, a None in `env` removes."""
        ...


def command(through: Literal["script", "module"]) -> list[str]:
    """How the command begins: the script beside this Python, or `python -m labbook`."""
    if through == "module":
        return [sys.executable, "-m", "labbook"]
    script = shutil.which("labbook", path=sysconfig.get_path("scripts"))
    assert script, "the labbook script is missing beside this Python: pip install -e '.[test]'"
    return [script]


@pytest.fixture
def run_labbook(tmp_path: Path) -> RunLabbook:
    """Runs the installed command, in `tmp_path` where no folder is named."""

    def run(
        *args: str | Path,
        cwd: Path | None = None,
        stdin: str | None = None,
        env: Mapping[str, str | None] | None = None,
        through: Literal["script", "module"] = "script",
    ) -> Ran:
        environment = dict[str, str | None](os.environ) | dict(env or {})
        ran = subprocess.run(
            [*command(through), *map(str, args)],
            cwd=cwd or tmp_path,
            env={name: value for name, value in environment.items() if value is not None},
            input="" if stdin is None else stdin,
            capture_output=True,
            encoding="utf-8",
            errors="surrogateescape",
            timeout=120,
            check=False,
        )
        return Ran(ran.returncode, ran.stdout, ran.stderr)

    return run
