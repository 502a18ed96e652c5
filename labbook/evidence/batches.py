"""What differs between two batches: versions, amounts, lots, equipment, how it was made, readings.

Like is compared with like only. What one batch alone has recorded is unknown for the other and is
kept apart. The date is no difference; the session is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from labbook.evidence.amounts import compare_lines
from labbook.evidence.difference import Difference
from labbook.evidence.items import NONE_WRITTEN, Findings, Item, Part
from labbook.evidence.made import Made, made_of
from labbook.evidence.making import compare_readings, compare_steps
from labbook.model.batch import Batch
from labbook.model.materials import Equipment, Lot
from labbook.model.sheets import Sheets
from labbook.trade.standing import standing

_TOOLS = ("mixer", "vessel", "thermometer", "meter", "balance")


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchDifference:
    """What differs between two batches, `a` and `b`, by their ids.

    `items` is what differs, in the maker's order: lines, lots, equipment, steps, readings, rest;
    what follows from other lines is marked so. `unrecorded` is what one of the two lacks. `same`
    counts, by part, what both have recorded and what is equal.
    """

    a: str
    b: str
    versions: Difference | None
    items: tuple[Item, ...] = ()
    unrecorded: tuple[Item, ...] = ()
    same: Mapping[Part, int] = field(default_factory=dict)

    @property
    def empty(self) -> bool:
        """Whether nothing that both have recorded differs, and their versions don't either."""
        return not self.items and (self.versions is None or self.versions.empty)

    def to_plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "from": self.a,
            "to": self.b,
            "versions": self.versions.to_plain() if self.versions else None,
            "items": [item.to_plain() for item in self.items],
            "unrecorded": [item.to_plain() for item in self.unrecorded],
            "same": dict(self.same),
        }


def batch_difference(
    a: Batch,
    b: Batch,
    formula_difference: Difference | None,
    sheets: Sheets,
    equipment: Mapping[str, Equipment],
    lots: Mapping[str, Lot],
    *,
    emulsions: tuple[str, str] = ("", ""),
    batches: Mapping[str, Batch] | None = None,
) -> BatchDifference:
    """What differs between two batches, from `a` to `b`.

    Args:
        a: the one batch, as it stands after its corrections.
        b: the other.
        formula_difference: what differs between their versions; None where a version isn't known
            or both were made from the same.
        sheets: the ingredient sheets.
        equipment: by the names of the files.
        lots: by the names of the files.
        emulsions: the emulsion types that the two formulas mean, where no difference says it; by
            the type observed, else meant, a pH of a finished water-in-oil emulsion is left out.
        batches: by id, those that one of the two may have been made from.
    """
    a, b = standing(a), standing(b)
    found = Findings(a.id, b.id)
    meant = formula_difference.emulsions if formula_difference else emulsions
    first, second = (made_of(one, sheets, equipment, batches) for one in (a, b))
    compare_lines(found, first, second, sheets, lots)
    _compare_tools(found, a, b, equipment)
    compare_steps(found, a, b, _phase_names(first, second), _resolutions(a, b, equipment))
    compare_readings(found, a, b, meant)
    _compare_deviations(found, a, b)
    _compare_setting(found, a, b)
    return BatchDifference(
        a=a.id,
        b=b.id,
        versions=formula_difference,
        items=tuple(found.items),
        unrecorded=tuple(found.unrecorded),
        same=dict(found.same),
    )


def _compare_tools(found: Findings, a: Batch, b: Batch, equipment: Mapping[str, Equipment]) -> None:
    for tool in _TOOLS:
        one = getattr(a.tools, tool) if a.tools else None
        other = getattr(b.tools, tool) if b.tools else None
        texts = (_tool(one, equipment), _tool(other, equipment))
        if one != other and texts[0] == texts[1]:
            texts = (one, other)
        found.texts("equipment", tool, texts, tool, same=one == other)


def _tool(name: str | None, equipment: Mapping[str, Equipment]) -> str | None:
    """A piece of equipment by its title, a mixer with its class of shear."""
    known = equipment.get(name) if name else None
    if name is None or known is None:
        return name
    title = known.title or name
    shear = known.shear
    return f"{title} ({shear if shear == 'by hand' else f'{shear} shear'})" if shear else title


def _resolutions(a: Batch, b: Batch, equipment: Mapping[str, Equipment]) -> dict[str, Fraction]:
    """What each batch's thermometer tells apart, in °C, by batch id.

    A step of 1 °F is 5/9 °C.
    """
    found = {}
    for batch in (a, b):
        tool = equipment.get(batch.tools.thermometer or "") if batch.tools else None
        given = tool.resolution if tool else None
        if given and given.dimension == "temperature":
            factor = Fraction(5, 9) if given.unit == "°F" else Fraction(1)
            found[batch.id] = Fraction(given.value) * factor
    return found


def _phase_names(a: Made, b: Made) -> dict[str, str]:
    """Names for the phases in sentences; the water phase where both batches have the same one."""
    letters = {slot.phase for made in (a, b) for slot in made.slots}
    names = {letter: f"phase {letter}" for letter in letters}
    waters = [_water_phase(made) for made in (a, b)]
    if waters[0] and waters[0] == waters[1]:
        names[waters[0]] = "water phase"
    return names


def _water_phase(made: Made) -> str | None:
    """The one phase that holds most of the water lines; None without water or with a tie."""
    water: dict[str, Fraction] = {}
    for slot in made.slots:
        if slot.is_water:
            amount = made.amounts[slot.key].value or Fraction()
            water[slot.phase] = water.get(slot.phase, Fraction()) + amount
    most = [phase for phase, amount in water.items() if amount == max(water.values())]
    return most[0] if len(most) == 1 else None


def _compare_deviations(found: Findings, a: Batch, b: Batch) -> None:
    """Departures from the method that only one of the two has."""
    first, second = ([" ".join(one.text.split()) for one in x.deviations] for x in (a, b))
    for text in dict.fromkeys((*first, *second)):
        if text in first and text in second:
            found.same["deviations"] += 1
            continue
        sides = (text, NONE_WRITTEN) if text in first else (NONE_WRITTEN, text)
        key = ("deviations", text)
        found.add(Item(part="deviations", what="deviation", a=sides[0], b=sides[1], key=key))


def _compare_setting(found: Findings, a: Batch, b: Batch) -> None:
    found.quantities("size", "batch size", (a.size, b.size), "size")
    parents = [
        ", ".join(sorted(f"{p.how} of {p.batch}" for p in x.from_)) or "no batch" for x in (a, b)
    ]
    if any(x.from_ for x in (a, b)):
        found.texts("size", "made from", parents, "from")
    rooms = (a.room, b.room)
    temperatures = [room.temperature if room else None for room in rooms]
    found.quantities("room", "room temperature", temperatures, "temperature")
    found.quantities(
        "room", "room humidity", [r.humidity if r else None for r in rooms], "humidity"
    )
    found.texts("session", "session", (a.session, b.session), "session")
