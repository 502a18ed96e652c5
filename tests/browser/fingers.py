"""Fingers on a page: taps and typing as a browser gets them from a person; prints, files saved."""

from __future__ import annotations

import base64
import json
import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.browser.chromium import Page

FIND = "document.querySelector({!r})"


@dataclass
class Fingers:
    """One person at one page."""

    page: Page

    def ask(self, method: str, **params: Any) -> Any:
        """A command of the debugging protocol."""
        return self.page._ask(method, params)

    def loads(self, method: str, **params: Any) -> None:
        """A command after which a page is loaded."""
        self.page._ask(method, params, until="Page.loadEventFired")

    def sees(self, selector: str) -> str:
        """The text of an element, or what stands in a field."""
        found = f"((e) => e ? (e.value ?? e.innerText) : '')({FIND.format(selector)})"
        return str(self.page.evaluate(found))

    def taps(self, selector: str) -> None:
        """Presses and lets go in the middle of an element, where it is on top."""
        place = self.page.evaluate(
            f"""((e) => {{
              e.scrollIntoView({{block: 'center'}});
              const box = e.getBoundingClientRect();
              const x = box.x + box.width / 2, y = box.y + box.height / 2;
              const hit = document.elementFromPoint(x, y);
              return {{x, y, hit: e === hit || e.contains(hit)}};
            }})({FIND.format(selector)})"""
        )
        assert place and place["hit"], f"nothing to tap at {selector}: {place}"
        where: dict[str, Any] = {
            "x": place["x"],
            "y": place["y"],
            "button": "left",
            "clickCount": 1,
        }
        self.ask("Input.dispatchMouseEvent", type="mousePressed", **where)
        self.ask("Input.dispatchMouseEvent", type="mouseReleased", **where)

    def opens(self, selector: str) -> None:
        """Opens the lists that hide an element, the outermost first."""
        while True:
            shut = self.page.evaluate(
                f"""((e) => {{
                  const shut = [];
                  for (e = e.closest('details:not([open])'); e;
                       e = e.parentElement.closest('details:not([open])')) shut.unshift(e);
                  document.querySelector('[data-opens]')?.removeAttribute('data-opens');
                  shut[0]?.querySelector('summary').setAttribute('data-opens', '');
                  return shut.length;
                }})({FIND.format(selector)})"""
            )
            if not shut:
                return
            self.taps("[data-opens]")

    def types(self, selector: str, text: str, *, enter: bool = True) -> None:
        """Taps a field, takes out what stands there, types, and Enter."""
        self.taps(selector)
        self.page.evaluate(f"{FIND.format(selector)}.select?.()")
        if not text:
            self.key("Backspace", 8)
        for char in text:
            self.ask("Input.insertText", text=char)
        if enter:
            self.key("Enter", 13, "\r")

    def key(self, name: str, code: int, text: str = "") -> None:
        """One key."""
        keys = {"key": name, "code": name, "windowsVirtualKeyCode": code, "text": text}
        self.ask("Input.dispatchKeyEvent", type="keyDown", **keys)
        self.ask("Input.dispatchKeyEvent", type="keyUp", **keys)

    def chooses(self, selector: str, value: str) -> None:
        """One of the words of a list."""
        told = "e.dispatchEvent(new Event('change', {bubbles: true}))"
        element = FIND.format(selector)
        self.page.evaluate(f"((e) => {{ e.value = {value!r}; {told}; }})({element})")

    def prints(self, file: Path, width: float, height: float) -> None:
        """The page on paper of that size, in mm."""
        found = self.ask(
            "Page.printToPDF", paperWidth=width / 25.4, paperHeight=height / 25.4,
            preferCSSPageSize=False, printBackground=False,
            marginTop=0.5, marginBottom=0.5, marginLeft=0.55, marginRight=0.55,
        )  # fmt: skip
        file.write_bytes(base64.b64decode(found["data"]))

    def dies(self) -> None:
        """The process of the page is ended by force; then the page is opened again."""
        url = self.page.evaluate("location.href")
        pipe = self.page._ask.__self__
        told = {"id": 0, "method": "Page.crash", "sessionId": pipe.session, "params": {}}
        os.write(pipe._write, json.dumps(told).encode() + b"\0")
        while pipe._next().get("method") != "Inspector.targetCrashed":
            pass
        self.loads("Page.navigate", url=url)

    def saves_into(self, folder: Path) -> None:
        """Where files that are saved go."""
        self.ask("Page.setDownloadBehavior", behavior="allow", downloadPath=str(folder))


def waited(for_: Callable[[], Any], *, seconds: float = 10) -> Any:
    """What comes of asking again until there is something."""
    end = time.monotonic() + seconds
    while True:
        found = for_()
        if found or time.monotonic() > end:
            assert found, "it did not come"
            return found
        time.sleep(0.05)
