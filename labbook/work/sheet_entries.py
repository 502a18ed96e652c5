"""One entry of a bench sheet's text: a line in, a record of the batch out, or a refusal.

Pure. Every part is read by the strict pattern of its kind, and what nobody asked for is refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from labbook.model.batch import Deviation, Reading, Remark, Weighing
from labbook.model.moments import Moment, parse_moment
from labbook.model.quantities import Quantity, parse_number, parse_quantity
from labbook.show.sheet_page import READINGS, TYPES
from labbook.show.sheet_vessels import READ
from labbook.trade.standing import parser_of

LONGEST_LINE = 4000

_ID = re.compile(r"[wrnd][0-9]{1,5}-[a-z0-9]{6}", re.ASCII)
_BATCH_ID = re.compile(r"[A-Z0-9-]{1,20}", re.ASCII)
_LINE_ID = re.compile(r"[a-z][a-z0-9-]{0,63}", re.ASCII)
_KEY = re.compile(r"[^\W_][\w .+-]{0,63}")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")
_ESCAPE = re.compile(r"\\(.?)")
_ESCAPED = {"\\": "\\", "p": "|", "n": "\n"}


@dataclass(frozen=True, slots=True)
class Raised:
    """The rest of the batch was weighed up to a line: new targets and a new size, in g."""

    id: str
    line: str
    mass: Quantity
    size: Quantity
    targets: dict[str, Quantity]
    time: Moment


@dataclass(frozen=True, slots=True)
class Placed:
    """A value in its place: `step s2` and `temperature A`, `room` and `humidity`, `batch` `yield`.

    `before` is what the page had in the place earlier; only that gives way to it.
    """

    place: str
    key: str
    text: str
    before: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Named:
    """A weighing with the ingredient that its line had on the sheet."""

    weighing: Weighing
    ingredient: str


Told = TypeVar("Told", Remark, Deviation)

_UNITS = {**dict(READINGS), **dict.fromkeys(READ, "g")}
"""The readings of a sheet with their units, those of the vessels too."""

Item = Named | Reading | Remark | Deviation | Raised | Placed


def read_item(line: str) -> Item:
    """One entry.

    Raises:
        ValueError: the line is none; the message says why.
    """
    if len(line) > LONGEST_LINE or _CONTROL.search(line):
        raise ValueError("a line is longer than any entry, or holds what is no text")
    parts = [_plain(part) for part in line.split(" | ")]
    if len(parts) < 3 or not all(parts):
        raise ValueError(f"{line[:60]!r} is no entry of a sheet")
    if parts[0] in ("room", "batch") or parts[0].startswith("step "):
        return _placed(parts)
    reader = _KINDS.get(parts[1])
    if reader is None or not _ID.fullmatch(parts[0]) or parts[0][0] != reader[0]:
        raise ValueError(f"{line[:60]!r} is no entry that a sheet can hold")
    return reader[1](parts[0], parts[2:])


def _plain(part: str) -> str:
    """A part with its escapes undone."""

    def one(match: re.Match[str]) -> str:
        if match[1] not in _ESCAPED:
            raise ValueError(f"{match[0]!r} stands for nothing")
        return _ESCAPED[match[1]]

    if "|" in part:
        raise ValueError("a bar stands where none belongs")
    return _ESCAPE.sub(one, part).strip()


class _Rest:
    """The parts behind the fixed ones: each begins with its word, and is taken once."""

    def __init__(self, parts: Sequence[str]) -> None:
        self._parts = list(parts)

    def text(self, word: str) -> str | None:
        """What stands behind a word; None where the word is not there."""
        found = [part for part in self._parts if part.startswith(f"{word} ")]
        if len(found) > 1:
            raise ValueError(f"{word} stands there twice")
        if not found:
            return None
        self._parts.remove(found[0])
        return found[0].removeprefix(f"{word} ").strip()

    def flag(self, words: str) -> bool | None:
        """Whether the words stand there: yes, or not said."""
        if words not in self._parts:
            return None
        self._parts.remove(words)
        return True

    def time(self) -> Moment:
        """When it happened."""
        text = self.text("at")
        if text is None:
            raise ValueError("an entry without its time")
        return parse_moment(text)

    @property
    def left(self) -> Sequence[str]:
        """What was not taken yet."""
        return tuple(self._parts)

    def end(self) -> None:
        """Refuses what nobody asked for."""
        if self._parts:
            raise ValueError(f"{self._parts[0][:40]!r} is nothing that belongs to such an entry")


def _mass(text: str) -> Quantity:
    found = parse_quantity(text, "mass")
    if found.unit != "g":
        raise ValueError(f"{text} is not in g")
    return found


def _name(text: str) -> str:
    """A name as files take it."""
    parse = parser_of(Weighing, "lot")
    return str(parse(text)) if parse else text


def _batch_id(text: str | None) -> str | None:
    """The full id of another batch, where one is named."""
    if text is not None and not _BATCH_ID.fullmatch(text):
        raise ValueError(f"{text[:40]!r} is no batch")
    return text


def _line_id(text: str) -> str:
    if not _LINE_ID.fullmatch(text):
        raise ValueError(f"{text[:40]!r} is no line")
    return text


def _weighed(id_: str, parts: Sequence[str]) -> Named:
    if len(parts) < 3:
        raise ValueError("a weight without its figure")
    rest = _Rest(parts[3:])
    lot = rest.text("lot")
    more = {
        "line": _line_id(parts[0]),
        "lot": None if lot is None else _name(lot),
        "batch": _batch_id(rest.text("from")),
        "as_target": rest.flag("as target"),
    }
    return Named(_weighing(id_, parts[2], rest, more), parts[1])


def _added(id_: str, parts: Sequence[str]) -> Named:
    if len(parts) < 2:
        raise ValueError("an addition without its weight")
    rest = _Rest(parts[2:])
    phase = rest.text("phase")
    more = {"ingredient": _name(parts[0]), "phase": None if phase is None else _name(phase)}
    return Named(_weighing(id_, parts[1], rest, more), parts[0])


def _weighing(id_: str, mass: str, rest: _Rest, more: Mapping[str, Any]) -> Weighing:
    """A weight, of which `rest` has still to tell when it was."""
    time, struck = rest.time(), rest.text("struck")
    rest.end()
    return Weighing(id=id_, mass=_mass(mass), time=time, struck=struck, **more)


def _raised(id_: str, parts: Sequence[str]) -> Raised:
    if len(parts) < 5 or not parts[3].startswith("size "):
        raise ValueError("weighing up without its size")
    rest = _Rest([part for part in parts[4:] if part.startswith("at ")])
    targets: dict[str, Quantity] = {}
    for part in parts[4:]:
        if part.startswith("at "):
            continue
        line, _, mass = part.partition(" ")
        if _line_id(line) in targets:
            raise ValueError(f"{line} has two targets")
        targets[line] = _mass(mass)
    return Raised(
        id_, _line_id(parts[0]), _mass(parts[2]), _mass(parts[3].removeprefix("size ")), targets,
        rest.time(),
    )  # fmt: skip


def _reading(id_: str, parts: Sequence[str]) -> Reading:
    name, said = (parts[0], parts[1]) if len(parts) > 1 else ("", "")
    units = _UNITS
    if name not in units:
        raise ValueError(f"{name[:40]!r} is no reading of a sheet")
    rest = _Rest(parts[2:])
    temperature = rest.text("temperature")
    seen = said.removeprefix("seen ") if said.startswith("seen ") else None
    figure, _, unit = said.partition(" ")
    if (name == "emulsion type") != (seen is not None):
        raise ValueError(f"{said[:40]!r} is no {name}")
    if seen is not None and seen not in TYPES:
        raise ValueError(f"{seen[:40]!r} is no emulsion type")
    if seen is None and unit != units[name]:
        raise ValueError(f"{said[:40]!r} is not in {units[name] or 'the figure alone'}")
    found = Reading(
        id=id_,
        reading=name,
        value=None if seen else parse_number(figure, signed=name not in READ),
        seen=seen,
        unit=unit or None,
        of=rest.text("of"),
        by=rest.text("by"),
        at=None if temperature is None else parse_quantity(temperature, "temperature"),
        time=rest.time(),
        struck=rest.text("struck"),
    )
    rest.end()
    return found


def _told(id_: str, parts: Sequence[str], record: type[Told]) -> Told:
    """What was said in words: a note, or where the making departed from the method."""
    rest = _Rest(parts[1:])
    found = record(id=id_, text=parts[0], step=rest.text("step"), time=rest.time())
    rest.end()
    return found


def _remark(id_: str, parts: Sequence[str]) -> Remark:
    return _told(id_, parts, Remark)


def _deviation(id_: str, parts: Sequence[str]) -> Deviation:
    return _told(id_, parts, Deviation)


def _photo(id_: str, parts: Sequence[str]) -> Remark:
    rest = _Rest(parts[1:])
    shows = rest.text("of")
    text = f"photo {parts[0]}{f': {shows}' if shows else ''}"
    return _told(id_, [text, *rest.left], Remark)


def _placed(parts: Sequence[str]) -> Placed:
    place, key, text = parts[:3]
    before = [part.removeprefix("before ") for part in parts[3:]]
    if not all(part.startswith("before ") for part in parts[3:]):
        raise ValueError("something stands behind a value that doesn't belong there")
    if not _KEY.fullmatch(key):
        raise ValueError(f"{key[:40]!r} is no place of a sheet")
    return Placed(place, key, text, tuple(before))


_KINDS: dict[str, tuple[str, Callable[[str, Sequence[str]], Item]]] = {
    "weighed": ("w", _weighed),
    "added": ("w", _added),
    "weighed up": ("d", _raised),
    "reading": ("r", _reading),
    "note": ("n", _remark),
    "photo": ("n", _photo),
    "deviation": ("d", _deviation),
}
"""How each kind of entry is read, with the letter that its id begins with."""
