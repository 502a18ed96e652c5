"""SVG as text, element by element; words are escaped, and cut where they would stick out."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from labbook.show.layout import clean, columns_of

WIDTH = 320.0
"""Units across every picture."""

SIZE = 12.0
"""The size of all letters, in units: 10.5 px where 320 px are 280 without their margins."""

_NARROW = frozenset("iljtfr.,:;'|!()[]/ -")
_BROAD = frozenset("mwMW@%→&…")


def text_width(text: str, size: float = SIZE) -> float:
    """How much room words take at most, in units; a stand-in for a font that nobody knows."""
    return size * sum(_share(char) for char in text)


def _share(char: str) -> float:
    if char in _NARROW:
        return 0.38
    if char in _BROAD:
        return 1.0
    if not char.isascii():
        return max(0.66, 1.1 * columns_of(char) / 2) if columns_of(char) != 2 else 1.1
    return 0.74 if char.isupper() else 0.57


def fitted(text: str, room: float) -> str:
    """Clean words, cut with … where they are longer than the room."""
    words = clean(text)
    if text_width(words) <= room:
        return words
    left = room - text_width("…")
    end = 0
    while end < len(words) and (left := left - text_width(words[end])) >= 0:
        end += 1
    return f"{words[:end].rstrip()}…" if end else ""


def figure(value: float) -> str:
    """A coordinate: one digit behind the point, or none."""
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


class Drawing:
    """Elements of a picture, in the order in which they are painted."""

    def __init__(self) -> None:
        self._parts: list[str] = []

    def add(self, tag: str, name: str, /, **attributes: float | str) -> None:
        """An empty element of a class; `_` in an attribute's name stands for `-`."""
        self._parts.append(f"<{tag}{_attributes(name, attributes)}/>")

    def line(
        self, name: str, x1: float, y1: float, x2: float, y2: float, /, **more: float | str
    ) -> None:
        """A straight line, 1 unit thick where nothing else is said."""
        style: dict[str, float | str] = {"stroke": "currentColor", "stroke_width": 1, **more}
        self.add("line", name, x1=x1, y1=y1, x2=x2, y2=y2, **style)

    def words(self, name: str, x: float, y: float, text: str, anchor: str = "start") -> None:
        """Words on a base line; nothing for none."""
        if not text:
            return
        place: dict[str, float | str] = {"x": x, "y": y}
        if anchor != "start":
            place["text_anchor"] = anchor
        self._parts.append(f"<text{_attributes(name, place)}>{escape(clean(text))}</text>")

    def svg(self, kind: str, title: str, desc: str, height: float, *, paper: bool = False) -> str:
        """The whole picture.

        Args:
            kind: a class beside `picture`.
            title: what it is called.
            desc: what it shows, in sentences.
            height: in units.
            paper: whether to paint white paper under it: for a file that stands alone.
        """
        size = f"{figure(WIDTH)} {figure(height)}"
        inside = "\n".join(self._parts)
        drawn = (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="picture {kind}" role="img"'
            f' viewBox="0 0 {size}" width="{figure(WIDTH)}" height="{figure(height)}"'
            f' font-family="Georgia, serif" font-size="{figure(SIZE)}" {_INK}>\n'
            f"<title>{escape(clean(title))}</title>\n<desc>{escape(clean(desc))}</desc>\n"
            f"{inside}\n</svg>\n"
        )
        return on_paper(drawn) if paper else drawn


_INK = 'fill="currentColor"'
_HEADED = "</desc>\n"


def on_paper(drawn: str) -> str:
    """A picture that was drawn for a page, with black ink on white paper: a file of its own."""
    size = drawn[drawn.index(' width="') : drawn.index(" font-family=")]
    inked = drawn.replace(_INK, f'{_INK} color="#000000"', 1)
    ground = f'<rect class="paper"{size} fill="#ffffff"/>\n'
    return inked.replace(_HEADED, _HEADED + ground, 1)


def _attributes(name: str, values: Mapping[str, float | str]) -> str:
    told = [("class", name), *((key.replace("_", "-"), value) for key, value in values.items())]
    return "".join(f' {key}="{_attribute(value)}"' for key, value in told)


def _attribute(value: float | str) -> str:
    return escape(clean(value)) if isinstance(value, str) else figure(value)
