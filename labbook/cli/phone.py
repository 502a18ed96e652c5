"""`batch sheet --phone`: the page on the home network while the command runs.

Entries go straight into the notebook and are shown as they arrive; they are committed together when
it ends, as those of a weighing are.
"""

from __future__ import annotations

import contextlib
import errno
import ipaddress
import socket
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from labbook.cli import say
from labbook.cli.phone_server import CLOCKS, Clock, Counter, PhoneServer
from labbook.model.batch import Batch
from labbook.model.errors import LabbookError, NotAllowed, Unclear
from labbook.show.making import weighed_screen
from labbook.work.at_bench import bench_of
from labbook.work.bench import Bench
from labbook.work.sheet_in import take_items
from labbook.work.sheet_page import guard_fillable, page_of
from labbook.work.sheet_text import read_items

if TYPE_CHECKING:
    from labbook.notebook.record import Session

LASTS = 3600.0
"""Seconds that the page is served: one making, and nobody forgets it for the night."""
PORT = 8417  # the same each time where it is free: a browser keeps what was typed by address
_NOWHERE = ("192.0.2.1", 9)  # RFC 5737: an address for examples; nothing is sent there


def serve_to_phone(
    bench: Bench, batch: Batch, address: str, *, clocks: tuple[Clock, ...] = CLOCKS
) -> None:
    """Serves the page of a batch for an hour by any of the clocks, or until Ctrl-C.

    Raises:
        NotAllowed: the batch is closed, or the address can't be had.
    """
    guard_fillable(batch)
    with bench.session("note") as session:
        desk = Desk(bench, batch, session)
        counter = Counter(
            batch.id, desk.page, desk.take, LASTS, wrong=desk.wrong, clocks=clocks
        )  # fmt: skip
        with served(counter, *place_of(address)):
            _introduce(batch, counter)
            with contextlib.suppress(KeyboardInterrupt):
                while not counter.over:
                    threading.Event().wait(0.5)
        if desk.said:
            session.message = f"{batch.short}: {len(desk.said)} entries from the phone"
            session.message += "\n\n" + "\n".join(desk.said)
    fresh = bench.afresh()
    say.write("\n")
    say.show(bench_of(fresh, fresh.snapshot.batches[batch.id]), weighed_screen)


class Desk:
    """Where entries from the phone are written down, one lot of them after the other."""

    def __init__(self, bench: Bench, batch: Batch, session: Session) -> None:
        self.said: list[str] = []
        self._bench = bench
        self._batch = batch
        self._session = session
        self._turn = threading.Lock()

    def page(self, post: str) -> bytes:
        """The page with what the notebook holds now."""
        with self._turn:
            fresh = self._bench.afresh()
            return page_of(fresh, fresh.snapshot.batches[self._batch.id], post=post)

    def take(self, entries: Sequence[str]) -> Sequence[str]:
        """Writes entries down and shows them.

        Raises:
            LabbookError: one of them is none, or can't be written; then nothing was.
        """
        items = read_items(entries)
        with self._turn:
            try:
                result = take_items(self._bench, self._batch.id, items, self._session.write)
            except LabbookError as found:
                self._show("refused", found.what)
                raise
            self.said += result.what
            now = datetime.now()  # of the clock on the wall; entries have their own
            for one in result.what:
                self._show(f"{now:%H:%M}", one)
            for remark in result.remarks:
                self._show("note", remark)
            return (*result.what, *result.remarks)

    def wrong(self, error: Exception) -> None:
        """Something that should not happen: the terminal says so, the phone only that it failed."""
        self._show("refused", f"a request could not be answered: {type(error).__name__}")

    def _show(self, word: str, text: str) -> None:
        screen = say.screen_for(sys.stdout)
        screen.row(word, text)
        say.write(screen.text())
        sys.stdout.flush()


@contextlib.contextmanager
def served(counter: Counter, ip: str, port: int) -> Iterator[PhoneServer]:
    """The server at work; nothing listens any more afterwards.

    Raises:
        NotAllowed: the address is taken, or not this computer's.
    """
    server = _listening(counter, ip, port)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def _listening(counter: Counter, ip: str, port: int) -> PhoneServer:
    try:
        return PhoneServer((ip, port or PORT), counter)
    except OSError as error:
        if not port and error.errno in (errno.EADDRINUSE, errno.EACCES):
            with contextlib.suppress(OSError):
                return PhoneServer((ip, 0), counter)
        raise NotAllowed(
            f"Nothing can be served at {ip}{f':{port}' if port else ''}: {error.strerror}.",
            mend="Name this computer's address in the home network: --address 192.168.1.20",
        ) from error


def place_of(typed: str) -> tuple[str, int]:
    """The address and port to serve at; port 0 leaves it to the program.

    Raises:
        Unclear: no address.
        NotAllowed: an address that the whole internet can reach, or no network at all.
    """
    ip, _, port = (typed or _own_address()).partition(":")
    try:
        found = ipaddress.IPv4Address(ip)
        number = int(port) if port else 0
    except ValueError:
        raise Unclear(
            f"{typed} is no address.", mend="Like 192.168.1.20, or 192.168.1.20:8417"
        ) from None
    if not 0 <= number < 65536:
        raise Unclear(f"{port} is no port.", mend="One from 1024 to 65535.")
    if not found.is_private or found.is_unspecified:
        raise NotAllowed(
            f"{ip} is not an address of a home network; the sheet is not served there.",
            mend="Name this computer's address at home: --address 192.168.1.20",
        )
    return ip, number


def _own_address() -> str:
    """This computer's address in its network; nothing is sent to find out."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(_NOWHERE)
            return str(probe.getsockname()[0])
    except OSError as error:
        raise NotAllowed(
            "This computer is in no network, so no phone can reach it.",
            mend="Join the home network; or take the page as a file: labbook batch sheet --page",
        ) from error


def _introduce(batch: Batch, counter: Counter) -> None:
    end = datetime.now() + timedelta(seconds=counter.lasts)
    screen = say.screen_for(sys.stdout)
    screen.title(f"{batch.short}, bench sheet to the phone", f"until {end:%H:%M}")
    screen.blank()
    say.write(screen.text())
    _draw(counter.address, say.write)
    # In one piece, however narrow the terminal: half an address opens nothing.
    say.write(f"open        {counter.address}\n")
    screen = say.screen_for(sys.stdout)
    screen.row(
        "",
        "The phone has to be in the same network. Whoever there has this address can read and fill"
        " in the sheet until it ends; it is not encrypted. Ctrl-C ends it.",
    )
    screen.blank()
    say.write(screen.text())
    sys.stdout.flush()


def _draw(address: str, write: Callable[[str], None]) -> None:
    """The address as a QR code, for a terminal only."""
    if not sys.stdout.isatty():
        return
    import io

    import segno

    drawn = io.StringIO()
    compact = say.speaks_utf8(sys.stdout)
    segno.make(address, error="l", micro=False).terminal(drawn, border=2, compact=compact)
    lines = drawn.getvalue().splitlines()
    if compact:  # light on dark whatever the colours of the terminal: not all phones read it turned
        lines = [f"\x1b[97;40m{line}\x1b[0m" for line in lines]
    write("\n".join(["", *lines, "", ""]))
