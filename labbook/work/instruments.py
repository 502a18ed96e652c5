"""`equipment check` and `equipment calibrate`: what an instrument told when it was looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import next_entry_id
from labbook.model.materials import Equipment
from labbook.model.moments import Moment
from labbook.model.quantities import Quantity, QuantityError, parse_number, parse_quantity
from labbook.model.results.instruments import BalanceChecked, MeterCalibrated
from labbook.trade.balance import SMALL_ERROR, balance_of, least_mass, minimum_weight
from labbook.trade.exact import decimal_text, to_places
from labbook.trade.instruments import (
    LEAST_STEEP,
    MOST_STEEP,
    ROOM,
    WEIGHINGS,
    Repeated,
    repeated,
    slope,
)
from labbook.work.bench import Bench
from labbook.work.draft import Draft

if TYPE_CHECKING:
    from labbook.notebook.record import Plan

PLACES = 2
"""Digits beyond those of the balance that a standard deviation is kept with."""


def tool_named(bench: Bench, name: str, kind: str) -> tuple[str, Equipment]:
    """A piece of equipment of a kind, or the notebook's usual one where none is named.

    Raises:
        UnknownName: there is none, or it is another kind of thing.
    """
    defaults = bench.snapshot.settings.defaults
    usual = {"balance": defaults.balance, "pH meter": defaults.meter}[kind]
    chosen = name or usual or ""
    found = bench.snapshot.equipment.get(chosen)
    known = [one for one, tool in bench.snapshot.equipment.items() if tool.kind == kind]
    if found is None or found.kind != kind:
        what = f"{chosen} is no {kind}." if chosen else f"The notebook has no usual {kind}."
        some = f"One of: {', '.join(known)}" if known else ""
        raise UnknownName(
            what, mend=some or f'Write it down: labbook equipment add NAME --kind "{kind}"'
        )
    return chosen, found


# A balance ----------------------------------------------------------------------------------------


def shown_value(text: str) -> Decimal:
    """What a balance showed, in g.

    Raises:
        Unclear: it is no number.
    """
    bare = text.strip().replace(",", ".").removesuffix("g").rstrip()
    try:
        return parse_number(bare, signed=True)
    except ValueError as error:
        raise Unclear(f"{error}.", mend="Type what the balance shows, in g: 100.02") from error


def check_balance(
    bench: Bench, name: str, shown: Sequence[Decimal], *, mass: str = "", when: Moment | None = None
) -> BalanceChecked:
    """Writes ten weighings of one mass down, and how well the balance repeats from now on.

    Args:
        bench: the notebook.
        name: the balance; empty takes the notebook's usual one.
        shown: what it showed each time, in g, after the mass was taken off and zero stood again.
        mass: what the piece is said to weigh, where that is known.
        when: the day; today if left out.

    Raises:
        Unclear: fewer than ten, or a mass that is none.
        UnknownName: no such balance.
    """
    chosen, _ = tool_named(bench, name, "balance")
    if len(shown) < WEIGHINGS:
        raise Unclear(
            f"{len(shown)} weighings; fewer than {WEIGHINGS} tell little.",
            mend="Take it off, wait for zero, put it on: again.",
        )
    nominal = _mass(mass)
    found = repeated(shown)
    deviation = _kept(found, shown)

    def plan() -> Plan:
        fresh = bench.afresh()
        tool = fresh.snapshot.equipment[chosen]
        draft = Draft(bench.root)
        path = f"equipment/{chosen}.yaml"
        id_ = next_entry_id("c", [one.id for one in tool.calibrations])
        entry: dict[str, Any] = {
            "id": id_,
            "date": when or bench.today,
            "what": f"{found.count} weighings of one mass",
            "mass": nominal,
            "shown": list(shown),
            "standard deviation": deviation,
            "spread": Quantity(found.spread, "g"),
        }
        entry = {key: value for key, value in entry.items() if value is not None}
        draft.append(path, "calibrations", entry)
        draft.put(path, ("repeatability",), deviation)
        told = f"{chosen}: weighed {found.count} times, standard deviation {deviation}"
        return draft.plan(told, (id_, str(tool.repeatability or "")))

    entry, before = bench.record(plan, command="equipment check").result
    tool = bench.afresh().snapshot.equipment[chosen]
    return _checked(chosen, tool, found, deviation, nominal, entry, before)


def _mass(typed: str) -> Quantity | None:
    if not typed:
        return None
    try:
        found = parse_quantity(typed if not typed.strip()[-1].isdigit() else f"{typed} g", "mass")
    except QuantityError as error:
        raise Unclear(f"{error}.", mend="Like this: --mass 100g") from error
    if not found.value:
        raise Unclear("A mass of nothing?", mend="Like this: --mass 100g")
    return found


def _places(shown: Sequence[Decimal]) -> int:
    exponents = [one.as_tuple().exponent for one in shown]
    return max((-one for one in exponents if isinstance(one, int) and one < 0), default=0)


def _kept(found: Repeated, shown: Sequence[Decimal]) -> Quantity:
    """The standard deviation with two digits more than the balance shows."""
    return Quantity(to_places(Fraction(found.deviation), _places(shown) + PLACES), "g")


def _checked(
    name: str,
    tool: Equipment,
    found: Repeated,
    deviation: Quantity,
    nominal: Quantity | None,
    entry: str,
    before: str,
) -> BalanceChecked:
    places = -min(int(deviation.value.as_tuple().exponent), 0)
    balance = balance_of(tool)
    off = "" if nominal is None else f"{to_places(found.mean - nominal.exact('g'), places):+f}"
    return BalanceChecked(
        name=name,
        entry=entry,
        count=found.count,
        mean=f"{to_places(found.mean, places):f}",
        deviation=f"{deviation.value:f}",
        spread=f"{found.spread:f}",
        off=off,
        counts=f"{round(balance.reading, places):f}" if balance else "",
        least=decimal_text(least_mass(balance, SMALL_ERROR)) if balance else "",
        strict=f"{to_places(minimum_weight(balance), 2):f}" if balance else "",
        before=before,
    )


# A pH meter ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Buffer:
    """A buffer as typed: its pH, and what was shown before it was set."""

    pH: Decimal
    reading: Decimal | None = None
    millivolts: Decimal | None = None

    @property
    def data(self) -> dict[str, Any]:
        """The point of a calibration's entry."""
        told = {"buffer": self.pH, "reading": self.reading, "millivolts": self.millivolts}
        return {key: value for key, value in told.items() if value is not None}

    @property
    def words(self) -> str:
        """`4.01, read 4.05, 177.3 mV`."""
        told = f"{self.pH:f}"
        told += f", read {self.reading:f}" if self.reading is not None else ""
        return told + (f", {self.millivolts:f} mV" if self.millivolts is not None else "")


