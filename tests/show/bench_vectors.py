"""Vectors of the arithmetic at the bench, by `labbook.trade.slips`, for the page's functions."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

from labbook.trade.exact import decimal_text, to_places
from labbook.trade.slips import BenchLine, Slip, slip

STEPS = ("1", "0.5", "0.1", "0.05", "0.02", "0.01", "0.001")

PAGE_SIDE = """
const plain = (vector) => {
  const number = (text) => (text === null ? null : Figures.parse(text));
  const lines = vector.lines.map((line) => ({
    id: line.id, ingredient: line.ingredient, target: number(line.target),
    weighed: number(line.weighed), combined: line.combined, fixed: line.fixed,
    fillsUp: line.fills_up,
  }));
  const found = Figures.slip(lines, vector.of, number(vector.mass), number(vector.readability));
  const exact = (value) => `${value.n}/${value.d}`;
  const { leaveIt, weighUp, takeOut } = found;
  return {
    too_much: Figures.text(found.tooMuch),
    leave_size: leaveIt.size === null ? null : exact(leaveIt.size),
    leave_percents: leaveIt.percents === null
      ? null
      : Object.fromEntries([...leaveIt.percents].map(([id, value]) => [id, exact(value)])),
    leave_missing: leaveIt.missing,
    percent_shown: leaveIt.percents === null
      ? null : Figures.toPlaces(leaveIt.percents.get(vector.of), 2),
    factor: exact(weighUp.factor),
    targets: Object.fromEntries(weighUp.targets),
    still_to_add: Object.fromEntries(weighUp.stillToAdd),
    size: weighUp.size,
    cant_follow: weighUp.cantFollow,
    over: weighUp.over,
    missing: weighUp.missing,
    possible: takeOut.possible,
  };
};
"""
"""What turns a vector into the page's answer, in the page's own language."""


def vectors(count: int, seed: int = 20260409) -> list[dict[str, Any]]:
    """Slips of invented batches, with the answers that the program gives."""
    chance = Random(seed)
    found = [_vector(chance) for _ in range(count)]
    assert any(one["answer"]["cant_follow"] for one in found)
    assert any(one["answer"]["over"] for one in found)
    assert any(one["answer"]["missing"] for one in found)
    return found


def _mass(chance: Random, step: Decimal, most: int) -> Decimal:
    return step * chance.randint(1, max(2, int(most / step)))


def _vector(chance: Random) -> dict[str, Any]:
    step = Decimal(chance.choice(STEPS))
    lines = []
    for number in range(1, chance.randint(2, 13)):
        target = None if chance.random() < 0.04 else _mass(chance, step, chance.choice((2, 20, 80)))
        weighed = None
        if target is not None and chance.random() < 0.5:
            weighed = target + step * chance.randint(-2, 5)
        if weighed is not None and chance.random() < 0.1:
            weighed = weighed / 3  # portions don't end on a step of this balance
            weighed = weighed.quantize(Decimal("0.00001"))
        lines.append(
            BenchLine(
                id=f"a{number}",
                ingredient=f"ingredient-{number}",
                target=None if target is None else Fraction(target),
                weighed=None if weighed is None or weighed < 0 else Fraction(weighed),
                combined=chance.random() < 0.15,
                fixed=chance.random() < 0.25,
                fills_up=False,
            )
        )
    slipped = BenchLine(
        id=f"a{len(lines) + 1}",
        ingredient="slipped",
        target=Fraction(_mass(chance, step, 20)),
        combined=chance.random() < 0.1,
    )
    lines.insert(chance.randrange(len(lines) + 1), slipped)
    if chance.random() < 0.7:
        at = chance.randrange(len(lines))
        lines[at] = BenchLine(**{**_keys(lines[at]), "fills_up": True})
    assert slipped.target is not None
    mass = slipped.target + Fraction(step) * chance.randint(1, 40)
    found = slip(lines, slipped.id, mass, step)
    return {
        "lines": [{**_keys(line), **_texts(line)} for line in lines],
        "of": slipped.id,
        "mass": decimal_text(mass),
        "readability": f"{step:f}",
        "answer": answer(found),
    }


def _keys(line: BenchLine) -> dict[str, Any]:
    names = ("id", "ingredient", "target", "weighed", "combined", "fixed", "fills_up")
    return {name: getattr(line, name) for name in names}


def _texts(line: BenchLine) -> dict[str, str | None]:
    return {
        "target": None if line.target is None else _exact(line.target),
        "weighed": None if line.weighed is None else _exact(line.weighed),
    }


def _exact(value: Fraction) -> str:
    text = decimal_text(value)
    assert Fraction(text) == value
    return text


def answer(found: Slip) -> dict[str, Any]:
    """The program's answer in the words of a vector."""
    leave, up = found.leave_it, found.weigh_up
    percents = leave.percents
    return {
        "too_much": decimal_text(found.too_much),
        "leave_size": None if leave.size is None else _ratio(leave.size),
        "leave_percents": percents and {id_: _ratio(value) for id_, value in percents.items()},
        "leave_missing": list(leave.missing),
        "percent_shown": None if percents is None else f"{to_places(percents[found.line.id], 2):f}",
        "factor": _ratio(up.factor),
        "targets": {id_: f"{value:f}" for id_, value in up.targets.items()},
        "still_to_add": {id_: f"{value:f}" for id_, value in up.still_to_add.items()},
        "size": None if up.size is None else f"{up.size:f}",
        "cant_follow": list(up.cant_follow),
        "over": list(up.over),
        "missing": list(up.missing),
        "possible": found.take_out.possible,
    }


def _ratio(value: Fraction) -> str:
    return f"{value.numerator}/{value.denominator}"
