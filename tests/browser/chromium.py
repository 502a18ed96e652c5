"""A headless browser that opens files, over the pipe of its debugging protocol; no port, no net.

What is asked: how wide a page is laid out, what its DOM holds, what it asked for and complained of.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome")
OPTIONS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--remote-debugging-pipe",
)


@dataclass
class Page:
    """One tab."""

    _ask: Any
    asked_for: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def open(self, path: Path, *, width: int = 1200, media: str = "", dark: bool = False) -> None:
        """Opens a file at a width, for screen or print, light or dark."""
        self.go(path.as_uri(), width=width, media=media, dark=dark)

    def go(self, address: str, *, width: int = 1200, media: str = "", dark: bool = False) -> None:
        """The same of any address."""
        self.asked_for.clear()
        self.complaints.clear()
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
        self._ask("Emulation.setDeviceMetricsOverride", size)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self._ask("Emulation.setEmulatedMedia", {"media": media, "features": [scheme]})
        self._ask("Page.navigate", {"url": address}, until="Page.loadEventFired")

    def evaluate(self, expression: str) -> Any:
        """The value of an expression in the page, which its policy doesn't concern."""
        found = self._ask("Runtime.evaluate", {"expression": expression, "returnByValue": True})
        return found["result"].get("value")

    def picture(self, file: Path) -> None:
        """The whole page as a PNG, to be looked at."""
        import base64

        found = self._ask("Page.captureScreenshot", {"captureBeyondViewport": True})
        file.write_bytes(base64.b64decode(found["data"]))

    def pdf(self) -> bytes:
        """The page as it is printed, on the paper that it asks for."""
        import base64

        found = self._ask("Page.printToPDF", {"preferCSSPageSize": True})
        return base64.b64decode(found["data"])


class _Pipe:
    """Messages end with NUL, in both directions."""

    def __init__(self, write: int, read: int) -> None:
        self._write, self._read = write, read
        self._rest = b""
        self._number = 0
        self.session = ""
        self.page: Page | None = None

    def ask(self, method: str, params: dict[str, Any], until: str = "") -> dict[str, Any]:
        self._number += 1
        message = {"id": self._number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        answer: dict[str, Any] | None = None
        happened = not until
        while answer is None or not happened:
            found = self._next()
            if found.get("id") == self._number:
                assert "error" not in found, found
                answer = found["result"]
            happened = happened or found.get("method") == until
            self._note(found)
        return answer

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._rest:
            more = os.read(self._read, 1 << 20)
            assert more, "the browser went away"
            self._rest += more
        message, _, self._rest = self._rest.partition(b"\0")
        found: dict[str, Any] = json.loads(message)
        return found

    def _note(self, found: dict[str, Any]) -> None:
        if self.page is None:
            return
        method, params = found.get("method"), found.get("params", {})
        if method == "Network.requestWillBeSent":
            self.page.asked_for.append(params["request"]["url"])
        elif method == "Log.entryAdded":
            self.page.complaints.append(params["entry"]["text"])
        elif method == "Runtime.exceptionThrown" or method == "Runtime.consoleAPICalled":
            self.page.complaints.append(json.dumps(params)[:300])
        elif method == "Page.javascriptDialogOpening":
            self.page.complaints.append(f"a dialog: {params['message']}")


@contextlib.contextmanager
def browser(profile: Path) -> Iterator[Page]:
    """A browser with a new, empty profile; only this process is ended afterwards."""
    program = next(found for name in NAMES if (found := shutil.which(name)))
    to_read, write = os.pipe()
    read, to_write = os.pipe()
    # The browser reads from 3 and writes to 4; a shell puts the pipes there.
    shell = 'exec "$@" 3<&"$0_IN" 4>&"$0_OUT"'.replace('"$0_IN"', str(to_read))
    shell = shell.replace('"$0_OUT"', str(to_write))
    words = [program, *OPTIONS, f"--user-data-dir={profile}", "about:blank"]
    process = subprocess.Popen(
        ["/bin/bash", "-c", shell, "browser", *words],
        pass_fds=(to_read, to_write),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(to_read)
    os.close(to_write)
    pipe = _Pipe(write, read)
    try:
        targets = pipe.ask("Target.getTargets", {})["targetInfos"]
        target = next(one["targetId"] for one in targets if one["type"] == "page")
        attached = pipe.ask("Target.attachToTarget", {"targetId": target, "flatten": True})
        pipe.session = attached["sessionId"]
        for domain in ("Page", "Network", "Log", "Runtime"):
            pipe.ask(f"{domain}.enable", {})
        pipe.page = Page(pipe.ask)
        yield pipe.page
    finally:
        with contextlib.suppress(OSError):
            pipe.session = ""
            os.write(write, b'{"id":0,"method":"Browser.close"}\0')
        os.close(write)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        os.close(read)
