"""Screens of making: opened, weighed, noted, closed, corrected, listed."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.batch import Batch, Parent
from labbook.model.moments import write_moment
from labbook.model.results.common import Next
from labbook.model.results.making import (
    BatchList,
    Closed,
    Corrected,
    Made,
    Noted,
    Weighed,
    WeighLine,
)
from labbook.show.layout import Column, Screen
from labbook.show.parts import batch_words, then
from labbook.show.slips import slip_commands, slip_rows


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
    group_rows(screen, "from", [parent_words(parent) for parent in batch.from_])
    if split_off(batch):
        screen.row("", "What it came with is not weighed again; weigh only what you add.")
    else:
        _targets(batch, screen)
    group_rows(screen, "too little", result.warnings)
    group_rows(screen, "note", result.findings)
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


def group_rows(screen: Screen, word: str, lines: Sequence[str]) -> None:
    """Several lines under one word."""
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
    group_rows(screen, "written", result.recorded)
    if result.recorded:
        screen.blank()
    bench_table(result, screen)
    if result.total:
        screen.row("in the pot", f"{result.total} g")
    slip_rows(result.slips, screen)
    ways = slip_commands(result.short, result.slips)
    left = result.open_lines
    if left:
        screen.row("open", ", ".join(line.ingredient for line in left))
        then(screen, [*ways, f"labbook weigh {result.short}"])
    elif ways:
        then(screen, ways)
    else:
        then(screen, ['labbook note "A 72 B 71"', f"labbook close {result.short}"])
    return screen.text()


def noted_screen(result: Noted, screen: Screen) -> str:
    """After `note`: repeated back."""
    group_rows(screen, result.short, result.what)
    group_rows(screen, "note", result.remarks)
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
    group_rows(
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
    screen.row("now", result.now or "nobody knows")
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
