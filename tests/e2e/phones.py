"""A client of the served bench sheet in the same network, and the server with its clocks."""

from __future__ import annotations

import contextlib
import http.client
import json
import re
from collections.abc import Iterator

from labbook.cli.phone import Desk, served
from labbook.cli.phone_server import CLOCKS, Clock, Counter
from labbook.work.bench import Bench
from tests.e2e.bench import Hand

AT = "at 2026-03-09T10:31:05+00:00"
ADDRESS = re.compile(r"^open +http://(127\.0\.0\.1:\d+)/([\w-]+)/$", re.MULTILINE)
WEIGHED = f"w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | {AT}"


class Phone:
    """A client in the same network."""

    def __init__(self, counter: Counter) -> None:
        self.counter = counter
        self.host, _, port = counter.host.partition(":")
        self.port = int(port)

    def asks(
        self, method: str, path: str, body: bytes | None = None, **heads: str
    ) -> tuple[int, bytes]:
        """A request, and its status and body."""
        line = http.client.HTTPConnection(self.host, self.port, timeout=10)
        line.putrequest(method, path, skip_host="Host" in heads, skip_accept_encoding=True)
        for name, value in heads.items():
            line.putheader(name.replace("_", "-"), value)
        if body is not None and "Content_Length" not in heads:
            line.putheader("Content-Length", str(len(body)))
        line.endheaders()
        if body is not None:
            with contextlib.suppress(OSError):
                line.send(body)
        answer = line.getresponse()
        found = answer.status, answer.read()
        line.close()
        return found

    def sends(self, *entries: str, **heads: str) -> tuple[int, bytes]:
        """Entries as the page sends them."""
        body = json.dumps({"batch": self.counter.batch, "entries": entries}).encode()
        usual = {"Content_Type": "application/json", "Origin": f"http://{self.counter.host}"}
        return self.asks("POST", self.counter.entries, body, **(usual | heads))


@contextlib.contextmanager
def serving(
    hand: Hand, *, lasts: float = 60, clocks: tuple[Clock, ...] = CLOCKS
) -> Iterator[Phone]:
    bench = Bench(hand.root)
    batch = bench.snapshot.batches[hand.small.open]
    with bench.session("note") as session:
        desk = Desk(bench, batch, session)
        counter = Counter(
            batch.id, desk.page, desk.take, lasts, wrong=desk.wrong, clocks=clocks
        )  # fmt: skip
        with served(counter, "127.0.0.1", 0):
            yield Phone(counter)
