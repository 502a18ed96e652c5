"""Pairs of batches in which one thing differs: the thing that a rule about causes speaks of.

Each pair is made of starter sheets, so that a rule that no sheet of the program can meet is found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache
from typing import Any

from labbook.evidence.book import Book
from labbook.evidence.factors import Question, ask
from labbook.evidence.failure import GROUPS
from labbook.model.batch import Batch, BatchStep, Done, Room
from labbook.model.formula import Limit, Step
from labbook.model.jars import Stability
from labbook.model.materials import Ingredient
from labbook.model.quantities import parse_quantity as q
from labbook.model.rulebook import RuleBook, rulebook_of
from labbook.model.rules import CauseRule, Rules, Selector
from labbook.model.sheets import Sheets
from labbook.notebook.snapshot import read_bytes
from labbook.rules.starters import starter_names, starter_text
from labbook.rules.trade import rule_texts
from labbook.trade.selecting import picks
from tests.evidence.factors.notebooks import (
    BAD,
    FORMULA,
    GOOD,
    USUAL,
    a_batch,
    a_book,
    a_lot,
    looked,
    pH,
    standing,
)

NO_FIGURES = {
    "device", "lot", "supplier", "grade", "phase of entry", "order", "skipped", "container",
    "place", "substitution", "rate",
}  # fmt: skip
"""Kinds of difference that are names here, not figures."""
ONE_WAY = ("more helps", "more hurts")


@cache
def rules() -> tuple[CauseRule, ...]:
    """All rules about causes of the program, as read from its files."""
    return tuple(book().causes.values())


@cache
def book() -> RuleBook:
    """The program's rules."""
    read = (read_bytes(f"rules/{name}", text.encode()) for name, text in rule_texts().items())
    return rulebook_of(one.record for one in read if isinstance(one.record, Rules))


@cache
def sheets() -> Sheets:
    """All starter sheets."""
    found = {}
    for name in starter_names():
        record = read_bytes(f"ingredients/{name}.yaml", (starter_text(name) or "").encode()).record
        assert isinstance(record, Ingredient)
        found[name] = record
    return Sheets(found)


def picked(selector: Selector | None, *, but: Iterable[str] = ()) -> list[str]:
    """The starter sheets that a selector means."""
    out = set(but)
    return [name for name in _meant(selector) if name not in out] if selector else []


@cache
def _meant(selector: Selector) -> tuple[str, ...]:
    return tuple(name for name in starter_names() if picks(selector, name, sheets()))


@dataclass
class Made:
    """One batch in the making: its lines (phase, percent), its step, and what else is told.

    A dry one holds no water: `rest` takes up the rest.
    """

    lines: dict[str, tuple[str, str]]
    step: Step | None = None
    done: Done = field(default_factory=Done)
    jar: dict[str, Any] = field(default_factory=dict)
    more: dict[str, Any] = field(default_factory=dict)
    dry: bool = False
    rest: str = "mineral-oil"


def subject(rule: CauseRule) -> str:
    """The ingredient with which a rule is tried: the first starter sheet that it means.

    A rule about an amount beside other ingredients is tried with one that isn't them.
    """
    wanted = picked(rule.of, but=("water", "mineral-oil"))
    beside = set(picked(rule.with_))
    return next((one for one in wanted if one not in beside), wanted[0] if wanted else "")


def beside(rule: CauseRule) -> str:
    """The ingredient that a rule asks the formula to hold."""
    found = picked(rule.with_, but=("water", "mineral-oil", subject(rule)))
    assert found, f"no starter sheet meets `with` of {rule.name}"
    return found[0]


def home(rule: CauseRule, name: str) -> str:
    """The phase of an ingredient: B, the water phase, for what water dissolves, else A."""
    sheet = sheets().find(name)
    if rule.emulsions == ("anhydrous",):
        return "A"
    return "B" if name == "water" or (sheet and sheet.soluble_in == "water") else "A"


def made(rule: CauseRule, value: Any, *, without: bool = False) -> Made:
    """A batch with one value of what a rule speaks of.

    Args:
        rule: the rule.
        value: a figure in the rule's unit, or a name.
        without: leave out the ingredient that the rule asks the formula to hold.
    """
    dry = rule.emulsions == ("anhydrous",)
    rest = "beeswax" if dry and "mineral-oil" in picked(rule.of) else "mineral-oil"
    lines = {rest: ("A", "20")}
    name = subject(rule)
    if rule.with_ and not without:
        lines[beside(rule)] = (home(rule, beside(rule)), "2")
    if name and rule.factor not in ("amount", "substitution", "phase of entry"):
        lines[name] = (home(rule, name), "3")
    batch = Made(lines, dry=dry, rest=rest)
    _KINDS[rule.factor](rule, value, batch)
    return batch


