"""Small hand-built notebooks of invented batches, to ask about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from labbook.evidence.book import Book
from labbook.evidence.factors import Factor, Question
from labbook.model.batch import (
    Batch,
    BatchLine,
    BatchStep,
    Done,
    Parent,
    Pin,
    Reading,
    Tools,
    Weighing,
)
from labbook.model.formula import Formula, Limit, Step
from labbook.model.jars import Jar, Jars, Look, Stability, Stay
from labbook.model.materials import Equipment, Ingredient, Lot
from labbook.model.quantities import parse_quantity as q
from labbook.model.rulebook import RuleBook
from labbook.model.rules import CauseRule, Selector
from labbook.model.sheets import Sheets

TODAY = date(2026, 6, 1)
START = datetime.fromisoformat("2026-01-05T10:00+01:00")
SHEETS = Sheets(
    {
        "water": Ingredient(id="water", functions=("water",)),
        "sunflower-oil": Ingredient(id="sunflower-oil", functions=("oil",)),
        "shea-butter": Ingredient(id="shea-butter", functions=("butter",)),
        "glyceryl-oleate": Ingredient(id="glyceryl-oleate", functions=("emulsifier",)),
        "sorbitan-oleate": Ingredient(id="sorbitan-oleate", functions=("emulsifier",)),
        "salt": Ingredient(id="salt", functions=("electrolyte",)),
        "sodium-benzoate": Ingredient(id="sodium-benzoate", functions=("preservative",)),
        "lavender-oil": Ingredient(id="lavender-oil", functions=("fragrance",)),
    }
)
EQUIPMENT = {
    "bench": Equipment(id="e1", kind="balance", readability=q("0.01 g")),
    "blender": Equipment(id="e2", kind="mixer", title="stick blender", shear="high"),
    "other-blender": Equipment(id="e3", kind="mixer", title="old blender", shear="high"),
    "whisk": Equipment(id="e4", kind="mixer", title="whisk", shear="by hand"),
    "no-name": Equipment(id="e5", kind="mixer", title="gift"),
    "meter": Equipment(id="e6", kind="pH meter"),
    "strips": Equipment(id="e7", kind="pH strips"),
}
ROOM = Limit(condition="room", until=q("90 d"), modes=("separation",), worst_grade=1)
FORMULA = Formula(
    code="HC", title="Hand cream", id="f-hc", emulsion="water-in-oil", acceptance=(ROOM,)
)
USUAL = {
    "glyceryl-oleate": ("A", "4.5"),
    "sunflower-oil": ("A", "20.0"),
    "water": ("B", "qs"),
    "salt": ("B", "0.8"),
    "sodium-benzoate": ("B", "0.5"),
}


def lines_of(changes: Mapping[str, tuple[str, str] | str | None]) -> dict[str, tuple[str, str]]:
    """The usual lines with some changed, added, or (None) taken out; q.s. worked out."""
    lines = dict(USUAL)
    for name, change in changes.items():
        if change is None:
            lines.pop(name)
        elif isinstance(change, str):
            lines[name] = (lines[name][0], change)
        else:
            lines[name] = change
    rest = 100 - sum(Decimal(p) for _, p in lines.values() if p != "qs")
    return {name: (phase, f"{rest}" if p == "qs" else p) for name, (phase, p) in lines.items()}


def a_batch(
    short: str,
    day: int = 0,
    *,
    lines: Mapping[str, tuple[str, str] | str | None] | None = None,
    weighed: Mapping[str, str] | bool = True,
    lots: Mapping[str, str] | None = None,
    a: str | None = "72 °C",
    b: str | None = "71 °C",
    done: Mapping[str, Any] | None = None,
    mixer: str | None = "blender",
    **more: Any,
) -> Batch:
    """A closed batch of 100 g, weighed as meant, made so many days after the first."""
    meant = lines_of(lines or {})
    made = START + timedelta(days=day)
    degrees = {"A": a, "B": b}
    heat = {letter: q(value) for letter, value in degrees.items() if value}
    usual: dict[str, Any] = {
        "temperatures": heat or None, "took": q("3 min"), "mixed": q("5 min"), "rate": "slow",
        "speed": "9000 rpm",
    }  # fmt: skip
    combine = Step(id="s1", do="combine", add="B", into="A")
    keys: dict[str, Any] = {
        "id": f"HC-{made:%y%m%d}-{short}",
        "state": "closed",
        "made": made,
        "formula": Pin(code="HC", id="f-hc", version=1, digest="d", blob="b"),
        "size": q("100 g"),
        "session": f"{made:%Y-%m-%d}",
        "tools": Tools(balance="bench", mixer=mixer),
        "lines": tuple(
            BatchLine(
                id=f"a{n}", phase=phase, ingredient=name, sheet=name, percent=Decimal(percent),
                qs=True if USUAL.get(name, ("", ""))[1] == "qs" else None,
            )
            for n, (name, (phase, percent)) in enumerate(meant.items())
        ),
        "steps": (
            BatchStep(id="s1", plan=combine, done=Done(**(usual | dict(done or {})))),
        ),
        "weighings": _weighings(meant, weighed, lots or {}),
        "closed": made + timedelta(hours=2),
    }  # fmt: skip
    return Batch(**(keys | more))


def _weighings(
    meant: Mapping[str, tuple[str, str]], weighed: Mapping[str, str] | bool, lots: Mapping[str, str]
) -> tuple[Weighing, ...]:
    if weighed is False:
        return ()
    masses = {name: percent for name, (_, percent) in meant.items()}
    if isinstance(weighed, Mapping):
        masses |= weighed
    return tuple(
        Weighing(id=f"w{n}", line=f"a{n}", mass=q(f"{masses[name]} g"), lot=lots.get(name))
        for n, name in enumerate(meant)
    )


def pH(value: str, of: str = "water phase") -> tuple[Reading, ...]:
    """One reading of pH."""
    return (Reading(id="r1", reading="pH", value=Decimal(value), of=of),)


def looked(batch: Batch, *looks: tuple[float, int], mode: str = "water below", jar: str = "1",
           **more: Any) -> Stability:  # fmt: skip
    """Looks at the room jar: days since making, and grades."""
    made = batch.made
    assert isinstance(made, datetime)
    return Stability(
        batch=batch.id,
        looks=tuple(
            Look(
                id=f"o{n}", jar=jar, time=made + timedelta(days=day, hours=1), grade=grade,
                modes=(mode,) if grade else (), **more,
            )
            for n, (day, grade) in enumerate(looks)
        ),
    )  # fmt: skip


def standing(batch: Batch, *jars: Mapping[str, Any]) -> Jars:
    """Jars in the room; each may have a container, a place, a condition."""
    made = batch.made
    assert isinstance(made, datetime)
    given = jars or ({},)
    return Jars(
        batch=batch.id,
        jars=tuple(
            Jar(id=f"j{n}", jar=str(n), filled=made, container=one.get("container"))
            for n, one in enumerate(given, 1)
        ),
        stays=tuple(
            Stay(
                id=f"y{n}", jar=str(n), condition=one.get("condition", "room"),
                place=one.get("place"), since=made,
            )
            for n, one in enumerate(given, 1)
        ),
    )  # fmt: skip


GOOD = ((1, 0), (7, 0), (28, 0))
BAD = ((1, 0), (7, 3))


def a_book(*pairs: tuple[Batch, bool | None], rules: Iterable[CauseRule] = (), **more: Any) -> Book:
    """A notebook of batches that held (True), failed by day 7 (False), or nobody looked at."""
    keys: dict[str, Any] = {
        "batches": {b.id: b for b, _ in pairs},
        "jars": {b.id: standing(b) for b, _ in pairs},
        "stability": {
            b.id: looked(b, *(GOOD if held else BAD)) for b, held in pairs if held is not None
        },
        "contents": {b.id: FORMULA for b, _ in pairs},
        "formulas": {"HC": FORMULA},
        "sheets": SHEETS,
        "equipment": EQUIPMENT,
        "rules": RuleBook(causes={rule.name: rule for rule in rules}),
        "today": TODAY,
    }
    return Book(**(keys | more))


def a_rule(name: str, factor: str, direction: str = "more hurts", **more: Any) -> CauseRule:
    """A rule of our own, for tests."""
    keys: dict[str, Any] = {
        "name": name, "factor": factor, "direction": direction, "strength": "known",
        "mechanism": "for a test", "says": "for a test", "source": "invented",
    }  # fmt: skip
    functions = more.pop("functions", None)
    if functions:
        more["of"] = Selector(functions=functions)
    return CauseRule(**(keys | more))


def a_lot(name: str, ingredient: str, **more: Any) -> dict[str, Lot]:
    """One pack by the name of its file."""
    return {name: Lot(id=name, ingredient=ingredient, lot=name.upper(), **more)}


def named(question: Question) -> dict[str, Factor]:
    """The factors by what they are called."""
    return {factor.what: factor for factor in question.factors}


def sides(question: Question, what: str) -> dict[str, bool | None]:
    """The sides of one factor, by the two characters of the batch."""
    return {
        unit.rsplit("-", 1)[-1]: side.side for unit, side in named(question)[what].sides.items()
    }


def split_from(parent: Batch, short: str, **changes: Any) -> Batch:
    """A part of a batch."""
    part = Parent(batch=parent.id, mass=q("50 g"), how="split")
    head = parent.id.rsplit("-", 1)[0]
    usual: dict[str, Any] = {
        "id": f"{head}-{short}", "from_": (part,), "size": q("50 g"), "weighings": (),
        "steps": tuple(replace(step, done=None) for step in parent.steps),
    }  # fmt: skip
    return replace(parent, **(usual | changes))
