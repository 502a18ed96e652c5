"""Screens of formulas: shown, listed, saved, logged."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.formula import Step
from labbook.model.ids import short_commit
from labbook.model.results.common import BatchLabel, FormulaState, Next
from labbook.model.results.formulas import (
    FormulaShown,
    FormulaWritten,
    Log,
    Restored,
    Saved,
    ShownLine,
    Undone,
)
from labbook.model.versions import Version
from labbook.show.layout import Column, Screen
from labbook.show.parts import batch_words, counted, plural, then


def written_screen(result: FormulaWritten, screen: Screen) -> str:
    """After `formula new`."""
    parent = f", from {result.parent}" if result.parent else ""
    screen.title(f"{result.code}  {result.title}{parent}")
    screen.blank()
    screen.row("file", result.path)
    if result.sheets:
        screen.row("sheets", f"{plural(len(result.sheets), 'ingredient sheet')} came with it")
    if result.unknown:
        screen.row("unknown", f"no sheet for {', '.join(result.unknown)}; that is no error")
    then(
        screen,
        [
            Next(f"labbook edit {result.code}", "change it to what you want to make"),
            Next(f"labbook check {result.code}", "does it add up?"),
            Next(f"labbook make {result.code}", "numbers it and opens a batch"),
        ],
    )
    return screen.text()


def list_screen(states: Sequence[FormulaState], screen: Screen) -> str:
    """`formula list`."""
    screen.title("Formulas", str(len(states)))
    screen.blank()
    for state in states:
        standing = f"@{state.number}" if state.seen and not state.changed else state.words
        screen.row(state.code, f"{state.title}, {state.emulsion}; {standing}")
        batches = plural(state.batches, "batch", "batches")
        unseen = f"versions not known without git, {batches}"
        screen.row("", counted(state.versions, state.batches) if state.seen else unseen)
    if not states:
        screen.row("", "No formula yet.")
    then(
        screen,
        ["labbook formula new HC --type water-in-oil"]
        if not states
        else [f"labbook show {states[0].code}", f"labbook log {states[0].code}"],
    )
    return screen.text()


def _percent(line: ShownLine) -> str:
    if not line.percent:
        return "q.s." if line.qs else "unknown"
    return line.percent


def _words(line: ShownLine) -> str:
    name = line.ingredient
    if line.qs:
        name += ", q.s."
    if line.adjust:
        name += f", {line.adjust}"
    if line.role and line.role not in ("water", "oil") and not line.adjust:
        name += f", {line.role}"
    return name


def lines_table(lines: Sequence[ShownLine], screen: Screen, *, masses: bool = False) -> None:
    """The lines of a formula, phases in the margin."""
    rows = []
    phase = ""
    for line in lines:
        margin = "" if line.phase == phase else f"phase {line.phase}"
        phase = line.phase
        cells = [_words(line), _percent(line), "%" if line.percent else ""]
        if masses:
            cells += [line.mass, "g" if line.mass else ""]
        rows.append((margin, cells))
    columns = [Column("", "left"), Column("", "point"), Column("", "unit")]
    if masses:
        columns += [Column("", "point"), Column("", "unit")]
    screen.table(columns, rows)


def step_words(step: Step) -> str:
    """A step of the method in one line."""
    head = step.do
    if step.add:
        head += f" {step.add} into {step.into}" if step.into else f" {step.add}"
    elif step.into:
        head += f" {step.into}"
    parts: list[str] = []
    if step.set:
        parts.append(", ".join(f"{phase} to {value}" for phase, value in step.set.items()))
    for word, value in (
        ("at", step.at), ("below", step.below), ("hold", step.hold), ("over", step.over),
        ("for", step.for_), ("stir until", step.stir_until),
    ):  # fmt: skip
        if value is not None:
            parts.append(f"{word} {value}")
    if step.rate:
        parts.append(step.rate)
    if step.with_:
        parts.append(f"with {step.with_}")
    if step.speed:
        parts.append(f"speed {step.speed}")
    if step.then_mix:
        parts.append(f"then mix {step.then_mix}")
    if step.set and not (step.add or step.into):
        head, *parts = f"{head} {parts[0]}", *parts[1:]
    text = ", ".join([head, *parts])
    return f"{text}: {step.note}" if step.note else text


def shown_screen(result: FormulaShown, screen: Screen) -> str:
    """`show HC`."""
    formula = result.formula
    standing = result.name if result.state is None or "@" in result.name else result.state.words
    screen.title(f"{formula.code}  {formula.title}, {formula.emulsion}", standing)
    screen.blank()
    lines_table(result.lines, screen)
    totals = [
        f"{phase}{f' ({name})' if name else ''} {percent or 'unknown'} %"
        for phase, name, percent in result.phase_totals
    ]
    screen.row("totals", f"{', '.join(totals)}; together {result.total} %")
    figures_table(result, screen)
    for number, finding in enumerate(result.findings):
        screen.row("note" if not number else "", finding)
    unknown = [line.ingredient for line in result.lines if not line.known]
    if unknown:
        screen.row("unknown", f"no sheet for {', '.join(dict.fromkeys(unknown))}")
    if formula.method:
        screen.blank()
        for number, step in enumerate(formula.method):
            screen.row("method" if not number else "", f"{step.id}  {step_words(step)}")
    for target in formula.targets:
        span = " to ".join(f"{v:f}" for v in (target.from_, target.to) if v is not None)
        unit = f" {target.unit}" if target.unit else ""
        screen.row("target", f"{target.reading} of the {target.of}: {span}{unit}")
    if formula.notes:
        screen.row("notes", formula.notes.strip())
    if result.batches:
        screen.blank()
        for number, batch in enumerate(result.batches[:8]):
            screen.row("batches" if not number else "", _batch_line(batch))
        if len(result.batches) > 8:
            screen.row("", f"and {len(result.batches) - 8} more")
    then(screen, [f"labbook log {formula.code}", f"labbook make {result.name}"])
    return screen.text()


def figures_table(result: FormulaShown, screen: Screen) -> None:
    """What a formula comes to, and in one sentence what isn't known of it."""
    told = [one for one in result.figures if one.told]
    if told:
        screen.blank()
        rows = [("", [one.what, one.text, one.unit]) for one in told]
        columns = (Column(), Column("", "point"), Column("", "unit"))
        screen.table(columns, rows, margin="which makes")
    if result.not_known:
        screen.row("unknown", "; ".join(result.not_known))


