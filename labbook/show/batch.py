"""The screen of one batch: all that was written down, and how it stands after corrections."""

from __future__ import annotations

from collections.abc import Mapping

from labbook.model.batch import Batch, BatchStep, Reading
from labbook.model.jars import Look
from labbook.model.moments import write_moment
from labbook.model.results.making import BatchShown
from labbook.model.results.photos import Picture
from labbook.show.actual import actual_rows
from labbook.show.corrected import correction_words, marks_of, reading_mark
from labbook.show.formulas import step_words
from labbook.show.layout import Screen
from labbook.show.making import bench_table, group_rows, parent_words
from labbook.show.parts import plural, then
from labbook.trade.standing import TEMPERATURES, standing


def done_words(
    step: BatchStep, *, clock: bool = True, marks: Mapping[str, str] | None = None
) -> str:
    """What was recorded of a step, in one line.

    Args:
        step: the step.
        clock: adds when it began.
        marks: what stands behind the value of a key, by key: `(corrected, first 62 °C)`.
    """
    marked = marks or {}
    done = step.done
    if done is None:
        return "not written down"
    if done.skipped:
        return f"left out: {done.skipped}{marked.get('skipped', '')}"
    parts = [
        f"{phase} at {value}{marked.get(f'{TEMPERATURES} {phase}', '')}"
        for phase, value in (done.temperatures or {}).items()
    ]
    for key, word, value in (
        ("took", "took", done.took), ("hold", "held", done.hold), ("mixed", "mixed", done.mixed),
        ("speed", "speed", done.speed), ("rate", "", done.rate), ("with", "with", done.with_),
        ("stirred until", "stirred until", done.stirred_until), ("seen", "seen:", done.seen),
    ):  # fmt: skip
        if value is not None:
            parts.append(f"{word} {value}{marked.get(key, '')}".strip())
    if done.started and clock:
        parts.append(f"from {write_moment(done.started)}{marked.get('started', '')}")
    return ", ".join(parts) or "done"


def reading_words(reading: Reading, mark: str = "") -> str:
    """A reading in one line; `mark` stands behind its value."""
    value = reading.seen if reading.value is None else f"{reading.value:f} {reading.unit or ''}"
    told = f"{reading.reading} {(value or 'unknown').strip()}{mark}"
    told += f" of the {reading.of}" if reading.of else ""
    told += f", by {reading.by}" if reading.by else ""
    told += f", at {reading.at}" if reading.at else ""
    told += f", struck: {reading.struck}" if reading.struck else ""
    return told + (f" (from {reading.known_from})" if reading.known_from else "")


def look_words(look: Look, short: str) -> str:
    """A look in one line."""
    told = f"{short}.{look.jar}  {write_moment(look.time)[:10]}"
    told += f"  {look.planned}" if look.planned else ""
    told += f"  grade {look.grade}" if look.grade is not None else ""
    told += f", {', '.join(look.modes)}" if look.modes else ""
    return told + (f". {look.note}" if look.note else "")


def photo_words(picture: Picture) -> str:
    """A photo in one line: its id, day and jar, what it shows; the file's name is in `--json`."""
    told = f"{picture.id}  {picture.day.isoformat()}"
    told += f"  {picture.jar}" if picture.jar else ""
    told += f"  step {picture.step}" if picture.step else ""
    told += f"  {picture.caption}" if picture.caption else ""
    return told + ("  (private)" if picture.private else "")


def shown_screen(result: BatchShown, screen: Screen) -> str:
    """`show 7k`."""
    batch, now = result.batch, standing(result.batch)
    pin = batch.formula
    made = write_moment(batch.made).replace("T", " ")
    screen.title(f"{batch.short}  {pin.name}  {result.title}, {batch.size}", batch.id)
    screen.row(
        "made",
        f"{made[:16]}, {batch.state}"
        + (f", known from {batch.known_from}" if batch.known_from else ""),
    )
    if batch.dropped:
        screen.row("dropped", batch.dropped.why)
    if batch.aim:
        screen.row("aim", batch.aim)
    if result.outcome:
        screen.row("so far", result.outcome.replace("failed", "FAILED", 1))
    for parent in batch.from_:
        screen.row("from", parent_words(parent))
    screen.blank()
    bench_table(result.bench, screen)
    if result.bench.total:
        screen.row("in the pot", f"{result.bench.total} g")
    if now.yield_:
        screen.row("yield", f"{now.yield_}{marks_of(batch, 'batch').get('yield', '')}")
    if result.made_of:
        screen.blank()
        actual_rows(result.made_of, screen)
    screen.blank()
    _steps(batch, screen)
    _said(batch, screen)
    _jars(result, screen)
    then(screen, [f"labbook log {pin.code}"])
    return screen.text()


def _steps(batch: Batch, screen: Screen) -> None:
    """What was planned and what was done, each corrected value with the first one beside."""
    for number, step in enumerate(standing(batch).steps):
        plan = step_words(step.plan) if step.plan else step.id
        screen.row("steps" if not number else "", f"{step.id}  {plan}")
        screen.row("", f"    {done_words(step, marks=marks_of(batch, step.id))}")


def _said(batch: Batch, screen: Screen) -> None:
    """Readings, the room, deviations, remarks, and every correction."""
    now = standing(batch)
    read = [reading_words(r, reading_mark(batch, r)) for r in now.readings]
    group_rows(screen, "readings", read)
    if now.room:
        marks = marks_of(batch, "room")
        degrees, damp = now.room.temperature, now.room.humidity
        told = [f"{degrees}{marks.get('temperature', '')}"] if degrees else []
        told += [f"{damp.value:f} % humidity{marks.get('humidity', '')}"] if damp else []
        screen.row("room", ", ".join(told))
    group_rows(screen, "deviations", [d.text for d in now.deviations])
    group_rows(screen, "remarks", [r.text for r in now.remarks])
    group_rows(screen, "corrected", [correction_words(batch, c) for c in batch.corrections])


def _jars(result: BatchShown, screen: Screen) -> None:
    short = result.batch.short
    if result.jars:
        stays = {stay.jar: stay for stay in result.jars.stays}
        told = []
        for jar in result.jars.jars:
            stay = stays.get(jar.jar)
            place = f"{stay.condition} since {write_moment(stay.since)[:10]}" if stay else "unknown"
            told.append(f"{short}.{jar.jar}  {place}")
        group_rows(screen, "jars", told)
    if result.stability:
        looks = [look for look in result.stability.looks if not look.struck]
        group_rows(screen, "looks", [look_words(look, short) for look in looks[-6:]])
        if len(looks) > 6:
            screen.row(
                "",
                f"{plural(len(looks) - 6, 'earlier look')} in {result.path}".replace(
                    "batch.yaml", "stability.yaml"
                ),
            )
    if result.reactions:
        count = plural(result.reactions, "reaction or complaint", "reactions or complaints")
        screen.row("private", f"{count} written down: labbook trace {short.lower()}")
    group_rows(screen, "photos", [photo_words(one) for one in result.photos])
    group_rows(screen, "went into", [f"{c.short}  {c.of}" for c in result.children])
