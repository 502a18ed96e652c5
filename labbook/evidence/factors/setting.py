"""Everything around the making as traits: tools, lots, room, size, pH, and the jars."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from labbook.evidence.book import Book
from labbook.evidence.factors.doing import device_trait
from labbook.evidence.factors.stuff import Stuff
from labbook.evidence.factors.traits import Trait, Traits, of_name, of_quantity
from labbook.evidence.failure import condition_key
from labbook.evidence.items import NONE_WRITTEN
from labbook.evidence.lines import half_unit
from labbook.evidence.making import WATER_IN_OIL
from labbook.evidence.sightings import jars_by_name, plain_jar
from labbook.model.batch import Batch
from labbook.model.moments import in_order
from labbook.model.sheets import fold


def setting_traits(book: Book, batch: Batch, lost: Fraction | None) -> Traits:
    """Tools, room, size, session, type of emulsion, what it was made from, what got lost."""
    found = _tools(book, batch)
    if batch.room and batch.room.temperature:
        found["room", "temperature"] = of_quantity(
            batch.room.temperature, "room", "room temperature", line='"room ... °C"'
        )
    if batch.room and batch.room.humidity:
        found["room", "humidity"] = of_quantity(
            batch.room.humidity, "room", "room humidity", line='"humidity ... %"'
        )
    found["size",] = of_quantity(batch.size, "size", "batch size")
    if batch.session:
        found["session",] = of_name(batch.session, "session", "session")
    if meant := book.meant(batch):
        found["emulsion",] = of_name(meant, "other", "type of emulsion that was meant")
    reworked = sorted({parent.batch for parent in batch.from_ if parent.how == "rework"})
    text = f"rework of {', '.join(reworked)}" if reworked else "no rework"
    found["from",] = of_name(text, "other", "made from", name="rework" if reworked else "fresh")
    return found | _evaporation(lost) | _readings(book, batch)


def _tools(book: Book, batch: Batch) -> Traits:
    """Mixer and vessel by name and class; instruments by their kind alone."""
    found: Traits = {}
    tools = batch.tools
    if tools is None:
        return found
    if tools.mixer:
        found["equipment", "mixer"] = replace(
            device_trait(tools.mixer, "mixer", book.equipment), line='"mixer ..."'
        )
    if tools.vessel:
        known = book.equipment.get(tools.vessel)
        title = known.title if known and known.title else tools.vessel
        found["equipment", "vessel"] = of_name(title, "device", "vessel", line='"vessel ..."')
    for name, tool in (("thermometer", tools.thermometer), ("meter", tools.meter)):
        known = book.equipment.get(tool or "")
        if tool and known:
            title = f"{known.title or tool} ({known.kind})"
            found["equipment", name] = of_name(
                title, "device", name, name=fold(known.kind), line=f'"{name} ..."'
            )
    return found


def _evaporation(lost: Fraction | None) -> Traits:
    """What got lost between weighing and filling, in percent of what went in."""
    if lost is None:
        return {}
    return {
        ("evaporation",): Trait(
            kind="evaporation", what="lost while making", text=f"{float(lost):.0f}", unit="%",
            value=lost, base="% of the batch", spread=Fraction(1, 2), name=f"{float(lost):.0f}",
        )
    }  # fmt: skip


# pH ----------------------------------------------------------------------------------------------


def _readings(book: Book, batch: Batch) -> Traits:
    """The last pH of each thing that it was measured in; none of a finished water-in-oil cream."""
    meant = WATER_IN_OIL in (book.meant(batch), fold(book.emulsion(batch)))
    found: Traits = {}
    for reading in batch.readings:
        if fold(reading.reading) != "ph" or reading.struck or reading.value is None:
            continue
        of = fold(reading.of or "")
        in_water = "phase" in of.split("-") or of == "water"
        if not in_water and (meant or not book.meant(batch)):
            continue
        wide = half_unit(reading.value)
        if reading.uncertainty is not None:
            wide = max(wide, Fraction(reading.uncertainty))
        medium = reading.of or "the finished batch"
        found["readings", "pH", of] = Trait(
            kind="pH", what=f"pH of {medium}", text=f"{reading.value:f}", base="pH",
            value=Fraction(reading.value), spread=wide, name=f"{reading.value:f}",
            line=f'"pH ... {reading.of}"' if reading.of else '"pH ..."',
        )  # fmt: skip
    return found


# Lots --------------------------------------------------------------------------------------------


def lot_traits(book: Book, stuff: Stuff) -> Traits:
    """For each ingredient the packs it came from, their suppliers and their grades."""
    found: Traits = {}
    for sheet, by_phase in stuff.amounts.items():
        names = frozenset(lot for amount in by_phase.values() for lot in amount.lots)
        if not names:
            continue
        what = book.sheets.name_of(sheet)
        packs = [book.lots[name] for name in sorted(names) if name in book.lots]
        texts = [
            (pack.lot or name) if (pack := book.lots.get(name)) else name for name in sorted(names)
        ]
        own = {"sheets": (sheet,), "line": ""}
        found["lots", sheet, "lot"] = of_name(
            ", ".join(texts), "lot", f"lot of {what}", name=", ".join(sorted(names)), **own
        )
        for key, word in (("grade", "grade"), ("supplier", "supplier")):
            values = [getattr(pack, key) for pack in packs]
            if values and len(packs) == len(names) and all(values):
                text = ", ".join(dict.fromkeys(values))
                found["lots", sheet, key] = of_name(text, word, f"{word} of {what}", **own)
    return found


def first_session(book: Book, lot: str) -> str:
    """The session in which a pack first served; empty where it served in none."""

    def work_out() -> str:
        batches = (book.batches[id_] for id_ in book.may_name(lot))
        used = [b for b in batches if not b.dropped and any(w.lot == lot for w in b.weighings)]
        first = min(used, key=lambda b: (in_order(b.made), b.id), default=None)
        return "" if first is None else first.session or first.id

    return book.keep(("first session", lot), work_out)


def shopping_day(book: Book, names: Iterable[str]) -> str:
    """When these packs came into the house: the day bought, else the session they first served."""
    days = set()
    for name in names:
        pack = book.lots.get(name)
        if pack and pack.bought is not None:
            days.add(str(pack.bought)[:10])
        elif session := first_session(book, name):
            days.add(f"session {session}")
    return ", ".join(sorted(days))


# Jars --------------------------------------------------------------------------------------------


def jar_traits(book: Book, batch: Batch, condition: str, jars: Iterable[str]) -> Traits:
    """Container, fill level and place of some jars of a batch; only what they have in common."""
    held = book.jars.get(batch.id)
    if held is None:
        return {}
    wanted, key = set(jars), condition_key(condition)
    by_name = jars_by_name(batch, held)
    mine = [by_name[name] for name in sorted(wanted) if name in by_name]
    places = [
        stay.place
        for stay in held.stays
        if plain_jar(batch, stay.jar) in wanted and condition_key(stay.condition) == key
    ]
    found: Traits = {}
    containers = {jar.container for jar in mine}
    if len(containers) == 1 and (container := containers.pop()):
        found["jar", "container"] = of_name(container, "container", "container")
    levels = {jar.fill_level for jar in mine}
    if len(levels) == 1 and (level := levels.pop()):
        found["jar", "fill level"] = of_quantity(level, "fill level", "fill level")
    if len(set(places)) == 1 and places[0]:
        found["jar", "place"] = of_name(places[0], "place", "place in the room")
    return found


def deviation_traits(batch: Batch) -> Traits:
    """Departures from the method, each under its own words."""
    found: Traits = {}
    for one in batch.deviations:
        text = " ".join(one.text.split())
        found["deviations", text] = of_name(text, "other", "deviation", step=one.step or "")
    return found


NO_DEVIATION = of_name(NONE_WRITTEN, "other", "deviation")
"""What stands for a batch that didn't depart in that way."""
