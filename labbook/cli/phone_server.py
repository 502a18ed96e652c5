"""A server for one page, one batch and one key, that refuses everything else.

It answers on one address of the home network, to that name only, for a limited time. What it is
sent goes through the same reader as a file (`labbook.work.sheet_text`).
"""

from __future__ import annotations

import json
import os
import re
import secrets
import socket
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from http.server import ThreadingHTTPServer
from typing import Any

from labbook.cli.quiet_handler import QuietHandler
from labbook.model.errors import LabbookError

MOST_BODY = 64 * 1024
MOST_AT_ONCE = 32  # connections

Clock = Callable[[], float]
CLOCKS: tuple[Clock, ...] = (time.monotonic, time.time)
"""Two clocks in seconds: one stands still while the computer sleeps, the other may be set."""

_LENGTH = re.compile(r"[0-9]{1,6}", re.ASCII)


@dataclass
class Counter:
    """What is served, to whom, and until when.

    `page` gives the page as it is now; `take` writes entries, given as lines, and says what came of
    it. `lasts` is in seconds; the time is over as soon as one of the `clocks` says so.
    """

    batch: str
    page: Callable[[str], bytes]
    take: Callable[[Sequence[str]], Sequence[str]]
    lasts: float
    host: str = ""
    key: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    wrong: Callable[[Exception], None] = lambda error: None
    clocks: tuple[Clock, ...] = CLOCKS

    def __post_init__(self) -> None:
        """The time begins to run."""
        self._ends = tuple((clock, clock() + self.lasts) for clock in self.clocks)

    @property
    def over(self) -> bool:
        """Whether the time has run out."""
        return any(clock() >= end for clock, end in self._ends)

    @property
    def address(self) -> str:
        """What to open on the phone."""
        return f"http://{self.host}/{self.key}/"

    def is_page(self, path: str) -> bool:
        """Whether a path is the page's, compared in constant time."""
        return _same(path, f"/{self.key}/")

    def is_entries(self, path: str) -> bool:
        """Whether a path is the one that entries are sent to."""
        return _same(path, self.entries)

    @property
    def entries(self) -> str:
        """Where the page sends entries."""
        return f"/{self.key}/entries"


def _same(one: str, other: str) -> bool:
    return secrets.compare_digest(one.encode("utf-8", "replace"), other.encode())


class Refused(Exception):
    """A request that gets nothing; with its status."""

    def __init__(self, status: int) -> None:
        super().__init__(status)
        self.status = status


class PhoneServer(ThreadingHTTPServer):
    """Answers on one address; a few connections at once, none of them for long."""

    daemon_threads = True
    block_on_close = False

    def __init__(self, place: tuple[str, int], counter: Counter) -> None:
        self.counter = counter
        self._room = threading.BoundedSemaphore(MOST_AT_ONCE)
        super().__init__(place, _Handler)
        counter.host = counter.host or f"{place[0]}:{self.server_address[1]}"

    def server_bind(self) -> None:
        """Binds without asking the network for a name."""
        if os.name == "posix":  # elsewhere it would let two programs share the port
            self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self.socket.bind(self.server_address)
        self.server_address = self.socket.getsockname()
        self.server_name, self.server_port = str(self.server_address[0]), self.server_address[1]

    def process_request(self, request: Any, client_address: Any) -> None:
        """Takes a connection where there is room for one more."""
        if not self._room.acquire(blocking=False):
            self.shutdown_request(request)
            return
        super().process_request(request, client_address)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Answers one connection."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._room.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A connection that broke off is nobody's business."""


class _Handler(QuietHandler):
    server: PhoneServer

    def do_GET(self) -> None:
        """The page."""
        self._answer(self._page)

    def do_POST(self) -> None:
        """Entries."""
        self._answer(self._entries)

    def _answer(self, work: Callable[[Counter], None]) -> None:
        try:
            counter = self.server.counter
            if counter.over:
                raise Refused(410)
            if self.headers.get_all("Host") != [counter.host]:
                raise Refused(403)
            work(counter)
        except Refused as refused:
            self.send_error(refused.status)
        except OSError:
            raise
        except Exception as error:
            self.server.counter.wrong(error)
            self.send_error(500)

    def _page(self, counter: Counter) -> None:
        if not counter.is_page(self.path):
            raise Refused(404)
        try:
            page = counter.page(counter.entries)
        except LabbookError:  # closed or dropped meanwhile
            raise Refused(410) from None
        self.send(200, "text/html; charset=utf-8", page)

    def _entries(self, counter: Counter) -> None:
        if not counter.is_entries(self.path):
            raise Refused(404)
        entries = self._body(counter)
        try:
            said = counter.take(entries)
        except LabbookError as found:
            self._json(422, {"refused": f"{found.what} {found.mend}".strip()})
            return
        self._json(200, {"said": list(said)})

    def _body(self, counter: Counter) -> list[str]:
        """The entries that were sent.

        Raises:
            Refused: from another page, too long, or anything but entries of this batch.
        """
        head = self.headers
        if head.get_all("Origin") != [f"http://{counter.host}"]:
            raise Refused(403)
        if head.get_all("Content-Type") != ["application/json"] or head.get("Transfer-Encoding"):
            raise Refused(415)
        lengths = head.get_all("Content-Length") or []
        if len(lengths) != 1 or not _LENGTH.fullmatch(lengths[0]):
            raise Refused(411)
        if int(lengths[0]) > MOST_BODY:
            raise Refused(413)
        raw = self.rfile.read(int(lengths[0]))
        try:
            data = json.loads(raw.decode("utf-8"))
        except (ValueError, RecursionError):
            raise Refused(400) from None
        if len(raw) != int(lengths[0]) or not isinstance(data, dict):
            raise Refused(400)
        entries = data.get("entries")
        if set(data) != {"batch", "entries"} or data["batch"] != counter.batch:
            raise Refused(400)
        if not isinstance(entries, list) or not all(isinstance(one, str) for one in entries):
            raise Refused(400)
        return entries

    def _json(self, status: int, data: dict[str, Any]) -> None:
        self.send(status, "application/json", json.dumps(data).encode())
