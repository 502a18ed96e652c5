"""The pH that a formula aims for or that a batch was measured at, and the windows of the sheets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from labbook.model.batch import Batch, Reading
from labbook.model.quantities import QuantityError, parse_number
from labbook.trade.checks.case import Case
from labbook.trade.checks.contents import Part, ends, parts
from labbook.trade.preservation import adjusted_pH


@dataclass(frozen=True, slots=True, kw_only=True)
class Acidity:
    """A pH between two ends, each None where it is open.

    `measured` says that it was read of a batch, its uncertainty within the ends; else it is aimed
    for, and `target` is the index of the target.
    """

    low: Fraction | None
    high: Fraction | None
    measured: bool = False
    target: int | None = None


def is_pH(reading: str) -> bool:
    """Whether a reading or target is a pH."""
    return reading.strip().casefold() == "ph"


def of_water(of: str | None) -> bool:
    """Whether something was measured in water: the water phase, a phase, a watery dilution."""
    words = (of or "").casefold()
    return "water" in words.split() or "phase" in words.split()


def means_nothing(reading: str, of: str | None) -> bool:
    """Whether a pH of a water-in-oil cream was taken where the electrode meets oil.

    Where nobody says what it was measured in, nothing is said of it.
    """
    return is_pH(reading) and bool((of or "").strip()) and not of_water(of)


def pH_readings(case: Case) -> Iterator[Reading]:
    """The pH readings of a batch that count, as they stand after corrections, in order."""
    if case.batch is None:
        return
    for reading in case.batch.readings:
        now = _corrected(reading, case.batch)
        if is_pH(now.reading) and now.struck is None and now.value is not None:
            yield now


def _corrected(reading: Reading, batch: Batch) -> Reading:
    for one in batch.corrections:
        if one.of != reading.id:
            continue
        now = (one.now or "").strip()
        if one.key == "value":
            try:
                reading = replace(reading, value=parse_number(now, signed=True))
            except QuantityError:
                reading = replace(reading, value=None)
        elif one.key == "of":
            reading = replace(reading, of=now or None)
        elif one.key == "struck":
            reading = replace(reading, struck=now or None)
    return reading


def measured(case: Case) -> tuple[Fraction, Fraction] | None:
    """The last pH of a batch that means something, with its uncertainty."""
    found = None
    for reading in pH_readings(case):
        if case.emulsion() != "water-in-oil" or of_water(reading.of):
            found = reading
    if found is None or found.value is None:
        return None
    return Fraction(found.value), Fraction(found.uncertainty or 0)


def acidity(case: Case) -> Acidity | None:
    """The pH of the water: of a batch as measured, of a formula as aimed for; None if unknown."""
    if case.batch is not None:
        read = measured(case)
        if read is None:
            return None
        return Acidity(low=read[0] - read[1], high=read[0] + read[1], measured=True)
    for index, target in enumerate(case.formula.targets):
        counts = case.emulsion() != "water-in-oil" or of_water(target.of)
        if is_pH(target.reading) and counts and not (target.from_ is None and target.to is None):
            low, high = target.from_, target.to
            return Acidity(
                low=None if low is None else Fraction(low),
                high=None if high is None else Fraction(high),
                target=index,
            )
    adjusted = adjusted_pH(line.adjust for line in case.composition.lines)
    return None if adjusted is None else Acidity(low=adjusted[0], high=adjusted[1])


# Windows -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The pH in which a material works by its sheet; an end is None where it is open."""

    part: Part
    low: Fraction | None
    high: Fraction | None
    source: str
    note: str


def windows(case: Case) -> tuple[Window, ...]:
    """What in the formula has a pH window, in the order of the file."""
    found = []
    for part in parts(case):
        given = part.sheet.pH_window if part.sheet else None
        low, high = ends(given)
        if given is not None and (low is not None or high is not None):
            found.append(
                Window(
                    part=part, low=low, high=high, source=given.source or "", note=given.note or ""
                )
            )
    return tuple(found)


def apart(case: Case) -> tuple[tuple[Window, Window], ...]:
    """Pairs whose windows have no pH in common: the one that ends below, the one above."""
    found = []
    own = windows(case)
    for below in own:
        for above in own:
            if below.high is not None and above.low is not None and below.high < above.low:
                found.append((below, above))
    return tuple(found)


def outside(case: Case, window: Window) -> bool:
    """Whether the pH may leave a window that could be kept; unknown is not outside."""
    pH = acidity(case)
    if pH is None or any(window in pair for pair in apart(case)):
        return False
    over = window.high is not None and pH.high is not None and pH.high > window.high
    under = window.low is not None and pH.low is not None and pH.low < window.low
    return over or under
