"""Jars, where they stood, the looks at them, and what became of them, as tables."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.evidence.outcomes import outcomes_of
from labbook.evidence.sightings import all_looks
from labbook.model.results.looking import BatchOutcome, JarOutcome
from labbook.show.tables.held import Held
from labbook.show.tables.shape import (
    Column,
    Link,
    Row,
    Table,
    Value,
    amount,
    at,
    link,
    measured,
    moment,
    typed,
)

OF_JAR = Link(("batch", "jar"), "jars", ("batch", "jar"))


def _jars(held: Held) -> Iterator[Row]:
    for name in held.every_batch:
        batch, jars = held.batches.get(name), held.jars.get(name)
        # Of two entries for one jar the last stands.
        written = {held.jar(batch, jar.jar): jar for jar in jars.jars} if jars else {}
        for jar, known in held.jar_names(name):
            row: dict[str, Value] = {"batch": name, "jar": jar, "known": known}
            if (one := written.get(jar)) is not None:
                row |= {
                    "entry": one.id,
                    "container": one.container,
                    "given_to": one.given_to,
                    "note": one.note,
                    **amount("mass", one.mass),
                    **typed("fill_level", one.fill_level),
                    **at("filled", one.filled),
                }
            yield row


def _stays(held: Held) -> Iterator[Row]:
    for name in held.every_batch:
        batch, jars = held.batches.get(name), held.jars.get(name)
        for one in jars.stays if jars else ():
            yield {
                "batch": name,
                "entry": one.id,
                "jar": held.jar(batch, one.jar),
                "condition": one.condition,
                "place": one.place,
                **at("since", one.since),
            }


def _done(held: Held) -> Iterator[Row]:
    for name in held.every_batch:
        batch, jars = held.batches.get(name), held.jars.get(name)
        for one in jars.done if jars else ():
            yield {
                "batch": name,
                "entry": one.id,
                "jar": held.jar(batch, one.jar),
                "why": one.why,
                **at("time", one.time),
            }


def _looks(held: Held) -> Iterator[Row]:
    for name in held.every_batch:
        batch, stability = held.batches.get(name), held.stability.get(name)
        told = {one.of for one in stability.corrections} if stability else set()
        for one in all_looks(stability):
            yield {
                "batch": name,
                "look": one.id,
                "jar": held.jar(batch, one.jar),
                "cycle": one.cycle,
                "condition": one.condition,
                "grade": one.grade,
                "modes": "; ".join(one.modes) or None,
                "extent": one.extent,
                "reading": one.reading,
                "value": one.value,
                "unit": one.unit,
                "by": one.by,
                "photo": one.photo,
                "who": one.who,
                "known_from": one.known_from,
                "struck": one.struck,
                "corrected": one.id in told,
                "note": one.note,
                **at("time", one.time),
                **amount("planned", one.planned),
                **amount("layer", one.layer),
                **amount("rest", one.rest),
                **amount("sample_temperature", one.at),
                **typed("speed", one.speed),
                **amount("radius", one.radius),
                **amount("spun", one.spun),
            }


def _modes(held: Held) -> Iterator[Row]:
    for name in held.every_batch:
        for one in all_looks(held.stability.get(name)):
            for mode in dict.fromkeys(one.modes):
                yield {"batch": name, "look": one.id, "mode": mode}


def _outcomes(held: Held) -> Iterator[Row]:
    for outcome in _every_outcome(held):
        yield {
            "while_making": outcome.while_making,
            "wanted_until": outcome.wanted_until,
            **_outcome(outcome),
        }


def _jar_outcomes(held: Held) -> Iterator[Row]:
    for outcome in _every_outcome(held):
        batch = held.batches[outcome.batch]
        for one in outcome.by_jar:
            yield {
                "jar": held.jar(batch, one.jar),
                "ended_by": one.ended_by or None,
                "last_look": one.last_look,
                **_outcome(one),
            }


def _every_outcome(held: Held) -> Iterator[BatchOutcome]:
    by_id = {formula.id: formula for formula in held.formulas.values()}
    for batch in held.made:
        yield from outcomes_of(
            batch,
            held.jars.get(batch.id),
            held.stability.get(batch.id),
            by_id.get(batch.formula.id),
        )


def _outcome(one: BatchOutcome | JarOutcome) -> dict[str, Value]:
    return {
        "batch": one.batch,
        "condition": one.condition,
        "failure_group": one.group,
        "unit": one.unit,
        "state": one.state,
        "last_intact": one.last_intact,
        "first_failed": one.first_failed,
        "modes": "; ".join(one.modes) or None,
        "grade": one.grade,
        "worst_grade": one.worst_grade,
    }


OUTCOME_COLUMNS = (
    Column("condition", "where it stood: room, oven at 40 °C, freeze-thaw …"),
    Column("failure_group", "the group of failure that was watched for"),
    Column("unit", "what last_intact and first_failed count: days or cycles"),
    Column("state", "`intact`, `failed`, or `not watched`; intact holds until last_intact only"),
    Column("last_intact", "the last age at which it was seen intact; blank: never", "number"),
    Column("first_failed", "the first age at which it was seen failed; blank: never", "number"),
    Column("modes", "what was seen of the failure, `; ` between"),
    Column("grade", "the grade of the first look that failed", "integer"),
    Column("worst_grade", "the worst grade of all looks that count", "integer"),
)
JARS = Table(
    "jars",
    "One row for each jar, and for the bulk where it was looked at.",
    (
        Column("batch", "the batch"),
        Column("jar", "the jar's number, or `bulk`"),
        Column("known", "`written down`, `bulk`, or `named only` by a look or a stay"),
        Column("entry", "its id"),
        Column("container", "what it is"),
        *measured("mass", "what is in it", "mass"),
        *moment("filled", "when it was filled"),
        *measured("fill_level", "how full it is", ""),
        Column("given_to", "who has it", private=True),
        Column("note", "what else was written; may name a person", private=True),
    ),
    ("batch", "jar"),
    _jars,
    (link("batch", "batches"),),
)
STAYS = Table(
    "stays",
    "One row for each place where a jar stood, from when on.",
    (
        Column("batch", "the batch"),
        Column("entry", "its id"),
        Column("jar", "the jar"),
        Column("condition", "under which condition"),
        Column("place", "where; may be somebody's home", private=True),
        *moment("since", "from when on"),
    ),
    ("batch", "entry"),
    _stays,
    (link("batch", "batches"), OF_JAR),
)
DONE = Table(
    "jars_done",
    "One row for each jar of which enough was seen where it stood.",
    (
        Column("batch", "the batch"),
        Column("entry", "its id"),
        Column("jar", "the jar"),
        *moment("time", "from when on"),
        Column("why", "the reason"),
    ),
    ("batch", "entry"),
    _done,
    (link("batch", "batches"), OF_JAR),
)
LOOKS = Table(
    "looks",
    "One row for each look at a jar, struck ones too, as it stands after corrections.",
    (
        Column("batch", "the batch"),
        Column("look", "its id"),
        Column("jar", "the jar, or `bulk`"),
        *moment("time", "when"),
        *measured("planned", "the age that the protocol asked for", "time"),
        Column("cycle", "the cycle of freezing and thawing", "integer"),
        Column("condition", "under which condition, where the look says it"),
        Column("grade", "0 nothing seen to 4; blank is not graded", "integer"),
        Column("modes", "what was seen, `; ` between; one row each in look_modes"),
        Column("extent", "how much, as written"),
        *measured("layer", "the height of a layer", "length"),
        *measured("rest", "how long the sample had stood", "time"),
        *measured("sample_temperature", "the sample's temperature", "temperature"),
        *measured("speed", "how fast a sample was spun", ""),
        *measured("radius", "from the axis of the centrifuge to the sample", "length"),
        *measured("spun", "how long it was spun", "time"),
        Column("reading", "what was read"),
        Column("value", "the figure as typed", "number"),
        Column("unit", "its unit"),
        Column("by", "how it was taken; may name a person", private=True),
        Column("photo", "the picture's file"),
        Column("who", "who looked", private=True),
        Column("known_from", "`paper` or `memory` where it was written down later"),
        Column("struck", "why it was struck"),
        Column("corrected", "whether a correction touches it", "boolean"),
        Column("note", "what else was written"),
    ),
    ("batch", "look"),
    _looks,
    (link("batch", "batches"), OF_JAR),
)
MODES = Table(
    "look_modes",
    "One row for each kind of failure seen in a look.",
    (
        Column("batch", "the batch"),
        Column("look", "the look"),
        Column("mode", "what was seen, by the notebook's list of failures"),
    ),
    ("batch", "look", "mode"),
    _modes,
    (Link(("batch", "look"), "looks", ("batch", "look")),),
)
OUTCOMES = Table(
    "outcomes",
    "One row for each batch, condition and group of failure: between which ages it failed.",
    (
        Column("batch", "the batch"),
        *OUTCOME_COLUMNS,
        Column("while_making", "whether it was seen on the bulk, at age 0", "boolean"),
        Column("wanted_until", "how long the formula asks it to hold", "number"),
    ),
    ("batch", "condition", "failure_group", "unit"),
    _outcomes,
    (link("batch", "batches"),),
)
JAR_OUTCOMES = Table(
    "jar_outcomes",
    "The same for each jar.",
    (
        Column("batch", "the batch"),
        Column("jar", "the jar"),
        *OUTCOME_COLUMNS,
        Column("ended_by", "the group whose failure ended the watching for this one"),
        Column("last_look", "the day of the last look that counts", "date"),
    ),
    ("batch", "jar", "condition", "failure_group", "unit"),
    _jar_outcomes,
    (link("batch", "batches"), OF_JAR),
)
TABLES = (JARS, STAYS, DONE, LOOKS, MODES, OUTCOMES, JAR_OUTCOMES)
