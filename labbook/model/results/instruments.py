"""What a check of a balance or a calibration of a pH meter came to."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceChecked:
    """One mass weighed again and again; all figures in g, as text.

    `off` is the mean less the nominal mass, empty where none was named. `counts` is the standard
    uncertainty of one reading from now on, `least` the smallest mass that it weighs to 5 %, and
    `strict` that by USP <41>. `before` is the repeatability that stood in the file.
    """

    name: str
    entry: str
    count: int
    mean: str
    deviation: str
    spread: str
    off: str
    counts: str
    least: str
    strict: str
    before: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterCalibrated:
    """A calibration of a pH meter as written down.

    `slope` is in percent of Nernst's at the temperature, reckoned from the voltages, and `each` in
    mV for one pH; `at_seven` is the voltage at pH 7. Empty where no voltages were given. `typed` is
    the slope that the meter told. `in_order` is None where nothing tells.
    """

    name: str
    entry: str
    buffers: tuple[str, ...]
    at: str
    slope: str
    each: str
    at_seven: str
    typed: str
    in_order: bool | None
