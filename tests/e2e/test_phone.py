"""The bench sheet served to the phone: to the one who has the key, at that address, for a while."""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass

import pytest

from labbook.cli import phone, say
from labbook.cli.phone import place_of
from labbook.cli.phone_server import MOST_BODY, Counter
from labbook.model.errors import LabbookError, NotAllowed, Unclear
from labbook.work.bench import Bench
from tests.conftest import command
from tests.e2e.bench import Hand
from tests.e2e.phones import ADDRESS, WEIGHED, Phone, serving


def test_entries_stand_in_the_notebook_at_once_and_are_committed_at_the_end(
    hand: Hand, capsys: pytest.CaptureFixture[str]
) -> None:
    with serving(hand) as client:
        status, page = client.asks("GET", f"/{client.counter.key}/")
        assert status == 200
        assert b"connect-src 'self'" in page
        assert client.counter.entries.encode() in page
        status, answer = client.sends(WEIGHED, "step s2 | temperature A | 71 °C")
        assert status == 200
        assert len(json.loads(answer)["said"]) == 2
        assert hand.batch(hand.open).weighings[-1].id == "w1-k3m7qa"
        assert "beeswax 1.52 g" in capsys.readouterr().out
        assert json.loads(client.sends(WEIGHED)[1])["said"] == []
    assert len([w for w in hand.batch(hand.open).weighings if w.id == "w1-k3m7qa"]) == 1
    assert "uncommitted" not in hand.does("check", hand.open, code=0).lower()


def test_what_is_no_entry_is_refused_whole_and_the_phone_is_told(hand: Hand) -> None:
    with serving(hand) as client:
        before = hand.batch(hand.open)
        status, answer = client.sends(WEIGHED, "batch | state | closed")
        assert status == 422
        assert "Nothing was taken in" in json.loads(answer)["refused"]
        assert hand.batch(hand.open) == before


def test_nobody_else_gets_anything(hand: Hand) -> None:
    with serving(hand) as client:
        counter = client.counter
        own, key = f"http://{counter.host}", counter.key
        before = hand.batch(hand.open)
        for path in ("/", f"/{key}", f"/{key[:-1]}x/", f"/{key}/../", f"/{key}//", "/x/entries",
                     f"/{key}/?a", f"/{key}/entries", f"/{key}/%2e%2e/labbook.yaml", "*",
                     f"http://{counter.host}/{key}/"):  # fmt: skip
            assert client.asks("GET", path)[0] == 404, path
        for host in ("evil.invalid", f"evil.invalid:{client.port}", "127.0.0.1", "", "localhost"):
            assert client.asks("GET", f"/{key}/", Host=host)[0] == 403, host
            assert client.sends(WEIGHED, Host=host)[0] == 403, host
        for origin in ("null", "http://evil.invalid", own.replace("http", "https"), f"{own}/"):
            assert client.sends(WEIGHED, Origin=origin)[0] == 403, origin
        body = json.dumps({"batch": counter.batch, "entries": [WEIGHED]}).encode()
        assert client.asks("POST", counter.entries, body, Content_Type="application/json")[0] == 403
        for kind in ("text/plain", "application/json; charset=utf-8", ""):
            assert client.sends(WEIGHED, Content_Type=kind)[0] == 415, kind
        for method in ("PUT", "DELETE", "OPTIONS", "HEAD", "PATCH", "TRACE", "CONNECT", "BREW"):
            assert client.asks(method, f"/{key}/")[0] == 405, method
        assert hand.batch(hand.open) == before


def test_bodies_are_measured_before_they_are_read(hand: Hand) -> None:
    with serving(hand) as client:
        for length, status in ((str(MOST_BODY + 1), 413), ("-1", 411), ("1e3", 411), ("", 411),
                               ("99999999999", 411)):  # fmt: skip
            assert client.sends(WEIGHED, Content_Length=length)[0] == status, length
        assert client.sends("x" * MOST_BODY)[0] == 413
        assert client.sends(WEIGHED, Transfer_Encoding="chunked")[0] == 415
        own = {"Content_Type": "application/json", "Origin": f"http://{client.counter.host}"}
        for body in (b"", b"{", b"[" * 60000, b"null", b"[]", b'{"batch": 1, "entries": []}',
                     b"\xff", b'{"entries": []}', b"9" * 9000,
                     b'{"batch": "X", "entries": [], "more": 1}'):  # fmt: skip
            assert client.asks("POST", client.counter.entries, body, **own)[0] == 400, body[:20]


@dataclass
class Watch:
    """A clock that stands where it was set."""

    now: float = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.mark.parametrize("which", [0, 1])
def test_after_its_hour_it_gives_nothing(hand: Hand, which: int) -> None:
    """By whichever clock gets there first: the computer may sleep, or its clock be set."""
    watches = (Watch(), Watch())
    with serving(hand, lasts=phone.LASTS, clocks=watches) as client:
        watches[which].now += 3599.9
        assert client.asks("GET", f"/{client.counter.key}/")[0] == 200
        before = hand.batch(hand.open)
        watches[which].now += 0.1
        assert client.asks("GET", f"/{client.counter.key}/")[0] == 410
        assert client.sends(WEIGHED)[0] == 410
        assert hand.batch(hand.open) == before
    with pytest.raises(OSError):
        client.asks("GET", f"/{client.counter.key}/")


