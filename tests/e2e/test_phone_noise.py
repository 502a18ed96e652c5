"""The bench sheet served to the phone, and whatever a network may throw at it."""

from __future__ import annotations

import contextlib
import json
import socket
from random import Random
from typing import Any

import pytest

from labbook.cli.phone_server import Counter
from tests.e2e.bench import Hand
from tests.e2e.phones import AT, WEIGHED, serving


def test_two_thousand_random_requests(hand: Hand, capfd: pytest.CaptureFixture[str]) -> None:
    """No traceback, no answer but a refusal, no file beside the notebook's own."""
    chance = Random(11)
    before = {p: p.stat().st_mtime_ns for p in hand.root.rglob("*") if ".git" not in p.parts}
    outside = sorted(hand.root.parent.iterdir())
    with serving(hand) as client:
        for _ in range(2000):
            raw = _random_request(chance, client.counter)
            with socket.create_connection((client.host, client.port), timeout=10) as line:
                line.sendall(raw)
                line.shutdown(socket.SHUT_WR)
                answer = b""
                with contextlib.suppress(ConnectionResetError):
                    while more := line.recv(65536):
                        answer += more
            assert not answer.startswith((b"HTTP/1.0 2", b"HTTP/1.1 2", b"HTTP/1.0 500")), raw
        assert client.asks("GET", f"/{client.counter.key}/")[0] == 200  # it still answers
    now = {p: p.stat().st_mtime_ns for p in hand.root.rglob("*") if ".git" not in p.parts}
    assert now == before
    assert sorted(hand.root.parent.iterdir()) == outside
    assert "Traceback" not in "".join(capfd.readouterr())


def _random_request(chance: Random, counter: Counter) -> bytes:
    noise = chance.randbytes(chance.randrange(0, 200))
    kind = chance.random()
    if kind < 0.2:
        return noise
    if kind < 0.4:
        return _right_but_for_the_body(chance, counter)
    method = chance.choice(("GET", "POST", "PUT", "HEAD", "get", "\t", "G\x00T"))
    path = chance.choice(
        ("/", "/../../etc/passwd", f"/{counter.key}x/", "/%00", "//", "/" + "a" * 9000,
         counter.entries, "/\\..\\x", noise.decode("latin-1").replace("\n", ""))
    )  # fmt: skip
    heads = [
        f"Host: {chance.choice((counter.host, 'evil.invalid', 'x' * 300))}",
        f"Origin: {chance.choice((f'http://{counter.host}', 'null'))}",
        f"Content-Length: {chance.choice(('0', '5', '-1', '99999', '1' * 40, 'x'))}",
        f"Content-Type: {chance.choice(('application/json', 'text/html'))}",
        "X: " + "y" * chance.randrange(0, 3000),
    ]
    chance.shuffle(heads)
    some = heads[: chance.randrange(0, len(heads) + 1)]
    end = chance.choice(("\r\n", "\n"))
    text = end.join([f"{method} {path} HTTP/1.{chance.randrange(0, 3)}", *some, "", ""])
    return text.encode("latin-1", "replace") + noise


def _right_but_for_the_body(chance: Random, counter: Counter) -> bytes:
    """From the page itself, by its heads; what it brings is anything."""
    text = chance.randbytes(chance.randrange(60)).decode("latin-1")
    entry: Any = chance.choice(
        (text, f"w1-k3m7qa | weighed | {text} | beeswax | 1 g | {AT}", f"step s1 | {text} | 71 °C",
         f"n1-k3m7qa | note | {AT}", f"w1-k3m7qa | added | ../../{text} | 1 g | {AT}",
         f"step ../../x | seen | {text}", f"batch | id | {text}", 5, None, [[]], {"a": text})
    )  # fmt: skip
    body = chance.choice(
        ({"batch": counter.batch, "entries": [entry]}, {"batch": text, "entries": [WEIGHED]},
         {"batch": counter.batch, "entries": entry}, [entry], entry)
    )  # fmt: skip
    raw = json.dumps(body, ensure_ascii=chance.random() < 0.5).encode()
    raw = raw[: chance.randrange(len(raw))] if chance.random() < 0.3 else raw
    heads = [
        f"POST {counter.entries} HTTP/1.1", f"Host: {counter.host}",
        f"Origin: http://{counter.host}", "Content-Type: application/json",
        f"Content-Length: {len(raw)}", "", "",
    ]  # fmt: skip
    return "\r\n".join(heads).encode() + raw
