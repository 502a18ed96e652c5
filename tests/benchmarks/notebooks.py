"""Invented notebooks of any size, with their history, to measure with.

One seed gives one notebook, commit ids included. History goes through `git fast-import`, so that
ten years take seconds. `python -m tests.benchmarks.notebooks FOLDER [small|standard]` writes one.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random

from labbook.model.digest import digest
from labbook.model.formula import Formula
from labbook.model.ids import endings
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.notebook.snapshot import read_bytes
from tests.benchmarks import texts

SHIPPED = Path(__file__).resolve().parents[2] / "labbook" / "rules" / "ingredients"
FIRST = date(2016, 4, 17)
TODAY = date(2026, 4, 16)


@dataclass(frozen=True, slots=True)
class Size:
    """How large a notebook is; batches are spread evenly over the formulas.

    Each batch has the ten looks of its protocol, but for one in fifty, which was forgotten
    half-way, and those whose days are still to come.
    """

    formulas: int
    versions: int
    batches: int


STANDARD = Size(500, 20, 5_000)
SMALL = Size(12, 4, 120)


@dataclass(frozen=True, slots=True)
class _Event:
    """Files that one commit brings."""

    day: date
    message: str
    files: tuple[tuple[str, str], ...]


def write(folder: Path, size: Size, *, seed: int = 1) -> Path:
    """A notebook of a size in a new folder, committed and checked out."""
    folder.mkdir(parents=True)
    _git(folder, "init", "--quiet", "--template=", "--object-format=sha1", "-b", "main")
    _git(folder, "fast-import", "--quiet", stdin=b"".join(_stream(size, Random(seed))))
    _git(folder, "reset", "--quiet", "--hard", "main")
    return folder


def _git(folder: Path, *words: str, stdin: bytes = b"") -> None:
    subprocess.run(["git", "-C", str(folder), *words], input=stdin, check=True)


def _stream(size: Size, chance: Random) -> Iterator[bytes]:
    events = sorted(_events(size, chance), key=lambda event: event.day)
    for number, event in enumerate(events):
        noon = datetime(event.day.year, event.day.month, event.day.day, 12, tzinfo=UTC)
        stamp = f"the potter <potter@example.org> {int(noon.timestamp())} +0100"
        yield f"commit refs/heads/main\nauthor {stamp}\ncommitter {stamp}\n".encode()
        yield _data(event.message + ("\n" if number else ""))
        for path, text in event.files:
            yield f"M 100644 inline {path}\n".encode() + _data(text)
    yield b"done\n"


def _data(text: str) -> bytes:
    raw = text.encode()
    return b"data %d\n%b\n" % (len(raw), raw)


def _events(size: Size, chance: Random) -> Iterator[_Event]:
    yield _Event(FIRST - timedelta(days=2), "A notebook", tuple(_furniture()))
    span = (TODAY - FIRST).days - 1
    pins: list[list[texts.Pinned]] = []
    begun = []
    for number in range(size.formulas):
        start = FIRST + timedelta(days=span * number // (2 * size.formulas))
        begun.append(start)
        pins.append(_versions(number, size.versions))
        for pin in pins[-1]:
            text = texts.formula(pin.code, pin.id, pin.version, pin.figures)
            day = _day_of(start, pin.version, size.versions)
            path = f"formulas/{pin.code}.yaml"
            yield _Event(day, f"{pin.code}@{pin.version}: one figure moved", ((path, text),))
    used = endings()
    for count in range(size.batches):
        number = count % size.formulas
        turn, turns = count // size.formulas + 1, -(-size.batches // size.formulas)
        pin = pins[number][max(0, turn * size.versions // turns - 1)]
        day = _day_of(begun[number], pin.version, size.versions)
        yield from _batch(pin, day, used[count % len(used)], chance)


def _day_of(start: date, version: int, versions: int) -> date:
    """Versions follow each other evenly until today."""
    return start + timedelta(days=(TODAY - start).days * version // (versions + 1))


def _furniture() -> Iterator[tuple[str, str]]:
    yield "labbook.yaml", texts.HEAD.format(today=TODAY.isoformat())
    yield ".gitattributes", "*.yaml text eol=lf\n"
    yield ".gitignore", ".labbook/\n"
    yield "protocols/home.yaml", texts.PROTOCOL
    yield "equipment/balance-001.yaml", texts.BALANCE
    yield "equipment/stick-blender.yaml", texts.BLENDER
    for sheet in texts.SHEETS:
        yield f"ingredients/{sheet}.yaml", (SHIPPED / f"{sheet}.yaml").read_text(encoding="utf-8")
        yield f"lots/{sheet}-1.yaml", texts.lot(sheet)


def _versions(number: int, versions: int) -> list[texts.Pinned]:
    code, id_ = f"F{number:03d}", f"f-{number:06d}"
    found: list[texts.Pinned] = []
    first = texts.formula(code, id_, 1, texts.percents(number, 1))
    record = read_bytes(f"formulas/{code}.yaml", first.encode()).record
    assert isinstance(record, Formula)
    for version in range(1, versions + 1):
        figures = tuple(texts.percents(number, version))
        text = texts.formula(code, id_, version, figures).encode()
        blob = hashlib.sha1(b"blob %d\0%b" % (len(text), text), usedforsecurity=False).hexdigest()
        content = digest(_with(record, version, figures), _SHEETS)
        found.append(texts.Pinned(code, id_, version, content, blob, figures))
    return found


_SHEETS = Sheets({name: Ingredient(id=name) for name in texts.SHEETS})


def _with(record: Formula, version: int, figures: tuple[str, ...]) -> Formula:
    """The formula with other figures, as its file would be read."""
    amounts = dict(zip(texts.SHEETS, figures, strict=True))
    phases = tuple(
        replace(phase, lines=tuple(
            line if line.ingredient == "water"
            else replace(line, percent=Decimal(amounts[line.ingredient]))
            for line in phase.lines
        ))
        for phase in record.phases
    )  # fmt: skip
    return replace(record, version=version, phases=phases)


def _batch(pin: texts.Pinned, day: date, ending: str, chance: Random) -> Iterator[_Event]:
    id_ = f"{pin.code}-{day:%y%m%d}-{ending}"
    folder = f"batches/{day.year}/{id_}"
    fails_at = chance.choice((None, None, None, 7, 14, 28))
    made = texts.batch(id_, day, pin, chance)
    yield _Event(
        day,
        f"close {ending}, 96.1 g, 3 jars",
        ((f"{folder}/batch.yaml", made), (f"{folder}/jars.yaml", texts.jars(id_, day))),
    )
    forgotten = chance.randrange(50) == 0
    for age in (7,) if forgotten else (7, 28):
        when = min(day + timedelta(days=age), TODAY - timedelta(days=1))
        if when > day:
            text = texts.looks(id_, day, (when - day).days, fails_at)
            yield _Event(when, f"{ending} day {age}", ((f"{folder}/stability.yaml", text),))


if __name__ == "__main__":
    chosen = SMALL if "small" in sys.argv[2:] else STANDARD
    write(Path(sys.argv[1]), chosen)
