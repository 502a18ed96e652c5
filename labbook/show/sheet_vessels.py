"""The vessels on a bench sheet page: what is weighed of each, for the mass balance."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from labbook.model.batch import Batch
from labbook.model.quantities import Quantity, QuantityError
from labbook.trade.exact import decimal_text
from labbook.trade.pots import (
    AFTER,
    BEFORE,
    BULK,
    EMPTIED,
    EMPTY,
    RETURNED,
    is_of_pots,
    name_of,
    pot_named,
)

POT = "pot"
"""What the vessel of the whole batch is called in a reading."""

READ = (EMPTY, BEFORE, AFTER, RETURNED, EMPTIED)
"""What the page asks of a vessel, in the order in which it is weighed; all in g."""

_LABELS = {
    EMPTY: "empty",
    BEFORE: "before heating",
    AFTER: "after heating",
    RETURNED: "water put back",
    EMPTIED: "emptied",
}
_AGAIN = ((BEFORE, 1), (AFTER, 1))
"""A second heating: the two masses once more."""


def vessels(batch: Batch) -> list[dict[str, Any]]:
    """The vessels of a batch with their fields, as the template shows them."""
    held = _held(batch)
    found = []
    for number, (vessel, phase) in enumerate(_named(batch)):
        name = f"Vessel {phase}" if phase else "The pot, all of it together"
        short = f"vessel {phase}" if phase else "pot"
        found.append(
            {
                "id": vessel,
                "dom": f"m{number}",
                "name": name,
                "fields": [_field(short, what, 0, held.get(vessel, {})) for what in READ],
                "again": [_field(short, what, turn, {}) for what, turn in _AGAIN],
            }
        )
    return found


def vessel_data(batch: Batch) -> list[dict[str, Any]]:
    """The same for the script: the vessel's name, its phase, and what the notebook holds of it."""
    held = _held(batch)
    return [
        {"id": vessel, "phase": phase, "held": dict(held.get(vessel, {}))}
        for vessel, phase in _named(batch)
    ]


def _field(vessel: str, what: str, turn: int, held: Mapping[str, str]) -> dict[str, Any]:
    again = ", once more" if turn else ""
    return {
        "reading": what,
        "turn": turn,
        "dom": f"{READ.index(what)}-{turn}",
        "label": f"{_LABELS[what]}{again}",
        "heard": f"{vessel}, ",
        "before": held.get(what, ""),
    }


def _named(batch: Batch) -> list[tuple[str, str]]:
    """Each vessel as a reading names it, with its phase; the whole batch's is the last."""
    phases = dict.fromkeys(line.phase for line in batch.lines)
    return [*((phase, phase) for phase in phases), (POT, BULK)]


def _held(batch: Batch) -> dict[str, dict[str, str]]:
    """What the notebook holds of each vessel already, in g; of two the later one."""
    phases = {line.phase for line in batch.lines}
    found: dict[str, dict[str, str]] = {}
    for reading in batch.readings:
        name = name_of(reading)
        if name not in READ or not is_of_pots(reading) or reading.value is None:
            continue
        grams = _grams(Quantity(reading.value, reading.unit or "g"))
        if grams is not None:
            vessel = pot_named(reading.of, phases) or POT
            found.setdefault(vessel, {})[name] = grams
    return found


def _grams(mass: Quantity) -> str | None:
    try:
        exact: Fraction = mass.exact("g")
    except QuantityError:
        return None
    return decimal_text(exact, mass.value if mass.unit == "g" else None)
