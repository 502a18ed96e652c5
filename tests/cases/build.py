"""Turns a case, as its file tells it, into the records that a question is asked of; pure.

How a case file is written (every figure with its unit, every word as a maker would say it):

    title, source, told     what it is, where it comes from, the story in a few sentences
    formula                 code, emulsion, `phases` (percent by ingredient, one `qs`), `making`
                            (the steps as they are usually done; a capital is a phase's temperature)
    sheets, lots, equipment what the case has beyond the program's starter sheets
    limits                  what a jar may look like; if none is given, separation at worst grade 1
    usual                   mixer, room, size, lots of every batch
    batches                 by two characters: when made, and only what was otherwise: `lines`
                            (`out`, a percent, or phase, percent and role), `steps` (`unknown`: not
                            written down), `order`, `lots`, `mixer`, `room`, `size`, `yield`, `pH`,
                            `split`; then `seen` by condition, or `jars` one by one
    asked                   the question, and the verdict that the case's own later evidence gave

Looks are written `day 1 fine; day 7 oil on top 3`, with `cycle 2` in freeze-thaw and `run` in
the centrifuge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from labbook.evidence.book import Book
from labbook.model.batch import (
    Batch,
    BatchLine,
    BatchStep,
    Done,
    Parent,
    Pin,
    Reading,
    Room,
    Tools,
    Weighing,
)
from labbook.model.formula import Formula, Limit, Line, Phase, Step
from labbook.model.materials import Equipment, Ingredient, Lot, Part
from labbook.model.quantities import parse_quantity as q
from labbook.model.rulebook import RuleBook
from labbook.model.sheets import Sheets
from tests.cases.looks import Told, jars_of, made_at, stability_of

Lines = dict[str, tuple[str, str]]
"""Phase and percent by ingredient; the percent may be `qs`."""

_PLAN = ("do", "add", "into")
_FIGURES = ("took", "hold", "mixed")
_WORDS = ("speed", "rate", "with")
UNKNOWN = "unknown"


def book_of(case: Told, sheets: Sheets, rules: RuleBook, on: date | None = None) -> Book:
    """The notebook of a case as it stood on a day.

    Args:
        case: the file, every scalar as text.
        sheets: the starter sheets; the case's own are added.
        rules: the rules of the trade.
        on: the day; batches made later and looks taken later are not there yet. None: at the end.
    """
    formula = formula_of(case)
    made = {short: date.fromisoformat(told["made"]) for short, told in case["batches"].items()}
    today = on or max(made.values()) + timedelta(days=120)
    names = [short for short, day in made.items() if day <= today]
    batches = {short: _batch(case, formula, short) for short in names}
    jars = {short: jars_of(case, batches[short]) for short in names}
    looks = {short: stability_of(case, batches[short], today) for short in names}
    own = {name: _sheet(name, told) for name, told in case.get("sheets", {}).items()}
    return Book(
        batches={one.id: one for one in batches.values()},
        jars={batches[s].id: found for s, found in jars.items() if found.jars},
        stability={batches[s].id: found for s, found in looks.items() if found.looks},
        contents={one.id: formula for one in batches.values()},
        formulas={formula.code: formula},
        sheets=Sheets({**sheets.by_file, **own}),
        lots={name: _lot(name, told) for name, told in case.get("lots", {}).items()},
        equipment={n: Equipment(id=n, **told) for n, told in case.get("equipment", {}).items()},
        rules=rules,
        today=today,
    )


# What the notebook knows -------------------------------------------------------------------------


def formula_of(case: Told) -> Formula:
    """The formula of a case."""
    told = case["formula"]
    limits = case.get("limits") or [
        {"condition": "room", "until": "90 d", "group": "separation", "worst": "1"}
    ]
    return Formula(
        code=told["code"],
        title=case["title"],
        id=f"f-{told['code'].lower()}",
        version=1,
        emulsion=told["emulsion"],
        phases=tuple(
            Phase(
                phase=letter,
                lines=tuple(Line(ingredient=name, percent=_percent(p)) for name, p in row.items()),
            )
            for letter, row in told["phases"].items()
        ),
        method=tuple(_plan(name, step) for name, step in told["making"].items()),
        acceptance=tuple(_limit(one) for one in limits),
    )


def _percent(text: str) -> Any:
    return text if text == "qs" else Decimal(text)


def _plan(name: str, told: Told) -> Step:
    return Step(id=name, **{key: told[key] for key in _PLAN if key in told})


def _limit(told: Told) -> Limit:
    return Limit(
        condition=told["condition"],
        until=q(told["until"]) if "until" in told else None,
        cycles=int(told["cycles"]) if "cycles" in told else None,
        modes=(told["group"],),
        worst_grade=int(told["worst"]),
    )


def _sheet(name: str, told: Told) -> Ingredient:
    parts = told.get("contains", {}).items()
    return Ingredient(
        id=name,
        functions=tuple(told.get("functions", ())),
        contains=tuple(Part(ingredient=one, percent=Decimal(share)) for one, share in parts),
    )


def _lot(name: str, told: Told) -> Lot:
    bought = date.fromisoformat(told["bought"]) if "bought" in told else None
    return Lot(
        id=name,
        ingredient=told["ingredient"],
        lot=name,
        supplier=told.get("supplier"),
        grade=told.get("grade"),
        bought=bought,
    )


# A batch -----------------------------------------------------------------------------------------


def batch_id(case: Told, short: str) -> str:
    """The full id of a batch (or, with `.1`, of a jar of it)."""
    plain, point, jar = short.partition(".")
    made = date.fromisoformat(case["batches"][plain]["made"])
    return f"{case['formula']['code']}-{made:%y%m%d}-{plain}{point}{jar}"


def _batch(case: Told, formula: Formula, short: str) -> Batch:
    told = case["batches"][short]
    usual = case.get("usual", {})
    made = made_at(told)
    lines = lines_of(case, told.get("lines", {}))
    split = told.get("split")
    size = q(told.get("size") or (split and split["mass"]) or usual.get("size") or "100 g")
    added = (split or {}).get("added", {})
    lines |= {name: tuple(where.split()) for name, where in added.items()}
    mixer = told.get("mixer", usual.get("mixer"))
    room = told.get("room", usual.get("room"))
    pins = Pin(code=formula.code, id=formula.id, version=1, digest="d", blob="b")
    lots = {**usual.get("lots", {}), **told.get("lots", {})}
    wanted = list(added) if split else list(lines)
    return Batch(
        id=batch_id(case, short),
        state="closed",
        made=made,
        closed=made + timedelta(hours=2),
        formula=pins,
        size=size,
        session=told.get("session", told["made"]),
        from_=_parents(case, split),
        room=_room(room),
        tools=Tools(mixer=mixer) if mixer else None,
        lines=_batch_lines(case, lines, told.get("lines", {})),
        steps=() if split else _steps(case, told),
        weighings=_weighings(lines, wanted, size.exact("g"), lots),
        readings=_pH(told.get("pH")),
        yield_=q(told["yield"]) if "yield" in told else None,
    )


def lines_of(case: Told, changes: Told) -> Lines:
    """The lines of a batch: the formula's, some changed, the filling one worked out."""
    lines: Lines = {}
    for letter, row in case["formula"]["phases"].items():
        lines |= {name: (letter, percent) for name, percent in row.items()}
    for name, change in changes.items():
        if change == "out":
            del lines[name]
        elif " " in change:
            letter, percent, *_ = change.split()
            lines[name] = (letter, percent)
        else:
            lines[name] = (lines[name][0], change)
    rest = 100 - sum(Decimal(percent) for _, percent in lines.values() if percent != "qs")
    return {n: (letter, f"{rest}" if p == "qs" else p) for n, (letter, p) in lines.items()}


