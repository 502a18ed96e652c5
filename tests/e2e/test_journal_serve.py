"""`journal serve`: this computer only, its own name only, the site's files only, anew on change."""

import socket
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from labbook.cli.site_server import COUNT, WATCH, Shelf, watched
from labbook.journal.html import POLICY
from tests.conftest import RunLabbook
from tests.e2e.serving import Served, serving


@pytest.fixture
def served(sample: Path) -> Iterator[Served]:
    with serving(sample) as found:
        yield found


def test_the_pages_of_the_site_and_nothing_else(served: Served, sample: Path) -> None:
    status, page = served.get("/")
    assert status == 200
    assert b"Hand cream" in page or b"hand cream" in page
    assert served.get("/batches/SBC-260122-9T.html")[0] == 200
    assert served.get("/journal.css")[0] == 200
    for path in ("/../labbook.yaml", "/%2e%2e/%2e%2e/labbook.yaml", "/published.json",
                 "//etc/passwd", "/batches", "/batches/", "/labbook.yaml", "/.git/config",
                 "/batches/..%2fjournal.css%00", "/%ff", "/\\..\\labbook.yaml"):  # fmt: skip
        assert served.get(path)[0] in (400, 404), path
    for host in ("example.org", "localhost.example.org", f"0.0.0.0:{served.host[-4:]}", ""):
        assert host == "" or served.get("/", host=host)[0] == 403
    assert served.get("/", method="POST")[0] == 405
    assert served.get("/", method="HEAD") == (200, b"")
    assert not (sample / "site/served").exists()


def test_it_listens_on_this_computer_alone(served: Served) -> None:
    port = int(served.host.split(":")[1])
    assert served.host.startswith("127.0.0.1:")
    with socket.socket() as other, pytest.raises(OSError):
        other.connect((_own_address(), port))


def _own_address() -> str:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            pytest.skip("in no network")
        return str(probe.getsockname()[0])


def test_a_change_is_built_and_counted(served: Served, sample: Path) -> None:
    def count() -> bytes:
        return served.get(f"/{COUNT}?1")[1]

    before = count()
    entry = sample / "journal/2026-01-30-a-pool-under-the-cream.md"
    entry.write_text(entry.read_text("utf-8") + "\nNewly written words.\n", encoding="utf-8")
    until = time.monotonic() + 60
    while count() == before and time.monotonic() < until:
        time.sleep(0.2)
    assert count() != before
    page = served.get("/entries/2026-01-30-a-pool-under-the-cream.html")[1]
    assert b"Newly written words." in page


def test_a_served_page_may_run_the_script_that_watches_and_no_more() -> None:
    page = f'<meta http-equiv="Content-Security-Policy" content="{POLICY}"><body>x</body>'
    found = watched(page.encode(), 1).decode()
    assert "; script-src &#x27;self&#x27;" in found
    assert "unsafe" not in found
    assert found.endswith(f'<script src="../{WATCH}"></script>\n</body>')
    hashed = page.replace("form-action", "script-src 'sha256-AAAA'; form-action")
    both = watched(hashed.encode(), 0).decode()
    assert "script-src &#x27;self&#x27; &#x27;sha256-AAAA&#x27;" in both


def test_only_listed_files_are_given_out(tmp_path: Path) -> None:
    (tmp_path / "a.css").write_text("a")
    (tmp_path / "b.css").write_text("b")
    shelf = Shelf(tmp_path, {"a.css", "gone.css"})
    assert shelf.answer("a.css") == ("text/css; charset=utf-8", b"a")
    for path in ("b.css", "gone.css", "../x", "a.css/", "/a.css", "", "?"):
        assert shelf.answer(path) is None, path


def test_an_odd_or_taken_port_is_refused(run_labbook: RunLabbook, sample: Path) -> None:
    assert run_labbook("journal", "serve", "--port", "70000", cwd=sample).code != 0
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        refused = run_labbook("journal", "serve", "--port", port, cwd=sample)
        assert refused.code != 0
        assert "can be served" in refused.err
