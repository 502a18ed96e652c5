"""Screens of making: opened, weighed, noted, closed, corrected, shown, listed."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.batch import Batch, BatchStep, Look, Parent, Reading
from labbook.model.moments import write_moment
from labbook.model.results.common import Next
from labbook.model.results.making import (
    BatchList,
    BatchShown,
    Closed,
    Corrected,
    Made,
    Noted,
    Weighed,
    WeighLine,
)
from labbook.show.formulas import step_words
from labbook.show.layout import Column, Screen
from labbook.show.parts import batch_words, plural, then


def made_screen(result: Made, screen: Screen) -> str:
    """After `make`."""
    batch = result.batch
    pin = batch.formula
    if result.saved:
        what = "; ".join(result.saved.what) or "first version"
        screen.row("saved", f"{pin.code}@{result.saved.number} first, because it changed: {what}")
        screen.blank()
    screen.title(f"{batch.short}  {pin.name}, {batch.size}", batch.id)
    screen.blank()
    if batch.aim:
        screen.row("aim", batch.aim)
    if batch.known_from:
        screen.row("known from", f"{batch.known_from}, made {write_moment(batch.made)}")
    _group(screen, "from", [parent_words(parent) for parent in batch.from_])
    if split_off(batch):
        screen.row("", "What it came with is not weighed again; weigh only what you add.")
    else:
        _targets(batch, screen)
    _group(screen, "too little", result.warnings)
    _group(screen, "note", result.findings)
    then(
        screen,
        [
            Next(f"labbook weigh {batch.short}", "types the weights in, one after the other"),
            Next(f"labbook batch sheet {batch.short}", "the bench sheet, to print"),
            Next(f'labbook note "{_example_note(batch)}"', "what you read or do on the way"),
        ],
    )
    return screen.text()


def _targets(batch: Batch, screen: Screen) -> None:
    """What is to be weighed, line by line."""
    rows = []
    phase = ""
    for line in batch.lines:
        name = line.ingredient + (", q.s." if line.qs else "")
        name += f", {line.adjust}" if line.adjust else ""
        cells = [name, f"{line.target.value:f}" if line.target else "unknown", "g"]
        rows.append(("" if line.phase == phase else f"phase {line.phase}", cells))
        phase = line.phase
    screen.table((Column(""), Column("", "point"), Column("", "unit")), rows)


def split_off(batch: Batch) -> bool:
    """Whether the batch is a part of another one: what it came with isn't weighed again."""
    return any(parent.how == "split" for parent in batch.from_)


def parent_words(parent: Parent) -> str:
    """Where a batch comes from, in one line."""
    return f"{parent.batch}, {parent.how}{f', {parent.mass}' if parent.mass else ''}"


def _example_note(batch: Batch) -> str:
    """Something that is noted of such a batch: a pH only where one is adjusted."""
    if any("pH" in (line.adjust or "") for line in batch.lines):
        return "pH 5.0"
    heated = next((s.plan.set for s in batch.steps if s.plan and s.plan.set), None)
    if heated:
        return " ".join(f"{phase} {value.value:f}" for phase, value in heated.items())
    return "room 21 C"


def _group(screen: Screen, word: str, lines: Sequence[str]) -> None:
    for number, line in enumerate(lines):
        screen.row(word if not number else "", line)


def _cells(line: WeighLine) -> list[str]:
    name = line.ingredient + (", q.s." if line.qs else "")
    name += f", {line.adjust}" if line.adjust else ""
    return [name, line.target, line.weighed or "-", "g", line.over]


def bench_table(result: Weighed, screen: Screen) -> None:
    """Target and weighed, line by line."""
    rows = []
    phase = ""
    for line in result.lines:
        rows.append(("" if line.phase == phase else f"phase {line.phase}", _cells(line)))
        phase = line.phase
    rows += [("added" if not n else "", _cells(line)) for n, line in enumerate(result.unplanned)]
    columns = (
        Column(""),
        Column("target", "point", 2),
        Column("weighed", "point", 2),
        Column("", "unit"),
        Column("", gap=2),
    )
    screen.table(columns, rows)
    lots = [line.lot for line in (*result.lines, *result.unplanned) if line.lot]
    if lots:
        screen.row("lots", ", ".join(lots))


