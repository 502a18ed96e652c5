"""The small notebook, made once and copied for each test, and a person who works in it."""

import shutil
from pathlib import Path

import pytest

from tests.conftest import RunLabbook
from tests.e2e.bench import Hand, ended, through_the_door
from tests.work.notebooks import Small, small_notebook


@pytest.fixture(scope="session")
def small_made(tmp_path_factory: pytest.TempPathFactory) -> Small:
    """The notebook as it was made; nobody writes into it."""
    return small_notebook(tmp_path_factory.mktemp("e2e") / "nb")


@pytest.fixture
def hand(small_made: Small, tmp_path: Path, run_labbook: RunLabbook) -> Hand:
    """A person in a copy of it."""
    shutil.copytree(small_made.root, tmp_path / "nb")
    small = Small(tmp_path / "nb", small_made.first, small_made.second, small_made.open)
    return Hand(run_labbook, small)


@pytest.fixture(scope="session")
def replayed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample notebook, replayed once; nobody writes into it."""
    folder = tmp_path_factory.mktemp("replayed")
    ended(through_the_door("demo", cwd=folder), 0)
    return folder / "hand-cream-notebook"


@pytest.fixture
def sample(replayed: Path, tmp_path: Path) -> Path:
    """A copy of it to work in."""
    return Path(shutil.copytree(replayed, tmp_path / "notebook"))