def test_the_command_ends_after_its_hour(hand: Hand, capsys: pytest.CaptureFixture[str]) -> None:
    """What came until then is committed, and nothing listens there any more."""
    watch = Watch()
    bench = Bench(hand.root)
    batch = bench.snapshot.batches[hand.small.open]

    def run() -> None:
        phone.serve_to_phone(bench, batch, "127.0.0.1", clocks=(watch,))

    serves = threading.Thread(target=run)
    serves.start()
    said = ""
    while (found := ADDRESS.search(said)) is None and serves.is_alive():
        serves.join(0.05)
        said += capsys.readouterr().out
    assert found, said
    counter = Counter(batch.id, lambda post: b"", lambda entries: (), 1, found[1], found[2])
    assert Phone(counter).sends(WEIGHED)[0] == 200
    assert serves.is_alive()
    watch.now += 3600
    serves.join(20)
    assert not serves.is_alive()
    with pytest.raises(OSError):
        Phone(counter).asks("GET", f"/{counter.key}/")
    assert "from the phone" in history(hand)


def test_it_serves_at_home_only() -> None:
    assert place_of("192.168.1.20:8500") == ("192.168.1.20", 8500)
    assert place_of("127.0.0.1") == ("127.0.0.1", 0)
    for public in ("8.8.8.8", "0.0.0.0", "203.0.113.5.1", "1.1.1.1:80"):
        with pytest.raises(LabbookError):
            place_of(public)
    for none in ("home", "192.168.1.20:x", "192.168.1.20:99999", "::1"):
        with pytest.raises(Unclear):
            place_of(none)


def test_keys_are_new_each_time() -> None:
    keys = {Counter("X", lambda post: b"", lambda entries: (), 1).key for _ in range(50)}
    assert len(keys) == 50
    assert all(len(key) >= 32 for key in keys)


def test_a_batch_that_is_closed_meanwhile_is_gone(hand: Hand) -> None:
    with serving(hand) as client:
        hand.does("close", hand.open, "--jars", "0")
        assert client.asks("GET", f"/{client.counter.key}/")[0] == 410
        assert b"is closed" in client.sends(WEIGHED)[1]


def test_a_closed_batch_is_not_served(hand: Hand) -> None:
    said = hand.does(
        "batch", "sheet", hand.small.first, "--phone", "--address", "127.0.0.1", code=2
    )
    assert "is closed" in said
    with pytest.raises(NotAllowed):
        place_of("198.51.101.7")


def test_the_command_shows_what_comes_and_ends_with_ctrl_c(hand: Hand) -> None:
    """As a person runs it: a phone sends an entry, then Ctrl-C; the entry is committed."""
    words = [*command("script"), "batch", "sheet", hand.open, "--phone", "--address", "127.0.0.1"]
    with subprocess.Popen(
        words, cwd=hand.root, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, encoding="utf-8",
        start_new_session=True,
    ) as process:  # fmt: skip
        assert process.stdout
        said = ""
        while "Ctrl-C ends it" not in said:
            line = process.stdout.readline()
            assert line, said
            said += line
        found = ADDRESS.search(said)
        assert found, said
        counter = Counter(
            hand.small.open, lambda post: b"", lambda entries: (), 1, found[1], found[2]
        )
        assert Phone(counter).sends(WEIGHED)[0] == 200
        process.send_signal(signal.SIGINT)
        said += process.stdout.read()
    assert process.returncode == 0
    assert re.search(r"^\d\d:\d\d +beeswax 1\.52 g", said, re.MULTILINE), said
    assert re.search(r"beeswax +1\.50 +1\.52 +g|beeswax .*g", said), said
    assert hand.batch(hand.open).weighings[-1].id == "w1-k3m7qa"
    assert "from the phone" in history(hand)


def history(hand: Hand) -> str:
    """The latest commit's first line, and what git sees as changed in batches."""
    told = subprocess.run(
        ["git", "log", "-1", "--format=%s"], cwd=hand.root, capture_output=True, encoding="utf-8",
        check=True,
    )  # fmt: skip
    left = subprocess.run(
        ["git", "status", "--porcelain", "batches"], cwd=hand.root, capture_output=True,
        encoding="utf-8", check=True,
    )  # fmt: skip
    assert left.stdout == ""
    return told.stdout


def test_the_code_that_is_drawn_is_the_address(monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawn as half blocks: two rows of the code a line, read back and compared with the code."""
    import segno

    address = "http://192.168.1.20:8417/" + "k" * 32 + "/"
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(say, "speaks_utf8", lambda stream: True)
    drawn: list[str] = []
    phone._draw(address, drawn.append)
    text = re.sub(r"\x1b\[[0-9;]*m", "", "".join(drawn))
    lines = [line for line in text.split("\n") if line]
    code = segno.make(address, error="l", micro=False)
    rows = [list(row) for row in code.matrix_iter(border=2)]
    light = {"█": (True, True), "▀": (True, False), "▄": (False, True), " ": (False, False)}
    read = [[light[sign][half] for sign in line] for line in lines for half in (0, 1)]
    assert read[: len(rows)] == [[not dark for dark in row] for row in rows]
    assert len(rows[0]) <= 60  # it fits on a terminal of 80 columns
