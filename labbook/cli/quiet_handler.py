"""How both servers answer: nothing of a request comes back, and nothing is told of the computer."""

from __future__ import annotations

import contextlib
from http.server import BaseHTTPRequestHandler

PATIENCE = 15  # seconds for a request to arrive

HEADERS = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cache-Control", "no-store"),
    ("X-Frame-Options", "DENY"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Connection", "close"),
)


class QuietHandler(BaseHTTPRequestHandler):
    """Answers with strict headers, and refuses without a word more than that."""

    timeout = PATIENCE

    def send(self, status: int, kind: str, body: bytes) -> None:
        """Sends an answer whole.

        Args:
            status: of HTTP.
            kind: its media type.
            body: left out where only the head was asked for.
        """
        self.send_response(status)
        for name, value in (("Content-Type", kind), ("Content-Length", str(len(body))), *HEADERS):
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    # What the library does by itself -----------------------------------------------------------

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """A refusal says no more than that; nothing of the request comes back."""
        self.close_connection = True
        with contextlib.suppress(OSError):
            self.send(405 if code == 501 else code, "text/plain; charset=utf-8", b"Not here.\n")

    def version_string(self) -> str:
        """Nothing about the computer."""
        return "labbook"

    def log_message(self, format: str, *args: object) -> None:
        """The terminal shows what is said of the entries or the pages, not who asked."""
