"""The bench sheet in Markdown: lines in the order of the file, with room to write by hand."""

from __future__ import annotations

from labbook.model.results.making import BatchShown
from labbook.show.batch import done_words
from labbook.show.formulas import step_words
from labbook.show.layout import clean
from labbook.trade.standing import standing

ROOM = "........"

CAUTIONS = (
    "Hot oil and water burn; water overheated in a microwave can boil up without warning.",
    "Unplug the blender before touching its blade.",
    "Local rules and the makers' safety sheets come first.",
)


def cell(text: str) -> str:
    """Text for a cell of a Markdown table: nothing in it can end the cell or start markup."""
    safe = clean(text)
    for char in "\\`*_{}[]<>|#":
        safe = safe.replace(char, f"\\{char}")
    return safe


def sheet_markdown(result: BatchShown) -> str:
    """The sheet of a batch; what was recorded stands where it belongs."""
    batch = result.batch
    pin = batch.formula
    out = [
        f"# {batch.short}: {cell(result.title)}",
        "",
        f"{batch.id}, {pin.name}, {batch.size}",
        "",
    ]
    if batch.aim:
        out += [f"Aim: {cell(batch.aim)}", ""]
    out += ["| phase | ingredient | % | target g | weighed g | lot |", "|---|---|--:|--:|--:|---|"]
    for line in result.bench.lines:
        name = line.ingredient + (", q.s." if line.qs else "")
        name += f", {line.adjust}" if line.adjust else ""
        out.append(
            f"| {line.phase} | {cell(name)} | {line.percent or '?'} | {line.target or '?'} |"
            f" {line.weighed or ROOM} | {cell(line.lot) or ROOM} |"
        )
    for line in result.bench.unplanned:
        out.append(
            f"| {line.phase} | {cell(line.ingredient)}, added | | | {line.weighed} | {line.lot} |"
        )
    if batch.steps:
        out += ["", "| step | what | done: °C per phase, minutes, speed |", "|---|---|---|"]
        for step in standing(batch).steps:
            words = step_words(step.plan) if step.plan else step.id
            done = cell(done_words(step)) if step.done else ROOM * 3
            out.append(f"| {step.id} | {cell(words)} | {done} |")
    out += ["", f"Room: {ROOM} °C, {ROOM} % humidity", "", f"pH: {ROOM} of {ROOM} at {ROOM} °C", ""]
    out += [f"Yield: {ROOM} g", "", f"What differed from the method: {ROOM * 6}", ""]
    out += [f"- {caution}" for caution in CAUTIONS]
    return "\n".join(out) + "\n"
