"""Everything that hangs on a thing: the links between packs, batches and jars, walked both ways.

A link goes the way that material goes: ingredient → lot → batch → batch made from it → jar; from a
component to its blend; from a piece of equipment to what was made with it or stood in it. Struck
weighings are no link. A circle (two batches that name each other) is walked once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from labbook.evidence.sightings import plain_jar
from labbook.model.batch import Batch
from labbook.model.jars import Jars
from labbook.model.materials import Equipment, Lot
from labbook.model.results.looking import jar_name
from labbook.model.sheets import Sheets
from labbook.trade.standing import standing
from labbook.trade.stock import MATERIAL
from labbook.trade.weighing import Entry, entries

INGREDIENT, LOT, BATCH, JAR, EQUIPMENT = "ingredient", "lot", "batch", "jar", "equipment"


class Key(NamedTuple):
    """A thing in the notebook: its kind and its full name (an ingredient's is its sheet's id)."""

    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Link:
    """Something of `source` is in `target`, or was made with it; `mass` in g where it flowed."""

    source: Key
    target: Key
    how: str
    mass: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What is walked: batches and jars by full batch id, lots and equipment by name."""

    batches: Mapping[str, Batch]
    jars: Mapping[str, Jars]
    lots: Mapping[str, Lot]
    sheets: Sheets
    equipment: Mapping[str, Equipment]


class Web:
    """All links of a notebook, to be walked from anywhere in either direction."""

    def __init__(self, links: Iterable[Link]) -> None:
        self._from: dict[Key, list[Link]] = {}
        self._to: dict[Key, list[Link]] = {}
        for link in links:
            self._from.setdefault(link.source, []).append(link)
            self._to.setdefault(link.target, []).append(link)

    @property
    def keys(self) -> frozenset[Key]:
        """All things that a link names."""
        return frozenset({*self._from, *self._to})

    def reach(self, start: Key, *, back: bool = False) -> dict[Key, int]:
        """What can be reached from a thing, with the number of links to it; not the thing itself.

        Args:
            start: where the walk begins.
            back: against the flow: what it comes from.
        """
        found = {start: 0}
        edge = [start]
        while edge:
            following = []
            for key in edge:
                for link in self._next(key, back=back):
                    end = link.source if back else link.target
                    if end not in found:
                        found[end] = found[key] + 1
                        following.append(end)
            edge = following
        del found[start]
        return found

    def into(self, key: Key, among: Mapping[Key, int], *, back: bool = False) -> list[Link]:
        """The links by which a reached thing hangs on the others that were reached."""
        against = self._next(key, back=not back)
        return [one for one in against if (one.target if back else one.source) in among]

    def _next(self, key: Key, *, back: bool) -> list[Link]:
        return (self._to if back else self._from).get(key, [])


def web_of(held: Held) -> Web:
    """The links of a notebook."""
    return Web(_links(held))


def _links(held: Held) -> Iterator[Link]:
    for name, lot in held.lots.items():
        yield Link(Key(INGREDIENT, held.sheets.id_of(lot.ingredient)), Key(LOT, name), "lot of it")
    for sheet in held.sheets.by_file.values():
        for part in sheet.contains:
            source = Key(INGREDIENT, held.sheets.id_of(part.ingredient))
            yield Link(source, Key(INGREDIENT, sheet.id), "part of the blend")
    for batch in held.batches.values():
        yield from _weighed(batch, held)
        yield from _unweighed(batch)
        for parent in batch.from_:
            if parent.how in MATERIAL:
                mass = parent.mass.exact("g") if parent.mass else None
                yield Link(Key(BATCH, parent.batch), Key(BATCH, batch.id), parent.how, mass)
        yield from _with_tools(batch, held.equipment)
        yield from _filled(batch, held.jars.get(batch.id), held.equipment)


