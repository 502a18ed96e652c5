"""Reactions and complaints that were written down and are not settled yet."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.evidence.sightings import jars_by_name, plain_jar
from labbook.model.moments import day_of
from labbook.model.problems import Problem, Severity
from labbook.model.reactions import Reaction
from labbook.model.results.looking import jar_name
from labbook.notebook.readfile import ReadFile
from labbook.work.bench import Bench
from labbook.work.reaction import FILE
from labbook.work.tracing import trace


def reaction_problems(bench: Bench) -> Iterator[Problem]:
    """One finding for each entry, until it is accepted with what became of it.

    What was said, and by whom, stays in its file: what `check` prints may be shown to anybody.
    """
    for batch_id, held in bench.snapshot.reactions.items():
        file = bench.snapshot.of_batch(batch_id, FILE)
        if file is None or batch_id not in bench.snapshot.batches:
            continue
        for index, one in enumerate(held.reactions):
            if not one.struck:
                yield _noted(bench, batch_id, one, file, index)
                yield from _jar(bench, batch_id, one, file, index)


def _noted(bench: Bench, batch_id: str, one: Reaction, file: ReadFile, index: int) -> Problem:
    batch = bench.snapshot.batches[batch_id]
    found = trace(bench, batch_id)
    given = sum(1 for jar in found.jars if jar.given)
    name = jar_name(batch.short, one.jar) if one.jar else batch.short
    kind = "skin reaction to" if one.kind == "reaction" else "complaint about"
    away = {0: "none of its jars is", 1: "1 jar of it is"}.get(given, f"{given} jars of it are")
    accept = f"{batch.short.lower()}.{one.id}"
    return Problem(
        Severity.WARNING,
        "reaction-noted",
        file.place("reactions", index),
        f"A {kind} {name} was written down for {day_of(one.time).isoformat()}; {away} with"
        " somebody.",
        f"Hand out nothing more of that bulk: labbook trace {batch.short.lower()} --recall. When it"
        f' is settled: labbook check --accept reaction-noted {accept} -m "..."',
        about=f"{batch_id}.{one.id.upper()}",
    )


def _jar(
    bench: Bench, batch_id: str, one: Reaction, file: ReadFile, index: int
) -> Iterator[Problem]:
    batch = bench.snapshot.batches[batch_id]
    jars = jars_by_name(batch, bench.snapshot.jars.get(batch_id))
    if one.jar and plain_jar(batch, one.jar) not in {*jars, "bulk"}:
        yield Problem(
            Severity.WARNING,
            "name-without-file",
            file.place("reactions", index, "jar"),
            f"{batch.short} has no jar {plain_jar(batch, one.jar)}.",
            f"It has: {', '.join(jars) or 'none'}.",
            about=batch_id,
        )