def bench_screen(result: Weighed, screen: Screen) -> str:
    """The bench before the first weight is asked for."""
    screen.title(f"{result.short}  {result.made_of}, {result.size}", result.balance)
    screen.blank()
    bench_table(result, screen)
    screen.blank()
    screen.row("", "/ and Enter shows what can be typed besides a weight.")
    return screen.text()


def weighed_screen(result: Weighed, screen: Screen) -> str:
    """After `weigh`, and the bench as it stands."""
    screen.title(f"{result.short}  {result.made_of}, {result.size}", result.balance)
    screen.blank()
    _group(screen, "written", result.recorded)
    if result.recorded:
        screen.blank()
    bench_table(result, screen)
    if result.total:
        screen.row("in the pot", f"{result.total} g")
    left = result.open_lines
    if left:
        screen.row("open", ", ".join(line.ingredient for line in left))
        then(screen, [f"labbook weigh {result.short}"])
    else:
        then(screen, ['labbook note "A 72 B 71"', f"labbook close {result.short}"])
    return screen.text()


def noted_screen(result: Noted, screen: Screen) -> str:
    """After `note`: repeated back."""
    _group(screen, result.short, result.what)
    _group(screen, "note", result.remarks)
    return screen.text()


def closed_screen(result: Closed, screen: Screen) -> str:
    """After `close`."""
    screen.title(f"{result.short}  {result.made_of}, closed")
    screen.blank()
    if result.yield_text:
        lost = f"; {result.loss} stayed on the tools or went off as steam" if result.loss else ""
        screen.row("yield", f"{result.yield_text}{lost}")
    for number, (jar, condition, container) in enumerate(result.jars):
        told = f"{jar}  {condition}{f', {container}' if container else ''}"
        screen.row("jars" if not number else "", told)
    if not result.jars:
        screen.row("jars", "none written down")
    if result.protocol:
        screen.row("protocol", result.protocol)
    if result.unweighed:
        screen.row("unknown", f"not weighed: {', '.join(result.unweighed)}")
    _group(
        screen,
        "unknown" if not result.unweighed else "",
        [f"not written down: {', '.join(result.not_recorded)}"] if result.not_recorded else [],
    )
    screen.row("", "From now on it changes by corrections only.")
    if not result.jars:
        again = f"labbook close {result.short} --jars 2 --places room,fridge"
        then(
            screen,
            [
                Next(f"labbook show {result.short}"),
                Next("labbook undo", "takes the closing back, to name jars:"),
                Next(again),
            ],
        )
        return screen.text()
    then(screen, [f"labbook show {result.short}", f"labbook log {result.code}"])
    return screen.text()


def corrected_screen(result: Corrected, screen: Screen) -> str:
    """After `batch correct` and `batch drop`."""
    if result.what == "dropped":
        screen.title(f"{result.short} is out of every list; its records stay")
        screen.row("because", result.why)
        then(screen, [f"labbook show {result.short}", Next("labbook undo", "puts it back")])
        return screen.text()
    screen.title(f"{result.short}, {result.what}: corrected")
    screen.row("first", result.was or "nothing written down")
    screen.row("now", result.now)
    screen.row("because", result.why)
    screen.row("", "The first figure stays beside it; calculations use the new one, marked.")
    return screen.text()


def put_back_screen(result: Corrected, screen: Screen) -> str:
    """After `batch correct --as-closed`."""
    screen.title(f"{result.short} is as it was closed again, corrections included")
    screen.row("", "What its file said meanwhile stays in history where it was committed.")
    then(screen, [f"labbook show {result.short}"])
    return screen.text()


def list_screen(result: BatchList, screen: Screen) -> str:
    """`batch list`."""
    screen.title(
        f"Batches of {result.code}" if result.code else "Batches", str(len(result.batches))
    )
    screen.blank()
    for batch in result.batches:
        told = f"{batch.made}  {batch.of}, {batch.size}, {batch_words(batch)}"
        screen.row(batch.short, told)
    if not result.batches:
        screen.row("", "None yet.")
    hidden = result.dropped - sum(1 for b in result.batches if b.dropped)
    if hidden > 0:
        screen.row("dropped", f"{hidden} not shown: labbook batch list --dropped")
    return screen.text()