def buffer_of(typed: str) -> Buffer:
    """A buffer from `7.00`, `7.00=7.04` (what was read) or `7.00=-2.1mV`.

    Raises:
        Unclear: it isn't written so, or no buffer has that pH.
    """
    name, _, shown = (part.strip() for part in typed.replace(",", ".").partition("="))
    is_voltage = shown.casefold().endswith("mv")
    try:
        pH = parse_number(name.removeprefix("pH").strip())
        value = (
            parse_number(shown[:-2].strip() if is_voltage else shown, signed=True)
            if shown
            else None
        )
    except ValueError as error:
        raise Unclear(f"Buffer {typed!r}?", mend="Like this: --buffer 7.00=-2.1mV") from error
    if not 0 < pH <= 14:
        raise Unclear(f"A buffer of pH {pH:f}?", mend="Like this: --buffer 7.00=-2.1mV")
    if is_voltage:
        return Buffer(pH=pH, millivolts=value)
    return Buffer(pH=pH, reading=value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibrated:
    """A calibration as typed; empty and None are not written down."""

    buffers: tuple[Buffer, ...]
    what: str = ""
    result: str = ""
    at: Quantity | None = None
    slope: Decimal | None = None
    by: str = ""
    when: Moment | None = None


def calibrate_meter(bench: Bench, name: str, said: Calibrated) -> MeterCalibrated:
    """Writes a calibration of a pH meter down, and reckons its slope where voltages are given.

    Raises:
        Unclear: no buffer, or the same twice.
        UnknownName: no such meter.
    """
    chosen, _ = tool_named(bench, name, "pH meter")
    if not said.buffers:
        raise Unclear(
            "Which buffers?", mend="labbook equipment calibrate --buffer 7.00 --buffer 4.01"
        )
    if len({one.pH for one in said.buffers}) < len(said.buffers):
        raise NotAllowed("A buffer stands there twice.", mend="Each one once.")

    def plan() -> Plan:
        tool = bench.afresh().snapshot.equipment[chosen]
        draft = Draft(bench.root)
        id_ = next_entry_id("c", [one.id for one in tool.calibrations])
        count = len(said.buffers)
        what = said.what or ("one point" if count == 1 else f"{count} points")
        entry: dict[str, Any] = {
            "id": id_,
            "date": said.when or bench.now,
            "what": what,
            "result": said.result or None,
            "points": [one.data for one in said.buffers],
            "at": said.at,
            "slope": said.slope,
            "by": said.by or None,
        }
        entry = {key: value for key, value in entry.items() if value is not None}
        draft.append(f"equipment/{chosen}.yaml", "calibrations", entry)
        return draft.plan(f"{chosen}: {what}", id_)

    id_ = str(bench.record(plan, command="equipment calibrate").result)
    return _calibrated(chosen, id_, said)


def _calibrated(name: str, entry: str, said: Calibrated) -> MeterCalibrated:
    warm = said.at.exact("°C") if said.at else ROOM
    points = [
        (Fraction(one.pH), Fraction(one.millivolts))
        for one in said.buffers
        if one.millivolts is not None
    ]
    found = slope(points, warm) if len(points) > 1 else None
    in_order = found.steep_enough if found else None
    if found is None and said.slope is not None:
        in_order = LEAST_STEEP <= said.slope <= MOST_STEEP
    return MeterCalibrated(
        name=name,
        entry=entry,
        buffers=tuple(one.words for one in said.buffers),
        at=str(said.at or ""),
        slope=f"{to_places(found.percent, 1):f}" if found else "",
        each=f"{to_places(found.each, 2):f}" if found else "",
        at_seven=f"{to_places(found.at_seven, 1):f}" if found else "",
        typed=f"{said.slope:f}" if said.slope is not None else "",
        in_order=in_order,
    )
