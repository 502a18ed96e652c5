"""`journal serve`: the pages on this computer, built anew whenever a file changes."""

from __future__ import annotations

import contextlib
import sys
import threading
import time
from collections.abc import Iterator

from labbook.cli import say
from labbook.cli.site_server import LOOPBACK, Shelf, SiteServer
from labbook.model.errors import LabbookError, NotAllowed, Unclear
from labbook.show.parts import plural
from labbook.work.bench import Bench
from labbook.work.served import Watch, build_served, served_folder

PAUSE = 0.5
"""Seconds between two looks at the files, and at least ten times as long as one look takes."""


def serve_journal(bench: Bench, port: int) -> None:
    """Serves until Ctrl-C.

    Raises:
        Unclear: no port.
        NotAllowed: the port is taken.
    """
    if not 0 <= port < 65536:
        raise Unclear(f"{port} is no port.", mend="One from 1024 to 65535.")
    shelf = Shelf(served_folder(bench))
    watch = Watch(bench)
    watch.changed()
    built = build_served(bench)
    shelf.files = built.files
    with _served(shelf, port):
        screen = say.screen_for(sys.stdout)
        screen.title(plural(built.pages, "page"), "on this computer only")
        screen.blank()
        screen.row("open", f"http://{shelf.host}/")
        screen.row("", "As the next build would publish it. Ctrl-C ends it.")
        screen.blank()
        say.write(screen.text())
        sys.stdout.flush()
        with contextlib.suppress(KeyboardInterrupt):
            _follow(bench, watch, shelf)
    say.write("\n")


def _follow(bench: Bench, watch: Watch, shelf: Shelf) -> None:
    """Builds after each change, for ever."""
    while True:
        begun = time.monotonic()
        if watch.changed():
            try:
                built = build_served(bench.afresh())
            except LabbookError as error:
                _tell("not built", error.what)
            else:
                shelf.files = built.files
                if built.changed:
                    shelf.count += 1
                    _tell(time.strftime("%H:%M"), f"{plural(built.changed, 'file')} changed")
        threading.Event().wait(max(PAUSE, 10 * (time.monotonic() - begun)))


def _tell(word: str, text: str) -> None:
    screen = say.screen_for(sys.stdout)
    screen.row(word, text)
    say.write(screen.text())
    sys.stdout.flush()


@contextlib.contextmanager
def _served(shelf: Shelf, port: int) -> Iterator[None]:
    """The server at work; nothing listens any more afterwards."""
    try:
        server = SiteServer(shelf, port)
    except OSError as error:
        raise NotAllowed(
            f"Nothing can be served at {LOOPBACK}:{port}: {error.strerror}.",
            mend="Take another port, or none: labbook journal serve",
        ) from error
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1})
    thread.start()
    try:
        yield
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
