"""What was published last: names, digests and figures, kept beside the pages.

It is an input of the next publication: what is news, and which figures say something else than
they said, is told against it. It holds nothing that the pages don't.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from labbook.journal.errata import Erratum, Figures, figures_on
from labbook.journal.publish import PublicFormula
from labbook.model.codec import to_json
from labbook.model.entry import Entry
from labbook.model.sheets import Sheets

if TYPE_CHECKING:
    from labbook.journal.shelf import Shelf

FILE = "published.json"
FORMAT = 1
LARGEST = 100_000_000
_ERRATUM = ("part", "key", "what", "was", "now", "day", "why")


@dataclass(frozen=True)
class Published:
    """What was published: things, and the files of the site, each with a digest.

    Things go by name: `formula SBC`, `version SBC@3`, `batch …`, `entry …`, `ingredient …`.
    `figures` are those that were told, `errata` the changes of figures that were told.
    """

    things: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)
    figures: Figures = field(default_factory=dict)
    errata: tuple[Erratum, ...] = ()


def things_of(formulas: Iterable[PublicFormula]) -> dict[str, str]:
    """The names and digests of what is public of formulas."""
    found: dict[str, str] = {}
    for one in formulas:
        code = one.formula.code
        head = [one.formula.title, one.formula.notes, to_json(one.formula.acceptance)]
        found[f"formula {code}"] = _digest(head)
        for version in one.versions:
            found[f"version {version.name}"] = _digest([version.subject, to_json(version.formula)])
        for made in one.batches:
            parts = [to_json(made.batch), to_json(made.jars), to_json(made.stability)]
            parts += [to_json(made.photos)] if made.photos else []
            found[f"batch {made.batch.id}"] = _digest(parts)
    return found


def entries_told(entries: Iterable[Entry]) -> dict[str, str]:
    """The names and digests of entries."""
    return {f"entry {one.name}": _digest([one.title, str(one.date), one.text]) for one in entries}


def sheets_told(sheets: Sheets) -> dict[str, str]:
    """The names and digests of the ingredients that have a page."""
    return {f"ingredient {name}": _digest(to_json(one)) for name, one in sheets.by_file.items()}


def things_on(shelf: Shelf) -> dict[str, str]:
    """The names and digests of all that is public."""
    found: dict[str, str] = {}
    for one in shelf.outlines.values():
        found |= one.things
    return found | entries_told(shelf.entries) | sheets_told(shelf.sheets)


def figures_on_shelf(shelf: Shelf) -> dict[str, str]:
    """Every figure that is public, by what it belongs to."""
    found = figures_on(shelf.sheets)
    for one in shelf.outlines.values():
        found |= one.figures
    return found


def _digest(data: Any) -> str:
    text = json.dumps(data, sort_keys=True, ensure_ascii=True, default=str)
    return sha256(text.encode("ascii")).hexdigest()[:16]


def file_digest(raw: bytes) -> str:
    """The digest under which a file of the site is remembered."""
    return sha256(raw).hexdigest()[:16]


def written(state: Published) -> bytes:
    """The file that keeps it: one line for each part, so that two states compare line by line."""
    told = [{key: str(getattr(one, key)) for key in _ERRATUM} for one in state.errata]
    parts = [
        f'"format": {FORMAT}',
        f'"things": {_lines(state.things, _quoted)}',
        f'"files": {_lines(state.files, _quoted)}',
        f'"figures": {_lines(state.figures)}',
        f'"errata": {json.dumps(told, sort_keys=True)}',
    ]  # fmt: skip
    return ("{" + ",\n".join(parts) + "}\n").encode("ascii")


_text = json.JSONEncoder(sort_keys=True).encode
_quoted = json.encoder.encode_basestring_ascii


def _lines(data: Mapping[str, str], told: Callable[[str], str] = str) -> str:
    found = (f"{_quoted(name)}:{told(data[name])}" for name in sorted(data))
    return "{\n" + ",\n".join(found) + "}" if data else "{}"


_FIGURES = ('\n"figures": {\n', '},\n"errata": ')
_LINE = re.compile(r'("(?:[^"\\]|\\.)*"):(\{.*\}),?')


def _apart(raw: bytes) -> tuple[Any, Figures]:
    """What the file says beside the figures, and the lines of these.

    Names in the file have no line's end of their own, so that its parts are known by their heads.
    """
    head, begun, rest = raw.decode("utf-8").partition(_FIGURES[0])
    lines, ended, tail = rest.partition(_FIGURES[1])
    if begun and ended:
        found = [_LINE.fullmatch(line) for line in lines.split("\n")]
        if all(found):
            data = json.loads(f'{head}\n"figures": {{{_FIGURES[1]}{tail}')
            return data, {json.loads(one[1]): one[2] for one in found if one}
    data = json.loads(raw)
    figures = data.get("figures") if isinstance(data, dict) else None
    told = figures.items() if isinstance(figures, dict) else ()
    return data, {name: _text(of) for name, of in told if isinstance(of, dict)}


def read(raw: bytes | None) -> Published:
    """What the file says; nothing where there is none or it can't be read as one."""
    if raw is None or len(raw) > LARGEST:
        return Published()
    try:
        data, figures = _apart(raw)
    except (ValueError, RecursionError):
        return Published()
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        return Published()
    return Published(
        _words(data.get("things")),
        _words(data.get("files")),
        figures,
        tuple(_errata(data.get("errata"))),
    )


def _words(data: object) -> dict[str, str]:
    if not isinstance(data, dict):
        return {}
    return {key: value for key, value in data.items() if isinstance(value, str)}


def _errata(data: object) -> Iterator[Erratum]:
    for one in data if isinstance(data, list) else ():
        words = _words(one)
        try:
            day = date.fromisoformat(words.pop("day", ""))
        except ValueError:
            continue
        if set(words) == set(_ERRATUM) - {"day"}:
            yield Erratum(**words, day=day)


def news(
    before: Mapping[str, str], now: Mapping[str, str]
) -> tuple[list[str], list[str], list[str]]:
    """What is new, what says something else than before, and what is withdrawn."""
    new = [name for name in now if name not in before]
    changed = [name for name in now if name in before and before[name] != now[name]]
    gone = [name for name in before if name not in now]
    return _ordered(new), _ordered(changed), _ordered(gone)


def _ordered(names: Iterable[str]) -> list[str]:
    return sorted(names)
