"""What batches are grouped by: version, lot, device, an ingredient, a function; jars by their pack.

What a batch has not written down is a group of its own: it is no other group's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from labbook.evidence.sightings import jars_by_name, stay_at, stays_of
from labbook.model.batch import Batch, BatchLine
from labbook.model.jars import Jars
from labbook.model.materials import FUNCTIONS, Equipment, Lot
from labbook.model.sheets import Sheets, fold
from labbook.trade.standing import standing

VERSION = "version"
OF_BATCHES = (VERSION, "lot", "device", "session")
OF_JARS = ("container", "place")
UNKNOWN = "not written down"


@dataclass(frozen=True, slots=True)
class Known:
    """What a grouping needs to know of the notebook."""

    sheets: Sheets = field(default_factory=Sheets)
    equipment: Mapping[str, Equipment] = field(default_factory=dict)
    lots: Mapping[str, Lot] = field(default_factory=dict)


def groups(batches: Iterable[Batch], by: str, known: Known) -> dict[str, list[Batch]]:
    """Batches by the name of their group; with `lot` a batch stands in one group per ingredient.

    Args:
        batches: the batches, whose order is kept.
        by: `version`, `lot`, `device`, `session`, a function such as `emulsifier`, or an
            ingredient, by its percent.
        known: sheets, equipment and lots.

    Raises:
        ValueError: there is nothing of that name to group by.
    """
    held = list(batches)
    if by == "lot":
        return _by_lot(held, known)
    # An ingredient may be called like a function, water for one: then its percent is meant.
    named = any(_lines(batch, by, known) for batch in held)
    if not named and by not in (*OF_BATCHES, *FUNCTIONS):
        raise ValueError(by)
    found: dict[str, list[Batch]] = {}
    for batch in held:
        name = _percent(batch, by, known) if named else _name(batch, by, known)
        found.setdefault(name, []).append(batch)
    return found


def _name(batch: Batch, by: str, known: Known) -> str:
    if by == VERSION:
        number = batch.formula.version
        return f"@{number}" if batch.formula.trial_of is None else "trial"
    if by == "device":
        return _device(batch, known)
    if by == "session":
        return batch.session or UNKNOWN
    return _of_function(batch, by, known)


def _lines(batch: Batch, ingredient: str, known: Known) -> list[BatchLine]:
    """The lines of an ingredient, under whichever of its names."""
    wanted = fold(known.sheets.id_of(ingredient))
    return [one for one in batch.lines if fold(known.sheets.id_of(one.ingredient)) == wanted]


def _percent(batch: Batch, ingredient: str, known: Known) -> str:
    mine = _lines(batch, ingredient, known)
    told = [f"{line.percent:f} %" if line.percent is not None else UNKNOWN for line in mine]
    return " + ".join(told) or "without it"


def _device(batch: Batch, known: Known) -> str:
    """The mixer, by its title; where none is named, what the phases were combined with."""
    now = standing(batch)
    name = now.tools.mixer if now.tools else None
    for step in now.steps:
        done = step.done.with_ if step.done else None
        if name is None and step.plan and step.plan.do == "combine":
            name = done or step.plan.with_
    tool = known.equipment.get(name or "")
    return (tool.title if tool else None) or name or UNKNOWN


def _of_function(batch: Batch, function: str, known: Known) -> str:
    mine = [line for line in batch.lines if _does(line, function, known)]
    mine.sort(key=lambda line: (-(line.percent or 0), line.ingredient))
    return " + ".join(dict.fromkeys(line.ingredient for line in mine)) or f"no {function}"


def _does(line: BatchLine, function: str, known: Known) -> bool:
    sheet = known.sheets.find(line.ingredient)
    return line.role == function or (sheet is not None and function in sheet.functions)


def _by_lot(batches: list[Batch], known: Known) -> dict[str, list[Batch]]:
    """By the lots of each ingredient that came from more than one."""
    used: dict[str, dict[str, list[Batch]]] = {}
    for batch in batches:
        for line in batch.lines:
            lots = [
                weighing.lot or UNKNOWN
                for weighing in batch.weighings
                if weighing.line == line.id and weighing.struck is None
            ]
            told = " + ".join(dict.fromkeys(_lot(lot, known) for lot in lots)) or UNKNOWN
            used.setdefault(line.ingredient, {}).setdefault(told, []).append(batch)
    return {
        f"{ingredient}: {lot}": mine
        for ingredient, by_lot in sorted(used.items())
        if len(by_lot) > 1
        for lot, mine in by_lot.items()
    }


def _lot(name: str, known: Known) -> str:
    held = known.lots.get(name)
    return f"lot {held.lot}" if held is not None and held.lot else name


def jar_group(batch: Batch, jars: Jars | None, jar: str, by: str) -> str:
    """The container of a jar, or the place where it stood last."""
    if by == "container":
        held = jars_by_name(batch, jars).get(jar)
        return (held.container if held else None) or UNKNOWN
    stays = stays_of(batch, jars, jar)
    stay = stay_at(stays, stays[-1].since) if stays else None
    return (stay.place if stay else None) or UNKNOWN
