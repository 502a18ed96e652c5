"""The served bench sheet in a browser: entries reach the notebook, and wait while it is away."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from labbook.cli.phone import Desk, served
from labbook.cli.phone_server import Counter
from labbook.work.bench import Bench
from labbook.work.sheet_in import read_file, take_in
from tests.browser.axe import grave
from tests.browser.chromium import NAMES, browser
from tests.browser.fingers import Fingers, waited
from tests.browser.sheets import batch_of, finished
from tests.work.notebooks import Small, small_notebook

pytestmark = pytest.mark.needs_tool(*NAMES)


@pytest.fixture
def small(tmp_path: Path) -> Small:
    return small_notebook(tmp_path / "nb")


@contextlib.contextmanager
def serving(small: Small, *, key: str = "", port: int = 0) -> Iterator[Counter]:
    bench = Bench(small.root)
    batch = bench.snapshot.batches[small.open]
    with bench.session("note") as session:
        desk = Desk(bench, batch, session)
        counter = Counter(batch.id, desk.page, desk.take, 60, wrong=desk.wrong)
        counter.key = key or counter.key
        with served(counter, "127.0.0.1", port or 18417):
            yield counter


def test_what_is_typed_stands_in_the_notebook_and_waits_while_it_is_away(
    small: Small, tmp_path: Path
) -> None:
    todo = [
        line.id
        for line in batch_of(small).lines
        if not any(w.line == line.id for w in batch_of(small).weighings)
    ]
    with browser(tmp_path / "profile") as page:
        fingers = Fingers(page)
        with serving(small) as counter:
            fingers.loads("Page.navigate", url=counter.address)
            fingers.types(f"#w-{todo[0]}-0", "4,01")
            waited(lambda: [w for w in batch_of(small).weighings if w.line == todo[0]])
            waited(lambda: fingers.sees("#kept") == "All of it is in the notebook.")
            fingers.types(f"#w-{todo[0]}-0", "4.02")
            waited(lambda: [w.struck for w in batch_of(small).weighings if w.line == todo[0]]
                   == ["weighed again", None])  # fmt: skip
            fingers.loads("Page.reload")
            assert fingers.sees(f"#w-{todo[0]}-0") == "4.02"
            assert grave(page) == []
        fingers.types(f"#w-{todo[1]}-0", "0.81")
        waited(lambda: "can't be reached; 1 kept here" in fingers.sees("#kept"))
        assert grave(page) == []
        with serving(small, key=counter.key, port=18417):
            waited(lambda: [w for w in batch_of(small).weighings if w.line == todo[1]])
            waited(lambda: fingers.sees("#kept") == "All of it is in the notebook.")
            told = finished(fingers, tmp_path)
            fingers.taps("#f-clear")
            assert page.evaluate("localStorage.length") == 0
        policy = [one for one in page.complaints if "Content Security Policy" in one]
        assert policy == []
        own = f"http://{counter.host}/"
        assert all(url.startswith((own, "blob:")) for url in page.asked_for), page.asked_for
    before = batch_of(small)
    again = take_in(Bench(small.root), None, read_file(told))  # the file brings nothing twice
    assert (again.what, again.already) == ((), 3)
    assert batch_of(small) == before
    masses = [str(w.mass) for w in batch_of(small).weighings if w.line == todo[0] and not w.struck]
    assert masses == ["4.02 g"]
