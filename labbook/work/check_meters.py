"""pH readings against the log of their meter: how long before it had been calibrated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from labbook.model.batch import Batch, Reading
from labbook.model.materials import Equipment
from labbook.model.moments import Moment, age_in_days, day_of
from labbook.model.problems import Problem, Severity
from labbook.notebook.readfile import ReadFile
from labbook.work.bench import Bench

HOLDS = timedelta(days=60)
"""How long a calibration is taken to hold where the meter's file doesn't say. Common practice, no
source; who reads pH closely calibrates on the day."""


@dataclass(frozen=True, slots=True)
class _Used:
    """A reading with the meter that it was taken with."""

    batch: Batch
    reading: Reading
    index: int
    meter: str
    tool: Equipment

    @property
    def when(self) -> Moment:
        """When it was read; the day of making where that isn't written down."""
        return self.reading.time or self.batch.made


def meter_problems(bench: Bench) -> Iterator[Problem]:
    """One finding for each batch whose pH was read long after its meter's last calibration.

    A meter of which no calibration was ever written down is told once.
    """
    told: set[str] = set()
    for batch_id, batch in bench.snapshot.batches.items():
        file = bench.snapshot.of_batch(batch_id)
        if batch.dropped or file is None:
            continue
        for used in _used(bench, batch):
            if used.meter in told or batch_id in told:
                continue
            found = _problem(bench, used, file)
            if found is not None:
                told.add(batch_id if used.tool.calibrations else used.meter)
                yield found


def _used(bench: Bench, batch: Batch) -> Iterator[_Used]:
    for index, reading in enumerate(batch.readings):
        tool = bench.snapshot.equipment.get(reading.with_ or "")
        if reading.reading != "pH" or reading.value is None or reading.struck or tool is None:
            continue
        if tool.kind == "pH meter":
            yield _Used(batch, reading, index, reading.with_ or "", tool)


def _problem(bench: Bench, used: _Used, file: ReadFile) -> Problem | None:
    logged = used.tool.calibrations
    if not logged:
        held = bench.snapshot.files.get(f"equipment/{used.meter}.yaml")
        place = held.place("kind") if held else file.place("readings", used.index)
        return Problem(
            Severity.NOTE,
            "meter-without-calibration",
            place,
            f"pH was read with {used.meter}, and no calibration of it is written down.",
            f"When you do it: labbook equipment calibrate {used.meter} --buffer 4.01 --buffer 7.00",
            about=used.meter,
        )
    holds = float(used.tool.check_every.exact("d")) if used.tool.check_every else HOLDS.days
    before = [day for one in logged if (day := age_in_days(one.date, used.when)) >= 0]
    if before and min(before) <= holds:
        return None
    if before:
        latest = max(
            (one.date for one in logged if age_in_days(one.date, used.when) >= 0), key=day_of
        )
        since = f"{min(before):.0f} days after {used.meter} was last calibrated"
        told = f"{since}, on {day_of(latest).isoformat()}"
    else:
        told = f"before {used.meter} was first calibrated by its log"
    return Problem(
        Severity.NOTE,
        "meter-calibration-old",
        file.place("readings", used.index),
        f"{used.batch.short}: pH {used.reading.value:f} was read {told}.",
        f"Electrodes drift: the figure may be off. The log says how long one holds: check every:"
        f" {holds:.0f} d in equipment/{used.meter}.yaml",
        about=used.batch.id,
    )
