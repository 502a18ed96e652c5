"""The texts of an invented notebook's files, as the program itself writes them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random

SHEETS = (
    "polyglyceryl-3-diisostearate", "sunflower-oil", "caprylic-capric-triglyceride", "beeswax",
    "water", "glycerin", "sodium-chloride", "sodium-benzoate", "jojoba-oil", "tocopherol",
)  # fmt: skip
PHASES = "AAAABBBBCC"
CONDITIONS = ("room", "fridge", "40 °C")
ZONE = "+01:00"

HEAD = """\
# An invented studio of any size, for measuring.
format: 1
title: "Large notebook"
author: "the potter"
region: "EU"
today: {today}
defaults: {{batch size: 100 g, balance: balance-001, mixer: stick-blender, protocol: home}}
"""
PROTOCOL = """\
id: "home"
title: "The usual looks"
looks:
  - {condition: "room", after: [1 d, 7 d, 14 d, 28 d]}
  - {condition: "fridge", after: [1 d, 7 d]}
  - {condition: "40 °C", after: [1 d, 7 d, 14 d, 28 d]}
"""
BALANCE = 'id: "balance-001"\nkind: balance\nreadability: 0.01 g\n'
BLENDER = 'id: "stick-blender"\nkind: mixer\ntitle: "Stick blender"\n'


def lot(sheet: str) -> str:
    """The one lot of an ingredient."""
    return f'id: "{sheet}-1"\ningredient: {sheet}\nlot: "L 1"\nsupplier: "Supplier A"\nsize: 1 kg\n'


_MOVED = (0, 1, 2, 5, 8)  # oils and glycerin: no rule of the trade bounds them closely


def percents(number: int, version: int) -> list[str]:
    """What each line takes in a version; water fills up, and each version moves one figure."""
    base = [450, 1200, 600, 150, 0, 300, 80, 50, 90, 40]
    for step in range(2, version + 1):
        base[_MOVED[(step * 3 + number) % len(_MOVED)]] += 10 if step % 2 else 15
    base[4] = 10_000 - sum(base)
    return [f"{part / 100:.2f}" for part in base]


def formula(code: str, id_: str, version: int, figures: Sequence[str]) -> str:
    """A formula's file at a version."""
    lines = ""
    for n, (sheet, phase, percent) in enumerate(zip(SHEETS, PHASES, figures, strict=True)):
        if n == 0 or phase != PHASES[n - 1]:
            lines += f"  - phase: {phase}\n    lines:\n"
        shown = "qs" if sheet == "water" else percent
        lines += f"      - {{ingredient: {sheet}, percent: {shown}}}\n"
    return f"""\
# yaml-language-server: $schema=../.labbook/schema/formula.json
code: {code}
title: "Hand cream {code}"
id: "{id_}"
version: {version}
emulsion: water-in-oil
use: leave-on
batch size: 100 g
phases:
{lines}method:
{_method("  - ")}acceptance:
  - {{condition: "room", until: 90 d, modes: [separation], worst grade: 1}}
  - {{condition: "40 °C", until: 28 d, modes: [separation], worst grade: 2}}
protocol: home
"""


STEPS = (
    '{id: "s1", do: heat, set: {A: 72 °C, B: 72 °C}, hold: 10 min}',
    '{id: "s2", do: combine, add: "B", into: "A", over: 5 min, then mix: 5 min}',
    '{id: "s3", do: cool, stir until: 35 °C}',
    '{id: "s4", do: add, add: "C", into: "the cream", then mix: 2 min, below: 35 °C}',
)


def _method(before: str) -> str:
    return "".join(f"{before}{step}\n" for step in STEPS)


@dataclass(frozen=True, slots=True)
class Pinned:
    """A version as a batch pins it."""

    code: str
    id: str
    version: int
    digest: str
    blob: str
    figures: tuple[str, ...]


