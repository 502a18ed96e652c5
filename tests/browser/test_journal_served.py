"""`journal serve` in a browser: a page that is open loads anew when a command changes what it says.

Under the policy that the server sends along, with nothing asked for but of the server itself.
"""

import shutil
import time
from collections.abc import Iterator

import pytest

from tests.browser.chromium import NAMES, Page
from tests.conftest import RunLabbook
from tests.e2e.bench import ended, through_the_door
from tests.e2e.serving import Served, serving
from tests.work.notebooks import Small

pytestmark = pytest.mark.needs_tool(*NAMES)

REASON = "read the wrong line of the balance"
STRANGE = """
  document.addEventListener('securitypolicyviolation', () => { window.refused = true });
  document.body.append(Object.assign(document.createElement('script'),
    {textContent: 'window.strange = 1'}));
  null
"""
"""A script that no page carries, and whether the browser said that it didn't run it."""

POLICY = "document.querySelector('meta[http-equiv=Content-Security-Policy]').content"


@pytest.fixture(scope="module")
def notebook(made: Small, tmp_path_factory: pytest.TempPathFactory) -> Small:
    """A notebook whose hand cream is public, to be served and written into."""
    root = tmp_path_factory.mktemp("served") / "nb"
    shutil.copytree(made.root, root)
    ended(through_the_door("journal", "public", "HC", "--with-batches", cwd=root), 0)
    return Small(root, made.first, made.second, made.open)


@pytest.fixture(scope="module")
def served(notebook: Small) -> Iterator[Served]:
    with serving(notebook.root) as found:
        yield found


def must_be_quiet(page: Page, served: Served) -> None:
    assert page.complaints == []
    assert all(url.startswith(f"http://{served.host}/") for url in page.asked_for), page.asked_for


def comes(page: Page, expression: str) -> bool:
    """Whether an expression comes to be true in the page, within a minute."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        if page.evaluate(expression):
            return True
        time.sleep(0.1)
    return False


def test_an_open_page_loads_anew_when_a_command_changed_a_record(
    page: Page, served: Served, notebook: Small, run_labbook: RunLabbook
) -> None:
    page.go(f"http://{served.host}/batches/{notebook.second}.html")
    assert not page.evaluate(f"document.body.innerText.includes({REASON!r})")
    page.evaluate("window.openedBefore = true")
    words = ("batch", "correct", notebook.second, "sodium-chloride=0.85", "-m", REASON)
    assert run_labbook(*words, cwd=notebook.root).code == 0
    assert comes(page, f"document.body?.innerText.includes({REASON!r})")
    assert page.evaluate("window.openedBefore") is None
    must_be_quiet(page, served)
    assert any("served/count.js?" in url for url in page.asked_for)


@pytest.mark.parametrize("path", ["", "formulas/HC.html", "search.html", "archive/2026.html"])
def test_the_policy_allows_the_scripts_of_a_page_and_none_beside_them(
    page: Page, served: Served, path: str
) -> None:
    page.go(f"http://{served.host}/{path}")
    policy = page.evaluate(POLICY)
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "connect-src" not in policy
    fields = page.evaluate("document.querySelectorAll('input').length")
    assert fields == (1 if path.startswith(("formulas", "search")) else 0)
    must_be_quiet(page, served)
    page.evaluate(STRANGE)
    assert comes(page, "window.refused")
    assert page.evaluate("window.strange") is None
