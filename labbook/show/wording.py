"""Differences in a few short lines, for a log, a commit message, and the first screen."""

from __future__ import annotations

from labbook.evidence.difference import Difference, LineChange
from labbook.evidence.method import StepChange


def short_lines(difference: Difference) -> tuple[str, ...]:
    """A version's difference as a maker would tell it, deliberate changes first.

    `beeswax 1.0 → 1.5 %, water takes it up`; `tocopherol from phase A to C`; `combine: rate poured
    → slow`. Empty where nothing differs.
    """
    balancing = [line for line in difference.lines if line.kind == "balancing"]
    acts = [line for line in difference.lines if line.kind != "balancing"]
    told = [_line(line) for line in acts]
    if told and balancing:
        deliberate = [line for line in acts if line.points]
        names = " and ".join(line.ingredient for line in balancing)
        takes = {0: "takes it up", 1: "takes it up", 2: "takes both up"}
        word = takes.get(len(deliberate), "takes them up")
        last = max((i for i, line in enumerate(acts) if line.points), default=len(told) - 1)
        told[last] += f", {names} {word}"
    elif balancing:
        told += [_line(line) for line in balancing]
    told += [_step(step) for step in difference.method]
    told += [
        f"target {target.reading} of the {target.of}: {target.change}"
        for target in difference.targets
    ]
    told += [f"{other.what} changed" for other in difference.other]
    return tuple(told)


def _amount(text: str | None) -> str:
    return "unknown" if text is None else text


def _line(line: LineChange) -> str:
    before, after = _amount(line.from_text), _amount(line.to_text)
    if line.change == "added":
        return f"{line.ingredient} {after} % in"
    if line.change == "removed":
        return f"{line.ingredient} {before} % out"
    if line.change == "substituted":
        return f"{line.from_ingredient} {before} % out, {line.to_ingredient} {after} % in"
    if line.change == "moved":
        moved = f"{line.ingredient} from phase {line.from_phase} to {line.to_phase}"
        return moved if not line.points else f"{moved}, {before} → {after} %"
    if line.from_percent == line.to_percent:
        return f"{line.ingredient}: {'fills up' if line.qs else 'typed amount'} now"
    return f"{line.ingredient} {before} → {after} %"


def _step(step: StepChange) -> str:
    if step.change == "added":
        return f"{step.do} ({step.step}) new"
    if step.change == "removed":
        return f"{step.do} ({step.step}) left out"
    moved = "earlier or later" if step.change == "moved" else ""
    keys = [f"{key.key} {key.before or '-'} → {key.after or '-'}" for key in step.keys]
    return f"{step.do}: {', '.join([*([moved] if moved else []), *keys])}"