def _amount(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.lines[subject(rule)] = (home(rule, subject(rule)), f"{value}")


def _water_phase(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.lines["mineral-oil"] = ("A", f"{90 - Decimal(value)}")


def _moved(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.lines[subject(rule)] = (value, "2")


def _swapped(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.lines[value] = (home(rule, subject(rule)), "4")


def _temperature(rule: CauseRule, value: Any, batch: Made) -> None:
    letter = home(rule, subject(rule)) if rule.of else "A"
    into = "the cream" if rule.step == "add" else None
    batch.step = Step(id="s1", do=rule.step or "heat", add=letter if into else None, into=into)
    batch.done = Done(temperatures={letter: q(f"{value} °C")})


def _fill(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.step = Step(id="s1", do="fill")
    batch.done = Done(temperatures={"A": q(f"{value} °C")})


def _gap(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.step = Step(id="s1", do="combine", add="B", into="A")
    heat = {"A": q("72.0 °C"), "B": q(f"{Decimal('72.0') - Decimal(value)} °C")}
    batch.done = Done(temperatures=heat)


def _in_step(key: str, unit: str, usual: str) -> Callable[[CauseRule, Any, Made], None]:
    """A detail of a step; a step that brings two things together adds B to A."""

    def build(rule: CauseRule, value: Any, batch: Made) -> None:
        act = rule.step or usual
        batch.step = Step(id="s1", do=act)
        if act == "combine":
            batch.step = replace(batch.step, add="B", into="A")
        given: Any = f"{value} {unit}" if unit == "rpm" else q(f"{value} {unit}") if unit else value
        batch.done = replace(Done(), **{key: given})

    return build


def _mixed(rule: CauseRule, value: Any, batch: Made) -> None:
    _in_step("mixed" if rule.step == "mix" else "took", "min", "cool")(rule, value, batch)


def _order(rule: CauseRule, value: Any, batch: Made) -> None:
    one, other = value
    batch.step = Step(id="s1", do="combine", add=one, into=other)


def _skipped(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.step = Step(id="s1", do=rule.step or "mix")
    batch.done = Done(skipped="no time") if value == "left out" else Done()


def _mixer(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.more["mixer"] = value


def _device(rule: CauseRule, value: Any, batch: Made) -> None:
    _in_step("with_", "", "combine")(rule, value, batch)


def _pack(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.more["lots"] = {subject(rule) or "water": value}


def _acidity(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.more["readings"] = pH(f"{value}")


def _size(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.more["size"] = q(f"{value} g")


def _lost(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.more["yield_"] = q(f"{100 - Decimal(value)} g")


def _room(rule: CauseRule, value: Any, batch: Made) -> None:
    batch.more["room"] = Room(temperature=q(f"{value} °C"))


def _of_jar(key: str) -> Callable[[CauseRule, Any, Made], None]:
    def build(rule: CauseRule, value: Any, batch: Made) -> None:
        batch.jar[key] = q(f"{value} %") if key == "fill_level" else value

    return build


_KINDS: dict[str, Callable[[CauseRule, Any, Made], None]] = {
    "amount": _amount, "water phase": _water_phase, "phase of entry": _moved,
    "substitution": _swapped, "temperature": _temperature, "fill temperature": _fill, "gap": _gap,
    "time": _mixed, "hold": _in_step("hold", "min", "heat"), "speed": _in_step("speed", "rpm", ""),
    "stir until": _in_step("stirred_until", "°C", "cool"), "rate": _in_step("rate", "", "combine"),
    "order": _order, "skipped": _skipped, "shear": _mixer, "device": _device, "lot": _pack,
    "supplier": _pack, "grade": _pack, "pH": _acidity, "size": _size, "evaporation": _lost,
    "container": _of_jar("container"), "place": _of_jar("place"),
    "fill level": _of_jar("fill_level"), "room": _room,
}  # fmt: skip


def _batch(short: str, day: int, one: Made) -> Batch:
    left_out = [name for name in USUAL if name not in one.lines and (one.dry or name != "water")]
    meant: dict[str, tuple[str, str] | str | None] = dict.fromkeys(left_out)
    given: dict[str, Any] = dict(one.more)
    if one.dry:
        held = sum(Decimal(p) for name, (_, p) in one.lines.items() if name != one.rest)
        one.lines[one.rest] = ("A", f"{100 - held}")
    if one.step is not None:
        given["steps"] = (BatchStep(id="s1", plan=one.step, done=one.done),)
    return a_batch(short, day, lines={**meant, **one.lines}, **given)


def asked(
    failed: Made, good: Made, given: Iterable[CauseRule], *, emulsion: str, group: str
) -> Question:
    """What the program says of the two, with these rules alone."""
    mode = GROUPS[group][0]
    limit = Limit(condition="room", until=q("90 d"), modes=(mode,), worst_grade=1)
    formula = replace(FORMULA, emulsion=emulsion, acceptance=(limit,))
    bad, fine = _batch("9T", 10, failed), _batch("4M", 0, good)
    seen: dict[str, Stability] = {
        bad.id: looked(bad, *BAD, mode=mode), fine.id: looked(fine, *GOOD),
    }  # fmt: skip
    jars = {}
    for batch, one in ((bad, failed), (fine, good)):
        jars[batch.id] = standing(batch, {k: v for k, v in one.jar.items() if k != "fill_level"})
        held = replace(jars[batch.id].jars[0], fill_level=one.jar.get("fill_level"))
        jars[batch.id] = replace(jars[batch.id], jars=(held,))
    lots: dict[str, Any] = {}
    for one in (failed, good):
        for name, lot in (one.more.get("lots") or {}).items():
            lots |= a_lot(lot, name, supplier=f"house {lot[-1]}", grade=f"grade {lot[-1]}")
    keys: dict[str, Any] = {
        "sheets": sheets(), "jars": jars, "stability": seen, "lots": lots,
        "contents": {bad.id: formula, fine.id: formula}, "formulas": {"HC": formula},
    }  # fmt: skip
    notebook: Book = a_book((bad, None), (fine, None), rules=given, **keys)
    return ask(notebook, bad.id, fine.id)


def speaks(question: Question) -> bool:
    """Whether a rule was held against any difference."""
    return any(factor.rule is not None for factor in question.factors)
