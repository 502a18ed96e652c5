"""A bench sheet open in a browser at the size of a phone, and the notebook that it is of."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from labbook.work.bench import Bench
from labbook.work.sheet_page import page_of
from tests.browser.chromium import Page, browser
from tests.browser.fingers import Fingers
from tests.work.notebooks import Small, small_notebook
from tests.work.premixes import with_premix

pytest.register_assert_rewrite("tests.browser.journals")

PHONE = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Small:
    """The small notebook with a premix in it: a solution that holds the preservative."""
    return with_premix(small_notebook(tmp_path_factory.mktemp("bench") / "nb"))


@pytest.fixture
def notebook(made: Small, tmp_path: Path) -> Small:
    """A copy of it, to write into."""
    shutil.copytree(made.root, tmp_path / "nb")
    return Small(tmp_path / "nb", made.first, made.second, made.open)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """A browser of the module's own."""
    with browser(tmp_path_factory.mktemp("profile")) as found:
        yield found


@pytest.fixture
def sheet(page: Page, notebook: Small, tmp_path: Path) -> Iterator[Fingers]:
    """The sheet of the open batch on a phone, nothing kept from before."""
    file = tmp_path / "sheet.html"
    bench = Bench(notebook.root)
    file.write_bytes(page_of(bench, bench.snapshot.batches[notebook.open]))
    fingers = Fingers(page)
    page.open(file, width=PHONE["width"])
    page.evaluate("localStorage.clear()")
    page.open(file, width=PHONE["width"])
    fingers.ask("Emulation.setDeviceMetricsOverride", **PHONE)
    yield fingers
    page.evaluate("localStorage.clear()")
