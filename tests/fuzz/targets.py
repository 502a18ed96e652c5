"""The parsers that are fuzzed: where their texts come from, and what they may raise."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC
from pathlib import Path
from random import Random
from typing import Any
from zipfile import ZipFile

from labbook.journal import state
from labbook.model.errors import LabbookError
from labbook.model.ids import matching_batches
from labbook.model.kinds import kind_of
from labbook.model.moments import MomentError, parse_moment
from labbook.model.quantities import QuantityError, parse_number, parse_quantity
from labbook.model.sheets import Sheets
from labbook.notebook.entries import entry_of, with_public
from labbook.notebook.lenient import read_leniently
from labbook.notebook.merge import merge
from labbook.notebook.readfile import ReadFile
from labbook.notebook.spreadsheet import read_grid
from labbook.notebook.temperature_log import read_temperatures
from labbook.notebook.text import decode
from labbook.notebook.validate import read_file
from labbook.trade.composition import resolve
from labbook.trade.sheet_reading import Wish
from labbook.trade.sheet_reading import read_sheet as read_table
from labbook.work.bench import Bench
from labbook.work.correctable import mass_of, target_of
from labbook.work.importing import namer
from labbook.work.label_sheet import sheet_of
from labbook.work.phrases import recognise, split_phrases
from labbook.work.seeing import Seen, grade_of, mode_of, with_reading, with_words
from labbook.work.sheet_text import read_items, read_sheet
from labbook.work.spinning import with_spin
from labbook.work.states import content_of
from labbook.work.weigh_typed import read_typed
from tests.sample import steps

SAYS_NO = (LabbookError, QuantityError, MomentError)
"""What a parser says no with; anything else that it raises is a fault."""


@dataclass(frozen=True)
class World:
    """A notebook to look things up in, and a file to write inputs into."""

    bench: Bench
    batch: str
    file: Path


@dataclass(frozen=True)
class Target:
    """A parser: its seeds, and what is done with an input; `weight` of the draws go to it."""

    name: str
    weight: int
    seeds: Sequence[bytes]
    run: Callable[[World, bytes, Random], Any]


def _text(raw: bytes) -> str:
    """An input as a text that an argument or a keyboard can bring, halves of pairs included."""
    return raw.decode("utf-8", "surrogateescape")


# Files --------------------------------------------------------------------------------------------

_FROZEN = Path(__file__).resolve().parents[1] / "formats" / "format-1"
FILES = {
    path: raw for step in steps() for path, raw in step.files.items() if kind_of(path) is not None
} | {path.relative_to(_FROZEN).as_posix(): path.read_bytes() for path in _FROZEN.rglob("*.yaml")}
"""Files of every kind: those of the sample, and what it lacks from the frozen ones."""
_PATHS = sorted(FILES)


def _file(world: World, raw: bytes, chance: Random) -> None:
    path = chance.choice(_PATHS)
    read = read_file(raw, path)
    if read.record is not None:
        again = ReadFile.from_json(read.as_json())
        if again.record != read.record:
            raise AssertionError("the cache would give another record")
    lenient = read_leniently(raw, path)
    if lenient is not None and lenient.record is not None:
        resolve(lenient.record, world.bench.snapshot.sheets)


def _own_kind(path: str) -> Target:
    def run(world: World, raw: bytes, chance: Random) -> None:
        read = read_file(raw, path)
        if read.record is not None and ReadFile.from_json(read.as_json()).record != read.record:
            raise AssertionError("the cache would give another record")

    kind = kind_of(path)
    name = kind.name if kind else path
    seeds = [raw for at, raw in FILES.items() if (k := kind_of(at)) and k.name == name]
    return Target(f"file: {name}", 3, seeds, run)


def _merge(world: World, raw: bytes, chance: Random) -> None:
    base = chance.choice(_FORMULAS)
    merge(decode(base, "b"), decode(raw, "o"), decode(chance.choice(_FORMULAS), "t"), "formula")


def _entry(world: World, raw: bytes, chance: Random) -> None:
    text = decode(raw, "journal/2026-01-01-a.md")
    entry_of("journal/2026-01-01-a.md", text)
    with_public(text, "yes")


_FORMULAS = [raw for path, raw in FILES.items() if path.startswith("formulas/")]
_KIND_PATHS = list({kind.name: path for path in _PATHS if (kind := kind_of(path))}.values())
_ENTRIES = [raw for step in steps() for path, raw in step.files.items() if path.endswith(".md")]


# Tables and bench sheets --------------------------------------------------------------------------

_SHEETS = Path(__file__).resolve().parents[1] / "import_sheets"
_TABLES = [path.read_bytes() for path in sorted(_SHEETS.glob("*.[ct]sv"))]


def _table(world: World, raw: bytes, chance: Random) -> None:
    world.file.write_bytes(raw)
    wish = Wish(chance.choice(("", "point", "comma")), chance.choice((True, False)), "")
    read_table(read_grid(world.file), namer(world.bench.snapshot.sheets), wish)


def _temperatures(world: World, raw: bytes, chance: Random) -> None:
    world.file.write_bytes(raw)
    read_temperatures(world.file, chance.choice((UTC, None)))


def _workbook(world: World, raw: bytes, chance: Random) -> None:
    world.file.write_bytes(raw)
    read_grid(world.file)


def _part(whole: bytes) -> Callable[[World, bytes, Random], None]:
    """Reads a workbook one of whose parts is the input: packed well, so that it comes through."""

    def run(world: World, raw: bytes, chance: Random) -> None:
        with ZipFile(io.BytesIO(whole)) as old, ZipFile(world.file, "w") as new:
            part = chance.choice(_PARTS)
            for name in old.namelist():
                new.writestr(name, raw if name == part else old.read(name))
        read_grid(world.file)

    return run


def _sheet(world: World, raw: bytes, chance: Random) -> None:
    read_sheet(raw, "sheet.txt")


def _items(world: World, raw: bytes, chance: Random) -> None:
    """The entries alone: their sum at the end would refuse nearly every change."""
    read_items(raw.decode("utf-8", "replace").split("\n"), "sheet.txt")


# Typed texts --------------------------------------------------------------------------------------


def _quantity(world: World, raw: bytes, chance: Random) -> None:
    text = _text(raw)
    dimension = chance.choice(("", "mass", "temperature", "time", "length"))
    found = parse_quantity(text, dimension, default=chance.choice(("", "g", "°C")))
    _ = str(found), found.base


def _number(world: World, raw: bytes, chance: Random) -> None:
    parse_number(_text(raw), signed=chance.choice((True, False)))


def _moment(world: World, raw: bytes, chance: Random) -> None:
    parse_moment(_text(raw))


def _mass(world: World, raw: bytes, chance: Random) -> None:
    mass_of(_text(raw))


def _weigh(world: World, raw: bytes, chance: Random) -> None:
    batch = world.bench.batch(world.batch)
    read_typed(world.bench, batch, _text(raw).split("\n"), added=chance.choice((True, False)))


def _note(world: World, raw: bytes, chance: Random) -> None:
    batch = world.bench.batch(world.batch)
    for phrase in split_phrases([_text(raw)]):
        recognise(phrase, batch, "water-in-oil")


def _look(world: World, raw: bytes, chance: Random) -> None:
    text = _text(raw)
    for parse in (grade_of, mode_of, lambda t: with_words(Seen(), t.split()),
                  lambda t: with_reading(Seen(), t)):  # fmt: skip
        try:
            parse(text)
        except SAYS_NO:
            continue


def _spin(world: World, raw: bytes, chance: Random) -> None:
    with_spin(Seen(), _text(raw), world.bench.snapshot.equipment)


def _labels(world: World, raw: bytes, chance: Random) -> None:
    sheet_of(_text(raw), chance.choice(("a4", "letter")))


def _correction(world: World, raw: bytes, chance: Random) -> None:
    batch = world.bench.batch(world.batch)
    name, _, value = _text(raw).partition("=")
    target_of(world.bench, batch, name, value)


def _published(world: World, raw: bytes, chance: Random) -> None:
    state.read(raw)


def _version(world: World, raw: bytes, chance: Random) -> None:
    content_of(world.bench, _text(raw))


def _id(world: World, raw: bytes, chance: Random) -> None:
    text = _text(raw)
    matching_batches(text, world.bench.snapshot.batches)
    Sheets(world.bench.snapshot.ingredients).find(text)


_PARTS = ("xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml",
          "xl/_rels/workbook.xml.rels")  # fmt: skip
_LOGS = (
    "time;temperature\n2026-03-01 10:00;21.5\n2026-03-01 11:00;22,5\n",
    "Date,Time,Celsius\n2026-03-01,10:00:00,21.5\n2026-03-01,11:00:00,22.0\n",
    "2026-03-01T10:00Z\t70 F\n2026-03-01T11:00Z\t71 F\n",
)
_STATES = [b'{"format": 1, "things": {"formula HC": "abc"}, "files": {"index.html": "def"}}']


def _typed(*texts: str) -> list[bytes]:
    return [text.encode("utf-8") for text in texts]


TARGETS: tuple[Target, ...] = (
    Target("file: any", 6, list(FILES.values()), _file),
    *(_own_kind(path) for path in _KIND_PATHS),
    Target("merge", 4, _FORMULAS, _merge),
    Target("entry", 3, _ENTRIES or [b"---\ntitle: a\n---\nText\n"], _entry),
    Target("table", 8, _TABLES, _table),
    Target("quantity", 6, _typed("100 g", "72 °C", "-18 °C", "10 min", "3 d"), _quantity),
    Target("number", 4, _typed("0.50", "14", "-3.2", "1,5"), _number),
    Target("moment", 4, _typed("2026-01-09", "2026-01-09T14:10+01:00"), _moment),
    Target("mass", 3, _typed("100", "100g", "1.5 kg", "3 oz"), _mass),
    Target("weigh", 5, _typed("beeswax=1.52", "water+=3.1 g", "glycerin:=4", "beeswax=*",
                              "1.52\n14.0\n4.5"), _weigh),
    Target("note", 6, _typed("pH 5.4", "A 71 B 69; stick blender 8000 rpm", "viscosity 12000 mPa s",
                             "yield 97.3 g", "room 21 °C 45 %", "drop in water: stays"), _note),
    Target("look", 5, _typed("oil-on-top 3/41", "3 separation", "pH 5.2", "0", "2 grains"), _look),
    Target("temperature log", 3, _typed(*_LOGS), _temperatures),
    Target("spin", 2, _typed("3000 rpm, 10 cm, 30 min", "500 g, 10 min"), _spin),
    Target("label sheet", 2, _typed("3x8 63.5x33.9", "3x7 63.5x38.1 gap 2.5x0 margin 7.2x15.1"),
           _labels),
    Target("correction", 4, _typed("beeswax=1.4", "r1.value=5.2", "s2.A=71 °C", "mixer=whisk",
                                   "w1.mass=2.5 g"), _correction),
    Target("published", 2, _STATES, _published),
    Target("version", 2, _typed("HC@2", "HC@2026-03-05", "HC@#1a2b", "HC@HEAD~1", "HC"), _version),
    Target("id", 4, _typed("7k", "HC-260302-F3", "7K.1", "beeswax"), _id),
)  # fmt: skip
"""All but workbooks and bench sheets, whose seeds are made anew (`made_targets`)."""


def made_targets(workbook: bytes, sheet: bytes) -> tuple[Target, ...]:
    """The parsers whose seeds the program or a library writes."""
    with ZipFile(io.BytesIO(workbook)) as packed:
        parts = [packed.read(name) for name in _PARTS]
    return (
        Target("a workbook's part", 3, parts, _part(workbook)),
        Target("workbook", 2, [workbook], _workbook),
        Target("bench sheet", 2, [sheet], _sheet),
        Target("bench sheet's entries", 5, sheet.splitlines(), _items),
    )