def done_words(step: BatchStep, *, clock: bool = True) -> str:
    """What was recorded of a step, in one line; `clock` adds when it began."""
    done = step.done
    if done is None:
        return "not written down"
    if done.skipped:
        return f"left out: {done.skipped}"
    parts = []
    if done.temperatures:
        parts.append(", ".join(f"{p} at {t}" for p, t in done.temperatures.items()))
    for word, value in (
        ("took", done.took), ("held", done.hold), ("mixed", done.mixed), ("speed", done.speed),
        ("", done.rate), ("with", done.with_), ("stirred until", done.stirred_until),
        ("seen:", done.seen),
    ):  # fmt: skip
        if value is not None:
            parts.append(f"{word} {value}".strip())
    if done.started and clock:
        parts.append(f"from {write_moment(done.started)}")
    return ", ".join(parts) or "done"


def entry_words(batch: Batch, entry: str, key: str) -> str:
    """An entry of a batch by its name: `sunflower-oil (w3)`, `pH (r1)`, `s2 speed`."""
    names = {line.id: line.ingredient for line in batch.lines}
    for weighing in batch.weighings:
        if weighing.id == entry:
            name = names.get(weighing.line or "", weighing.ingredient or "something")
            return f"{name} ({entry})" + ("" if key == "mass" else f" {key}")
    for reading in batch.readings:
        if reading.id == entry:
            return f"{reading.reading} ({entry})" + ("" if key == "value" else f" {key}")
    return f"{entry} {key}".strip()


def reading_words(reading: Reading) -> str:
    """A reading in one line."""
    value = reading.seen if reading.value is None else f"{reading.value:f} {reading.unit or ''}"
    told = f"{reading.reading} {(value or '').strip()}"
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


def shown_screen(result: BatchShown, screen: Screen) -> str:
    """`show 7k`."""
    batch = result.batch
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
    if batch.yield_:
        screen.row("yield", str(batch.yield_))
    screen.blank()
    for number, step in enumerate(batch.steps):
        plan = step_words(step.plan) if step.plan else step.id
        screen.row("steps" if not number else "", f"{step.id}  {plan}")
        screen.row("", f"    {done_words(step)}")
    _group(screen, "readings", [reading_words(r) for r in batch.readings])
    if batch.room:
        room = batch.room
        values = [str(room.temperature)] if room.temperature else []
        values += [f"{room.humidity.value:f} % humidity"] if room.humidity else []
        screen.row("room", ", ".join(values))
    _group(screen, "deviations", [d.text for d in batch.deviations])
    _group(screen, "remarks", [r.text for r in batch.remarks])
    _group(
        screen,
        "corrected",
        [
            f"{entry_words(batch, c.of, c.key or '')}: {c.was or '-'} → {c.now or '-'}, {c.why}"
            for c in batch.corrections
        ],
    )
    _jars(result, screen)
    then(screen, [f"labbook log {pin.code}"])
    return screen.text()


def _jars(result: BatchShown, screen: Screen) -> None:
    short = result.batch.short
    if result.jars:
        stays = {stay.jar: stay for stay in result.jars.stays}
        told = []
        for jar in result.jars.jars:
            stay = stays.get(jar.jar)
            place = f"{stay.condition} since {write_moment(stay.since)[:10]}" if stay else "unknown"
            told.append(f"{short}.{jar.jar}  {place}")
        _group(screen, "jars", told)
    if result.stability:
        looks = [look for look in result.stability.looks if not look.struck]
        _group(screen, "looks", [look_words(look, short) for look in looks[-6:]])
        if len(looks) > 6:
            screen.row(
                "",
                f"{plural(len(looks) - 6, 'earlier look')} in {result.path}".replace(
                    "batch.yaml", "stability.yaml"
                ),
            )
    _group(screen, "went into", [f"{c.short}  {c.of}" for c in result.children])
