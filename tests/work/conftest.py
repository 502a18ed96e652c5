"""The small notebook, made once and copied for each test."""

import shutil
from pathlib import Path

import pytest

from tests.work.notebooks import Maker, Small, small_notebook


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Small:
    """The notebook as it was made; nobody writes into it."""
    return small_notebook(tmp_path_factory.mktemp("made") / "nb")


@pytest.fixture
def small(made: Small, tmp_path: Path) -> Small:
    """A notebook of the test's own."""
    shutil.copytree(made.root, tmp_path / "nb")
    return Small(tmp_path / "nb", made.first, made.second, made.open)


@pytest.fixture
def maker(small: Small) -> Maker:
    """Who works in it, some days later."""
    found = Maker(small.root)
    found.now = found.now.replace(day=12)
    return found