def _weighed(batch: Batch, held: Held) -> Iterator[Link]:
    """What was weighed in: by its lot, or the batch that it is of, else by its ingredient."""
    lines = {line.id: line for line in batch.lines}
    here = Key(BATCH, batch.id)
    for entry in entries(batch)[0]:
        if not entry.counts:
            continue
        now = entry.now
        line = lines.get(now.line or "")
        name = now.ingredient or now.batch or now.id
        sheet = line.sheet if line else held.sheets.id_of(name)
        lot = held.lots.get(now.lot or "")
        other = lot is None or held.sheets.id_of(lot.ingredient) != sheet
        how = f"weighed{f' as {held.sheets.name_of(sheet)}' if other else ''}{_changed(entry)}"
        if now.lot:
            yield Link(Key(LOT, now.lot), here, how, entry.mass)
            if now.lot not in held.lots:
                yield Link(Key(INGREDIENT, sheet), Key(LOT, now.lot), "lot of it, by its weighing")
        if now.batch:
            yield Link(Key(BATCH, now.batch), here, f"premix{_changed(entry)}", entry.mass)
        # The ingredient itself leads to the batch where no lot does, or one of another.
        if (line or now.ingredient) and (not now.lot or (lot and other)):
            yield Link(Key(INGREDIENT, sheet), here, how, entry.mass)


def _changed(entry: Entry) -> str:
    """What a correction changed of where it came from: whoever recalls looks at both."""
    changed = [
        f"{word} corrected, first {old or 'none'}"
        for word, old, new in (
            ("lot", entry.first.lot, entry.now.lot),
            ("batch", entry.first.batch, entry.now.batch),
        )
        if old != new
    ]
    return f" ({'; '.join(changed)})" if changed else ""


def _unweighed(batch: Batch) -> Iterator[Link]:
    """Lines of a closed batch that nobody weighed: it may be in, so a trace has to find it."""
    if batch.state == "open" or any(parent.how == "split" for parent in batch.from_):
        return
    held = {entry.now.line for entry in entries(batch)[0] if entry.counts}
    for line in batch.lines:
        if line.id not in held:
            yield Link(Key(INGREDIENT, line.sheet), Key(BATCH, batch.id), "planned, never weighed")


def _with_tools(batch: Batch, equipment: Mapping[str, Equipment]) -> Iterator[Link]:
    """Equipment that the batch, its weighings, readings or steps name."""
    now = standing(batch)
    found: dict[str, dict[str, None]] = {}

    def used(name: str | None, what: str) -> None:
        if name:
            found.setdefault(name, {})[what] = None

    if now.tools:
        for role in ("balance", "mixer", "meter", "thermometer", "vessel"):
            used(getattr(now.tools, role), role)
    for entry in entries(batch)[0]:
        used(entry.now.balance if entry.counts else None, "balance")
    for reading in now.readings:
        used(reading.with_ if not reading.struck else None, reading.reading)
    for step in now.steps:
        if step.done and step.done.with_ in equipment:
            used(step.done.with_, step.plan.do if step.plan else step.id)
    for name, how in found.items():
        yield Link(Key(EQUIPMENT, name), Key(BATCH, batch.id), ", ".join(how))


def _filled(batch: Batch, jars: Jars | None, equipment: Mapping[str, Equipment]) -> Iterator[Link]:
    if jars is None:
        return
    masses = {
        plain_jar(batch, jar.jar): jar.mass.exact("g") if jar.mass else None for jar in jars.jars
    }
    names = dict.fromkeys([*masses, *(plain_jar(batch, stay.jar) for stay in jars.stays)])
    for name in names:
        end = Key(JAR, jar_id(batch, name))
        yield Link(Key(BATCH, batch.id), end, "filled", masses.get(name))
    for stay in jars.stays:
        if stay.place in equipment:
            end = Key(JAR, jar_id(batch, plain_jar(batch, stay.jar)))
            yield Link(Key(EQUIPMENT, stay.place or ""), end, "stood in it")


def jar_id(batch: Batch, jar: str) -> str:
    """The full name of a jar: `SBC-260409-7K.1`."""
    return jar_name(batch.id, jar)