def _filling(case: Told) -> set[str]:
    phases = case["formula"]["phases"].values()
    return {name for row in phases for name, percent in row.items() if percent == "qs"}


def _batch_lines(case: Told, lines: Lines, changes: Told) -> tuple[BatchLine, ...]:
    filling = _filling(case)
    roles = {name: change.split()[2] for name, change in changes.items() if change.count(" ") == 2}
    return tuple(
        BatchLine(
            id=f"l-{name}",
            phase=letter,
            ingredient=name,
            sheet=name,
            percent=Decimal(percent),
            qs=True if name in filling else None,
            role=roles.get(name),
        )
        for name, (letter, percent) in lines.items()
    )


def _weighings(
    lines: Lines, wanted: Sequence[str], size: Fraction, lots: Mapping[str, str]
) -> tuple[Weighing, ...]:
    """Every line weighed as it was meant; of a part of a bulk only what was added to it."""
    return tuple(
        Weighing(
            id=f"w-{name}",
            line=f"l-{name}",
            mass=q(f"{float(Fraction(lines[name][1]) * size / 100):.2f} g"),
            lot=lots.get(name),
        )
        for name in wanted
    )


def _steps(case: Told, told: Told) -> tuple[BatchStep, ...]:
    making: dict[str, Told] = case["formula"]["making"]
    changes = told.get("steps", {})
    order = told.get("order") or list(making)
    return tuple(_step(name, making[name], changes.get(name, {})) for name in order)


def _step(name: str, usual: Told, changes: Told) -> BatchStep:
    done = {k: v for k, v in {**usual, **changes}.items() if v != UNKNOWN and k not in _PLAN}
    degrees = {key: q(value) for key, value in done.items() if key.isupper()}
    found: dict[str, Any] = {key: q(done[key]) for key in _FIGURES if key in done}
    found |= {"with_" if key == "with" else key: done[key] for key in _WORDS if key in done}
    if "until" in done:
        found["stirred_until"] = q(done["until"])
    if "left out" in done:
        found["skipped"] = done["left out"]
    left = set(done) - set(degrees) - {*_FIGURES, *_WORDS, "until", "left out"}
    assert not left, f"step {name}: {left}"
    return BatchStep(
        id=name, plan=_plan(name, usual), done=Done(temperatures=degrees or None, **found)
    )


def _parents(case: Told, split: Told | None) -> tuple[Parent, ...]:
    if split is None:
        return ()
    return (Parent(batch=batch_id(case, split["from"]), mass=q(split["mass"]), how="split"),)


def _room(text: str | None) -> Room | None:
    """`21 °C`, or with the humidity `21 °C 45 %`."""
    if text is None:
        return None
    words = text.split()
    humid = q(" ".join(words[2:])) if len(words) > 2 else None
    return Room(temperature=q(" ".join(words[:2])), humidity=humid)


def _pH(text: str | None) -> tuple[Reading, ...]:
    return () if text is None else (Reading(id="r1", reading="pH", value=Decimal(text)),)