def batch(id_: str, day: date, pin: Pinned, chance: Random) -> str:
    """A closed batch: ten weighings, four steps, three readings."""
    at = datetime(day.year, day.month, day.day, 9, 20)

    def moment(minutes: int) -> str:
        return f'"{(at + timedelta(minutes=minutes)).isoformat(timespec="minutes")}{ZONE}"'

    lines = weighings = ""
    for n, (sheet, phase, percent) in enumerate(zip(SHEETS, PHASES, pin.figures, strict=True), 1):
        fills = " qs: yes," if sheet == "water" else ""
        lines += (
            f'  - {{id: "a{n}", phase: {phase}, ingredient: {sheet}, sheet: {sheet},'
            f" percent: {percent},{fills} target: {percent} g}}\n"
        )
        mass = float(percent) + chance.randint(-3, 3) / 100
        weighings += (
            f'  - {{id: "w{n}", line: "a{n}", mass: {mass:.2f} g, lot: {sheet}-1,'
            f" time: {moment(2 * n)}, balance: balance-001}}\n"
        )
    hot = 72 - chance.randint(0, 3)
    done = (
        f"{{temperatures: {{A: {hot} °C, B: 72 °C}}, hold: 10 min}}",
        f"{{temperatures: {{A: 71 °C, B: 70 °C}}, started: {moment(60)}, took: 5 min,"
        ' mixed: 5 min, with: "stick-blender"}',
        "{took: 24 min, stirred until: 35 °C}",
        "{temperatures: {cream: 34 °C}, mixed: 2 min}",
    )
    steps = "".join(
        f'  - {{id: "s{n}", plan: {plan}, done: {did}}}\n'
        for n, (plan, did) in enumerate(zip(STEPS, done, strict=True), 1)
    )
    return f"""\
# yaml-language-server: $schema=../../../.labbook/schema/batch.json
id: {id_}
state: closed
made: {moment(0)}
maker: "the potter"
aim: "one figure moved"
formula: {{code: {pin.code}, id: "{pin.id}", version: {pin.version}, digest: "{pin.digest}", blob: "{pin.blob}"}}
size: 100 g
session: "{day.isoformat()}"
room: {{temperature: {chance.randint(17, 24)} °C, humidity: 45%}}
tools: {{balance: balance-001, mixer: stick-blender}}
lines:
{lines}steps:
{steps}weighings:
{weighings}readings:
  - {{id: "r1", reading: "pH", value: 4.9, of: "water phase", step: "s1", time: {moment(40)}}}
  - {{id: "r2", reading: "emulsion type", seen: "water-in-oil", time: {moment(110)}}}
yield: 96.1 g
closed: {moment(140)}
"""  # noqa: E501


def jars(id_: str, day: date) -> str:
    """Three jars, one in each condition."""
    rows = stays = ""
    for n, condition in enumerate(CONDITIONS, 1):
        rows += (
            f'  - {{id: "j{n}", jar: "{n}", container: "glass jar, 30 ml", mass: 30.{n} g,'
            f' filled: "{day.isoformat()}T11:3{n}{ZONE}"}}\n'
        )
        stays += (
            f'  - {{id: "y{n}", jar: "{n}", condition: "{condition}", place: "cupboard",'
            f' since: "{day.isoformat()}T11:40{ZONE}"}}\n'
        )
    return (
        "# yaml-language-server: $schema=../../../.labbook/schema/jars.json\n"
        f"batch: {id_}\nprotocol: home\njars:\n{rows}stays:\n{stays}"
    )


PLAN = ((1, 1), (1, 2), (1, 3), (7, 1), (7, 2), (7, 3), (14, 1), (14, 3), (28, 1), (28, 3))
"""Age in days and jar of the looks that the protocol asks for."""


def looks(id_: str, day: date, until: int, fails_at: int | None) -> str:
    """The looks of the plan up to an age; the warm jar separates at an age, and goes on with it."""
    rows = ""
    for n, (age, jar) in enumerate((one for one in PLAN if one[0] <= until), 1):
        bad = fails_at is not None and age >= fails_at and jar == 3
        seen = "grade: 3, modes: [oil on top]" if bad else "grade: 0"
        when = day + timedelta(days=age)
        rows += (
            f'  - {{id: "o{n}", jar: "{jar}", time: "{when.isoformat()}T17:4{jar}{ZONE}",'
            f' planned: {age} d, condition: "{CONDITIONS[jar - 1]}", {seen}, who: "the potter"}}\n'
        )
    return (
        "# yaml-language-server: $schema=../../../.labbook/schema/stability.json\n"
        f"batch: {id_}\nlooks:\n{rows}"
    )
