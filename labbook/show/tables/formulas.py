"""Formulas, their versions, lines and steps as tables."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.model.fields import QS
from labbook.model.formula import Step
from labbook.show.tables.held import Held
from labbook.show.tables.shape import Column, Row, Table, Value, amount, at, link, measured, moment

STEP_COLUMNS = (
    Column("act", "what is done: heat, combine, cool …"),
    Column("set_points", "set points by phase: `A 72 °C, B 72 °C`"),
    *measured("hold", "how long the set point is held", "time"),
    Column("added", "what is added"),
    Column("added_into", "what it is added into"),
    Column("rate", "how fast it is poured, in words"),
    *measured("poured_for", "for how long it is poured", "time"),
    Column("tool", "the tool that the method names"),
    Column("speed", "its speed, as written"),
    *measured("lasts", "how long", "time"),
    *measured("then_mix", "how long it is mixed afterwards", "time"),
    *measured("stir_until", "the temperature until which it is stirred", "temperature"),
    *measured("at_temperature", "the temperature at which it is done", "temperature"),
    *measured("below_temperature", "the temperature below which it is done", "temperature"),
    Column("note", "what else the method says"),
)


def step_cells(step: Step) -> dict[str, Value]:
    """The cells of a step as planned."""
    return {
        "act": step.do,
        "set_points": ", ".join(f"{phase} {value}" for phase, value in (step.set or {}).items())
        or None,
        "added": step.add,
        "added_into": step.into,
        "rate": step.rate,
        "tool": step.with_,
        "speed": step.speed,
        "note": step.note,
        **amount("hold", step.hold),
        **amount("poured_for", step.over),
        **amount("lasts", step.for_),
        **amount("then_mix", step.then_mix),
        **amount("stir_until", step.stir_until),
        **amount("at_temperature", step.at),
        **amount("below_temperature", step.below),
    }


def _formulas(held: Held) -> Iterator[Row]:
    for code in held.codes:
        formula = held.formulas.get(code)
        numbered = held.versions.get(code, ())
        known = formula or (numbered[-1].formula if numbered else None)
        kind = "in the notebook" if formula else "in history only" if known else "named only"
        row: dict[str, Value] = {"formula": code, "known": kind, "versions": len(numbered)}
        if known is not None:
            row |= {
                "id": known.id,
                "title": known.title,
                "emulsion": known.emulsion,
                "use": known.use,
                "began_as": known.from_,
                "protocol": known.protocol,
                "public": known.public,
                "notes": known.notes,
                **amount("batch_size", known.batch_size),
            }
        yield row


def _versions(held: Held) -> Iterator[Row]:
    for content in held.contents:
        row: dict[str, Value] = {
            "version": content.name,
            "formula": content.code,
            "kind": content.kind,
            "digest": content.digest or None,
        }
        if content.formula is not None:
            row |= {"emulsion": content.formula.emulsion, "use": content.formula.use}
        if (numbered := content.version) is not None:
            row |= {
                "number": numbered.number,
                "same_as": f"{content.code}@{earlier}" if (earlier := numbered.same_as) else None,
                "saying": numbered.subject.removeprefix(f"{numbered.name}: ") or None,
                "git_commit": numbered.commit,
                "other_contents": len(numbered.clashes),
                **at("saved", numbered.when),
            }
        yield row


def _lines(held: Held) -> Iterator[Row]:
    for content in held.contents:
        if content.formula is None:
            continue
        for position, (phase, line) in enumerate(content.formula.lines, start=1):
            filling = line.percent is QS
            yield {
                "version": content.name,
                "position": position,
                "phase": phase.phase,
                "phase_name": phase.name,
                "ingredient": held.id_of(line.ingredient),
                "written": line.ingredient,
                "percent": line.percent if line.percent is not QS else None,
                "qs": filling,
                "active_percent": line.active_percent,
                "adjust": line.adjust,
                "role": line.role,
                "note": line.note,
            }


def _method(held: Held) -> Iterator[Row]:
    for content in held.contents:
        for position, step in enumerate(content.formula.method if content.formula else (), start=1):
            yield {
                "version": content.name,
                "step": step.id,
                "position": position,
                **step_cells(step),
            }


FORMULAS = Table(
    "formulas",
    "One row for each formula, as its file says today.",
    (
        Column("formula", "the formula's code"),
        Column("known", "`in the notebook`, `in history only`, or `named only` by a batch"),
        Column("id", "its permanent id; the code may change"),
        Column("title", "its title"),
        Column("versions", "how many versions it has", "integer"),
        Column("emulsion", "the type that it is meant to be"),
        Column("use", "leave-on or rinse-off"),
        Column("began_as", "the version of another formula that it began as"),
        *measured("batch_size", "its usual batch", "mass"),
        Column("protocol", "how its jars are looked at"),
        Column("public", "what of it is published"),
        Column("notes", "the maker's notes"),
    ),
    ("formula",),
    _formulas,
)
VERSIONS = Table(
    "versions",
    "One row for each content of a formula: its versions, today's where it is none yet, trials.",
    (
        Column("version", "`SBC@3`; `SBC@today`; `trial` and the batch"),
        Column("formula", "its formula"),
        Column("number", "the version's number", "integer"),
        Column("kind", "`version`, `today`, `trial`, or `named only` by a batch"),
        Column("digest", "SHA-256 of the content: equal contents have equal ones"),
        Column("same_as", "an earlier version with the same content"),
        Column("emulsion", "the type that it is meant to be"),
        Column("use", "leave-on or rinse-off"),
        *moment("saved", "when it was saved"),
        Column("saying", "what was said when it was saved"),
        Column("git_commit", "the commit that brought it"),
        Column("other_contents", "other contents under the same number (0: none)", "integer"),
    ),
    ("version",),
    _versions,
    (link("formula", "formulas"), link("same_as", "versions", "version")),
)
LINES = Table(
    "lines",
    "One row for each ingredient of a content.",
    (
        Column("version", "the content"),
        Column("position", "its place in the formula, from 1", "integer"),
        Column("phase", "the phase's letter"),
        Column("phase_name", "the phase's name"),
        Column("ingredient", "the ingredient, by its permanent id"),
        Column("written", "its name as the formula writes it"),
        Column("percent", "percent by weight; blank for q.s.", "number"),
        Column("qs", "whether this line fills up to 100 %", "boolean"),
        Column("active_percent", "percent of active matter, where that was meant", "number"),
        Column("adjust", "what the line is added to reach; percent is then what is expected"),
        Column("role", "what it does here"),
        Column("note", "what else the line says"),
    ),
    ("version", "position"),
    _lines,
    (link("version", "versions"), link("ingredient", "ingredients")),
)
METHOD = Table(
    "method",
    "One row for each step of a content's method.",
    (
        Column("version", "the content"),
        Column("step", "the step's id"),
        Column("position", "its place in the method, from 1", "integer"),
        *STEP_COLUMNS,
    ),
    ("version", "step"),
    _method,
    (link("version", "versions"),),
)
TABLES = (FORMULAS, VERSIONS, LINES, METHOD)
