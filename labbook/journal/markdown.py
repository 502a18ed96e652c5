"""Markdown pages from templates: what a maker typed is shown as typed, never obeyed.

Every expression of a template is escaped, unless it is Markdown that this room made itself (`Md`).
Notes and entries are Markdown of the maker's: they stay so, but can't reach beyond their own part.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from typing import Any

from labbook.show.markdown import escaped

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
_FIGURE = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
_LONG_NUMBER = re.compile(r"^([0-9]{3,9})(?=[.)])")
_MARKS = frozenset(
    "\u061c\u200b\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2028\u2029\u2060\u2061\u2062\u2063"
    "\u2064\u2066\u2067\u2068\u2069\u206a\u206b\u206c\u206d\u206e\u206f\ufeff\ufff9\ufffa\ufffb"
)


class Md(str):
    """Markdown that this room made: not escaped again."""

    __slots__ = ()


def visible(text: str) -> str:
    """Text whose control characters and marks of writing direction are shown, not sent.

    Line ends and tabs stay, and what scripts and signs are joined with.
    """
    if text.isprintable():  # then nothing in it is a control, a mark of direction, or unassigned
        return text
    return "".join(char if char.isascii() and char.isprintable() else _shown(char) for char in text)


def _shown(char: str) -> str:
    if char in "\n\t":
        return char
    code = ord(char)
    tag = 0xE0000 <= code <= 0xE007F
    if char not in _MARKS and not tag and unicodedata.category(char) not in ("Cc", "Cs", "Co"):
        return char
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def md(value: object) -> Md:
    """A value as Markdown that shows it as it stands, on one line."""
    if isinstance(value, Md):
        return value
    text = "" if value is None else str(value)
    if _FIGURE.fullmatch(text):
        return Md(text)
    return Md(_LONG_NUMBER.sub(r"\g<1>\\", escaped(text)))


def day(value: date | None) -> str:
    """`30 January 2026`."""
    return f"{value.day} {MONTHS[value.month - 1]} {value.year}" if value else ""


def free(text: str | None) -> Md:
    """A maker's own Markdown, which ends where it ends: an open fence is closed."""
    normal = visible((text or "").replace("\r\n", "\n").replace("\r", "\n")).strip("\n")
    from labbook.journal.commonmark import parser

    tokens = parser().parse(normal)
    last = tokens[-1] if tokens else None
    if last is None or last.type != "fence" or last.level or last.map is None:
        return Md(normal)
    lines = normal.split("\n")
    end = lines[-1].strip()
    closed = last.map[1] - last.map[0] > 1 and len(end) >= len(last.markup)
    if closed and set(end) == {last.markup[0]}:
        return Md(normal)
    return Md(f"{normal}\n{last.markup}")


class Templates:
    """The Markdown templates, in a sandbox; a template can neither import nor reach outside."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        from jinja2 import DictLoader, StrictUndefined
        from jinja2.sandbox import ImmutableSandboxedEnvironment

        self._environment = ImmutableSandboxedEnvironment(
            loader=DictLoader(dict(texts)),
            autoescape=False,
            finalize=md,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=True,
        )
        self._environment.filters |= {"md": md, "day": day, "free": free}

    def render(self, name: str, **values: Any) -> Md:
        """A template filled in; blank lines in a row become one, outside of free text too."""
        text = self._environment.get_template(name).render(**values)
        return Md(text.strip("\n") + "\n")
