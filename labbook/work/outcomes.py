"""What became of batches, as other commands ask for it: headlines, what is due, in a sentence."""

from __future__ import annotations

from labbook.evidence.departures import departures
from labbook.evidence.due import in_a_row
from labbook.evidence.failure import condition_key
from labbook.evidence.outcomes import noticed_in, outcomes_of
from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.moments import in_order
from labbook.model.results.looking import NOT_WATCHED, BatchOutcome, Noticed
from labbook.model.versions import Version
from labbook.show.outcomes import became_words, due_words, headline, leading
from labbook.work.bench import Bench
from labbook.work.due import due_of


def formula_of(bench: Bench, batch: Batch) -> Formula | None:
    """The formula of a batch as it stands today: its acceptance limits judge all batches alike."""
    return bench.snapshot.formula_of(batch)


def outcomes_for(bench: Bench, batch: Batch) -> tuple[BatchOutcome, ...]:
    """What became of a batch, for each condition and group of failure."""
    snapshot = bench.snapshot
    return outcomes_of(
        batch,
        snapshot.jars.get(batch.id),
        snapshot.stability.get(batch.id),
        formula_of(bench, batch),
    )


def noticed_for(bench: Bench, batch: Batch) -> tuple[Noticed, ...]:
    """What was seen on a batch that no limit judges."""
    snapshot = bench.snapshot
    return noticed_in(
        batch,
        snapshot.jars.get(batch.id),
        snapshot.stability.get(batch.id),
        formula_of(bench, batch),
    )


def headline_for(bench: Bench, batch: Batch) -> str:
    """What became of a batch in a line; empty while it is open and nobody looked at it."""
    found = outcomes_for(bench, batch)
    if batch.state == "open" and all(one.state == NOT_WATCHED for one in found):
        return ""
    return headline(found, noticed_for(bench, batch))


def due_for(bench: Bench, batch: Batch) -> str:
    """What is due of the jar that speaks for a batch: `day 60 overdue`; empty where nothing is."""
    lead = leading(outcomes_for(bench, batch))
    if lead is None:
        return ""
    key = condition_key(lead.condition)
    now = [one for one in due_of(bench, batch) if one.state != "coming"]
    mine = in_a_row(one for one in now if condition_key(one.condition) == key)
    return due_words(mine[0]) if mine else ""


def departures_for(bench: Bench, batch: Batch) -> tuple[str, ...]:
    """Where the making departed so far that the outcome should be read with it."""
    return departures(batch, formula_of(bench, batch))


def batches_of(bench: Bench, formula_id: str, number: int | None = None) -> list[Batch]:
    """The batches of a formula or a version in the order of making, without dropped ones."""
    ids = [row.id for row in bench.rows if row.formula == formula_id and not row.dropped]
    every = [bench.snapshot.batches[id_] for id_ in ids]
    found = [batch for batch in every if number is None or batch.formula.version == number]
    return sorted(found, key=lambda batch: (in_order(batch.made), batch.id))


def became(bench: Bench, version: Version) -> list[tuple[str, str]]:
    """What became of a version's batches: its name and a sentence; nothing where none was made."""
    made = [
        (batch.short, outcomes_for(bench, batch))
        for batch in batches_of(bench, version.formula.id, version.number)
    ]
    return [(f"@{version.number}", became_words(made))] if made else []