def _batch_line(batch: BatchLabel) -> str:
    return f"{batch.short}  {batch.made}  {batch.of}, {batch_words(batch)}"


def saved_screen(result: Saved, screen: Screen) -> str:
    """After `save`."""
    name = f"{result.code}@{result.number}"
    if result.new:
        screen.title(f"{name} saved")
        for number, line in enumerate(result.what):
            screen.row("changed" if not number else "", line)
        if result.same_as:
            screen.row("same", f"its content is that of {result.code}@{result.same_as}")
    elif result.committed:
        screen.title(f"Kept; the content is still {name}")
    else:
        screen.title(f"{name} as before; nothing to save")
    if result.sheets:
        screen.row("sheets", f"came with it: {', '.join(result.sheets)}")
    for number, finding in enumerate(result.findings):
        screen.row("note" if not number else "", finding)
    if result.new:
        then(screen, [f"labbook make {result.code}", f"labbook log {result.code}"])
    return screen.text()


def restored_screen(result: Restored, screen: Screen) -> str:
    """After `restore`."""
    name = f"{result.code}@{result.number}"
    if result.already:
        screen.title(f"{result.code} has that content already: it is {name}")
        return screen.text()
    screen.title(f"{name} has the content of {result.from_name}; nothing was taken out of history")
    then(screen, [f"labbook show {result.code}", "labbook undo"])
    return screen.text()


def undone_screen(result: Undone, screen: Screen) -> str:
    """After `undo`."""
    screen.title("Taken back, by a new commit")
    screen.row("undone", result.subject)
    for number, path in enumerate(result.paths):
        screen.row("files" if not number else "", path)
    screen.row("", f"It is still in history: git show {short_commit(result.commit)}")
    return screen.text()


def log_screen(result: Log, screen: Screen) -> str:
    """`log HC`."""
    state = result.state
    screen.title(
        f"{state.code}  {state.title}, {state.emulsion}", counted(state.versions, state.batches)
    )
    screen.blank()
    if state.changed:
        words = state.words
        screen.row(
            "today", words if not result.changed else f"{words}: {'; '.join(result.changed)}"
        )
        screen.blank()
    asked = _latest_failed(result)
    for entry in result.entries:
        version = entry.version
        said = entry.said or ("first version" if not entry.what else "")
        quoted = f'"{said}"' if said and said != "first version" else said
        same = f"  same as @{version.same_as}" if version.same_as else ""
        day = version.when.date().isoformat()
        screen.row(f"@{version.number}", f"{day}  {quoted}{same}".rstrip())
        for line in entry.what:
            if line != said:
                screen.row("", line)
        if version.clashes:
            screen.row("", _one_number(version))
        for batch in entry.batches:
            screen.row(f"  {batch.short}", _logged_words(batch, asked))
        screen.blank()
    for number, batch in enumerate(result.loose_batches):
        told = f"{batch.short}  pinned to @{batch.version}, which history doesn't hold"
        if batch.trial_of is not None:
            told = f"{batch.short}  {batch.of}; {_logged_words(batch, asked)}"
        screen.row("apart" if not number else "", told)
    if any(batch.outcome for entry in result.entries for batch in entry.batches):
        screen.row("", "Batches by their room jar; other conditions where they failed.")
    numbers = [entry.version.number for entry in result.entries]
    pair = (numbers[1], numbers[0]) if len(numbers) > 1 else None
    if asked and asked.version + 1 in numbers:
        pair = (asked.version, asked.version + 1)
    commands = [f"labbook diff {state.code} {pair[0]} {pair[1]}"] if pair else []
    commands.append(f"labbook why {asked.short.lower()}" if asked else f"labbook make {state.code}")
    then(screen, commands)
    return screen.text()


def _one_number(version: Version) -> str:
    """That two branches gave different contents the same number, and which commits to look at."""
    commits = [short_commit(commit) for commit in (version.commit, *version.clashes)]
    word = "both" if len(commits) == 2 else "all"
    told = f"{', '.join(commits[:-1])} and {commits[-1]}"
    return (
        f"{told} {word} have the number {version.number}, and differ: "
        f"labbook diff {version.code}@{commits[0]} {version.code}@{commits[-1]}"
    )


def _latest_failed(result: Log) -> BatchLabel | None:
    """The latest batch whose own jar failed: the one that a person will ask about."""
    batches = [batch for entry in result.entries for batch in entry.batches]
    failed = [batch for batch in batches if batch.outcome.startswith("failed")]
    return max(failed, key=lambda batch: batch.made, default=None)


def _logged_words(batch: BatchLabel, asked: BatchLabel | None) -> str:
    """A batch in the log: what became of it, what is due, where the making departed."""
    words = batch_words(batch)
    if asked is not None and batch.id == asked.id:
        words = words.replace("failed", "FAILED", 1)
    return "; ".join(part for part in (words, batch.due, *batch.departures) if part)
