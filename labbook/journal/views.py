"""What the templates are handed: plain values, ready to be set."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from labbook.evidence.batches import BatchDifference
from labbook.evidence.difference import Difference
from labbook.evidence.items import NONE_WRITTEN, Item
from labbook.journal.markdown import Md, day, md
from labbook.journal.names import batch_path, version_path
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.journal.teller import Teller
from labbook.model.formula import Formula, Target
from labbook.model.moments import day_of, in_order
from labbook.model.results.formulas import ShownLine
from labbook.model.versions import Version
from labbook.show import version_parts
from labbook.show.differences import names_of
from labbook.show.formulas import step_words
from labbook.show.parts import plural
from labbook.show.wording import short_lines

View = dict[str, Any]


# Formulas -----------------------------------------------------------------------------------------


def content_view(
    teller: Teller, formula: Formula, path_of: Callable[[str], str] = lambda name: ""
) -> View:
    """A content: its table, its steps, its targets.

    Args:
        teller: the journal.
        formula: the content.
        path_of: the page of an ingredient by its name; empty where it has none.
    """
    rows = []
    phase = ""
    names = {one.phase: one.name or "" for one in formula.phases}
    for line in teller.lines(formula):
        rows.append(
            {
                "phase": "" if line.phase == phase else line.phase,
                "name": "" if line.phase == phase else names.get(line.phase, ""),
                "ingredient": line.title or line.ingredient,
                "path": path_of(line.ingredient),
                "remark": _remark(line),
                "percent": line.percent or ("q.s." if line.qs else "unknown"),
            }
        )
        phase = line.phase
    return {
        "rows": rows,
        "total": teller.total(formula),
        "steps": [step_words(step) for step in formula.method],
        "targets": [_target(target) for target in formula.targets],
    }


def _remark(line: ShownLine) -> str:
    words = ["q.s."] if line.qs else []
    if line.adjust:
        words.append(line.adjust)
    elif line.role and line.role not in ("water", "oil", "solvent"):
        words.append(line.role)
    return ", ".join(words)


def _target(target: Target) -> str:
    unit = f" {target.unit}" if target.unit else ""
    if target.from_ is not None and target.to is not None:
        span = f"{target.from_:f} to {target.to:f}"
    elif target.from_ is not None:
        span = f"at least {target.from_:f}"
    else:
        span = "" if target.to is None else f"at most {target.to:f}"
    return f"{target.reading} of the {target.of}: {span}{unit}".rstrip(": ")


def version_view(teller: Teller, formula: PublicFormula, version: Version) -> View:
    """A version in the story: day, words, what changed, what became of its batches."""
    before = teller.before(formula, version)
    made = [b for b in formula.batches if b.batch.formula.version == version.number]
    return {
        "name": version.name,
        "number": version.number,
        "path": version_path(version.code, version.number),
        "day": day(version.when.date()),
        "said": version.subject,
        "first": before is None,
        "what": list(short_lines(teller.difference(before, version))) if before else [],
        "same_as": version.same_as,
        "batches": [batch_line(teller, one) for one in reversed(made)],
        "hidden": hidden_words(formula.hidden.get(version.number, 0)),
    }


def hidden_words(number: int) -> str:
    """`2 batches are not shown`; empty for none."""
    if not number:
        return ""
    return f"{plural(number, 'batch', 'batches')} {'is' if number == 1 else 'are'} not shown"


def batch_line(teller: Teller, made: PublicBatch) -> View:
    """A batch in a list: its name, its page, its day, what became of it."""
    batch = made.batch
    return {
        "short": batch.short,
        "id": batch.id,
        "path": batch_path(batch.id),
        "version": batch.formula.name,
        "day": day(day_of(batch.made)),
        "became": teller.headline(made),
        "failed": teller.headline(made).startswith("failed"),
    }


def outcome_view(teller: Teller, formula: PublicFormula) -> View:
    """Versions and their batches against the conditions in which they were looked at."""
    conditions = teller.conditions(formula.batches)
    rows = []
    version = -1
    order = sorted(
        formula.batches,
        key=lambda one: (one.batch.formula.version, in_order(one.batch.made), one.batch.id),
        reverse=True,
    )
    for made in order:
        number = made.batch.formula.version
        rows.append(
            {
                "version": "" if number == version else f"@{number}" if number else "trial",
                "short": made.batch.short,
                "path": batch_path(made.batch.id),
                "cells": [unbroken(cell) for cell in teller.cells(made, conditions)],
            }
        )
        version = number
    return {
        "conditions": conditions,
        "rows": rows,
        "hidden": hidden_words(sum(formula.hidden.values())),
    }


def unbroken(text: str) -> Md:
    """A short cell that a narrow page doesn't break."""
    return Md(md(text).replace(" ", "\u00a0").replace("-", "\u2011"))


# Differences --------------------------------------------------------------------------------------


def difference_view(found: Difference) -> View:
    """What differs between two versions."""
    rows = []
    for line in version_parts.in_makers_order(found.lines):
        word, (name, phase, before, after, _, points) = version_parts.line_row(line)
        rows.append((word, name, phase, before, after, points))
    method = []
    for step in found.method:
        keys = "; ".join(f"{key} {text}" for key, text in version_parts.step_lines(step))
        method.append(f"{version_parts.step_name(step)} {keys}".rstrip(" :"))
    return {
        "empty": found.empty,
        "heads": version_parts.short_names(found.from_name, found.to_name),
        "rows": rows,
        "same": version_parts.counted(found.same_lines, "other") if found.same_lines else "",
        "readings": [version_parts.explanation_text(one) for one in found.readings],
        "method": method,
        "targets": [version_parts.target_text(one) for one in found.targets],
        "also": [f"{one.what}: {_side(one.before)} → {_side(one.after)}" for one in found.other],
        "made": [
            (one.what, one.text(one.before) or "", one.text(one.after) or "", one.unit)
            for one in found.told
        ],
    }


def _side(value: object) -> str:
    return "none" if value is None else str(value)


def batches_view(teller: Teller, a: PublicBatch, b: PublicBatch) -> View:
    """What differs between two batches."""
    found: BatchDifference = teller.batch_difference(a, b)
    items = [*(i for i in found.items if i.word != "follows")]
    items += [i for i in found.items if i.word == "follows"]
    method = difference_view(found.versions)["method"] if found.versions else []
    return {
        "names": names_of(found),
        "batches": [batch_line(teller, a), batch_line(teller, b)],
        "rows": [(i.word, i.what, i.a or "", i.b or "", i.unit) for i in items if not _is_long(i)],
        "long": [_said_of(i, names_of(found)) for i in items if _is_long(i)],
        "planned": method,
        "unknown": [_unknown(item, names_of(found)) for item in found.unrecorded],
    }


def _said_of(item: Item, names: tuple[str, str]) -> str:
    """What is too long for a table: each batch with its own words, where it has any."""
    sides = zip(names, (item.a, item.b), strict=True)
    told = [f"{name}, {text}" for name, text in sides if text and text != NONE_WRITTEN]
    return f"{item.what} of {'; '.join(told)}"


def _is_long(item: Item) -> bool:
    longest = max(len(item.a or ""), len(item.b or ""))
    return longest > 24 and not (item.unit or item.a_value is not None)


def _unknown(item: Item, names: tuple[str, str]) -> str:
    lacking, known, text = (
        (names[0], names[1], item.b) if item.a is None else (names[1], names[0], item.a)
    )
    return f"{item.what}: not written down for {lacking}; {known} {text}"
