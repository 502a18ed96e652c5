"""A server on this computer alone for the pages of the journal, which load anew when they change.

It answers to its own name only, so that no page of the web can ask for one of these through
another name of this computer, and gives out the files of the site and nothing beside them.
"""

from __future__ import annotations

import html
import re
from collections.abc import Collection
from dataclasses import dataclass, field
from http.server import ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote, urlsplit

from labbook.cli.quiet_handler import QuietHandler

LOOPBACK = "127.0.0.1"
WATCH = "served/watch.js"
COUNT = "served/count.js"

_KINDS = {
    "html": "text/html; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "jpg": "image/jpeg",
    "json": "application/json",
    "md": "text/plain; charset=utf-8",
    "xml": "application/atom+xml; charset=utf-8",
    "atom": "application/atom+xml; charset=utf-8",
}
_POLICY = re.compile(r'(<meta http-equiv="Content-Security-Policy" content=")([^"]*)(">)')
_SCRIPTS = re.compile(r"script-src ")

# A classic script that loads another one, which sets the count: no page needs leave to connect.
_WATCHING = """"use strict";
(() => {
  let known;
  const own = document.currentScript.src;
  const ask = () => {
    const script = document.createElement("script");
    script.src = new URL("count.js", own).href + "?" + Date.now();
    const later = () => { script.remove(); setTimeout(ask, 1000); };
    script.onerror = later;
    script.onload = () => {
      known = known === undefined ? window.journalCount : known;
      if (window.journalCount !== known) location.reload();
      else later();
    };
    document.head.append(script);
  };
  ask();
})();
"""


@dataclass
class Shelf:
    """What is served: the files of a folder that are part of the site, and how often they changed.

    `host` is the one name that is answered to.
    """

    folder: Path
    files: Collection[str] = ()
    count: int = 0
    host: str = field(default="")

    def answer(self, path: str) -> tuple[str, bytes] | None:
        """The kind and the bytes for a path; None for what is no part of the site."""
        if path == WATCH:
            return _KINDS["js"], _WATCHING.encode()
        if path == COUNT:
            return _KINDS["js"], f"window.journalCount = {self.count};\n".encode()
        name = path or "index.html"
        kind = _KINDS.get(name.rpartition(".")[2])
        if name not in self.files or kind is None:
            return None
        try:
            raw = (self.folder / name).read_bytes()
        except OSError:  # taken away by a build in this moment
            return None
        return kind, watched(raw, name.count("/")) if name.endswith(".html") else raw


def watched(page: bytes, depth: int) -> bytes:
    """A page that loads anew when the journal changes; its policy lets it run that script."""

    def allowed(found: re.Match[str]) -> str:
        policy = html.unescape(found[2])
        if "script-src 'self'" not in policy:
            if _SCRIPTS.search(policy):
                policy = _SCRIPTS.sub("script-src 'self' ", policy, count=1)
            else:
                policy += "; script-src 'self'"
        return f"{found[1]}{html.escape(policy)}{found[3]}"

    text = _POLICY.sub(allowed, page.decode("utf-8"), count=1)
    script = f'<script src="{"../" * depth}{WATCH}"></script>\n'
    before, end, after = text.rpartition("</body>")
    return (before + script + end + after).encode("utf-8")


class SiteServer(ThreadingHTTPServer):
    """Answers on this computer's own address, which nobody else can reach."""

    daemon_threads = True
    block_on_close = False

    def __init__(self, shelf: Shelf, port: int = 0) -> None:
        self.shelf = shelf
        super().__init__((LOOPBACK, port), _Handler)
        shelf.host = f"{LOOPBACK}:{self.server_address[1]}"

    def server_bind(self) -> None:
        """Binds without asking the network for a name."""
        self.socket.bind(self.server_address)
        self.server_address = self.socket.getsockname()
        self.server_name, self.server_port = LOOPBACK, int(self.server_address[1])

    def handle_error(self, request: object, client_address: object) -> None:
        """A connection that broke off is nobody's business."""


class _Handler(QuietHandler):
    server: SiteServer

    def do_GET(self) -> None:
        """A file of the site."""
        if self.headers.get_all("Host") != [self.server.shelf.host]:
            self.send_error(403)
            return
        answer = self.server.shelf.answer(_path_of(self.path))
        if answer is None:
            self.send_error(404)
            return
        self.send(200, *answer)

    def do_HEAD(self) -> None:
        """What there is to say of a file of the site."""
        self.do_GET()


def _path_of(target: str) -> str:
    """The path that is asked for; compared with known ones only, so that none leads out."""
    try:
        return unquote(urlsplit(target).path, errors="strict").removeprefix("/")
    except ValueError:
        return "?"
