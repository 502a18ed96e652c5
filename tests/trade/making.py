"""Records for tests of the trade, short to write: an invented pottery studio's hand creams."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from labbook.model.batch import Batch, BatchLine, Correction, Pin, Weighing
from labbook.model.fields import QS, Qs
from labbook.model.formula import Formula, Line, Phase
from labbook.model.materials import Ingredient, Value
from labbook.model.quantities import Quantity, parse_quantity
from labbook.model.sheets import Sheets
from labbook.trade.composition import Composition, resolve

PIN = Pin(code="SBC", id="f-2k3d4f", version=1, digest="0", blob="0")


def percent(text: str | None) -> Decimal | Qs | None:
    return QS if text == "qs" else None if text is None else Decimal(text)


def line(name: str, amount: str | None = None, *, active: str | None = None, **more: Any) -> Line:
    active_percent = None if active is None else Decimal(active)
    return Line(ingredient=name, percent=percent(amount), active_percent=active_percent, **more)


def formula(**phases: list[Line]) -> Formula:
    return Formula(
        code="SBC",
        title="Studio hand cream",
        id="f-2k3d4f",
        emulsion="water-in-oil",
        phases=tuple(Phase(phase=name, lines=tuple(own)) for name, own in phases.items()),
    )


def value(text: str, unit: str | None = "%") -> Value:
    low, _, high = text.partition("-")
    if high:
        return Value(from_=Decimal(low), to=Decimal(high), unit=unit)
    return Value(value=Decimal(text), unit=unit)


def sheets(**by_file: Ingredient) -> Sheets:
    return Sheets({name.replace("_", "-"): sheet for name, sheet in by_file.items()})


def composed(**amounts: str) -> Composition:
    """A composition of one phase without any sheets."""
    lines = [line(name.replace("_", "-"), amount) for name, amount in amounts.items()]
    return resolve(formula(A=lines), Sheets())


def grams(text: str) -> Quantity:
    return parse_quantity(text, "mass", default="g")


def batch(
    lines: dict[str, str | None],
    weighings: tuple[Weighing, ...] = (),
    corrections: tuple[Correction, ...] = (),
    **marks: dict[str, Any],
) -> Batch:
    """A batch of lines by id with their targets; `marks` holds further fields by line id."""
    return Batch(
        id="SBC-260109-4M",
        state="open",
        made=date(2026, 1, 9),
        formula=PIN,
        size=grams("100"),
        lines=tuple(
            BatchLine(
                id=id_,
                phase="A",
                ingredient=f"ingredient-{id_}",
                sheet=f"ingredient-{id_}",
                target=None if target is None else grams(target),
                **marks.get(id_, {}),
            )
            for id_, target in lines.items()
        ),
        weighings=weighings,
        corrections=corrections,
    )


def weighing(id_: str, of: str | None, mass: str, **more: Any) -> Weighing:
    return Weighing(id=id_, line=of, mass=grams(mass), **more)


def correction(id_: str, of: str, key: str | None, now: str | None) -> Correction:
    return Correction(id=id_, of=of, key=key, now=now, why="misread", time=date(2026, 1, 10))


def exact(text: str) -> Fraction:
    return Fraction(text)
