"""`log HC`: the versions of a formula with what changed in each, and its batches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from labbook.evidence.difference import difference
from labbook.model.results.common import BatchLabel
from labbook.model.results.formulas import Log, LoggedVersion
from labbook.model.versions import Version
from labbook.show.wording import short_lines
from labbook.work.batches import labels
from labbook.work.bench import Bench
from labbook.work.outcomes import departures_for, due_for
from labbook.work.save import changes_since
from labbook.work.states import state_of


def log(bench: Bench, typed: str) -> Log:
    """The story of a formula, newest version first.

    Each version is told against the one before it; batches whose number is in no version (history
    was lost or rewritten) stand apart, never left out.
    """
    code = bench.formula(typed).code
    state = state_of(bench, code)
    versions = bench.history.of(code)
    formula_id = bench.formula(code).id
    entries = []
    for before, version in zip((None, *versions), versions, strict=False):
        found = None
        if before is not None:
            found = difference(
                before.formula,
                version.formula,
                bench.snapshot.sheets,
                a_name=before.name,
                b_name=version.name,
            )
        entries.append(
            LoggedVersion(
                version=version,
                said=said_of(version, what := short_lines(found) if found else ()),
                what=what,
                batches=told(bench, formula_id, version.number),
                difference=found,
            )
        )
    numbers = {version.number for version in versions}
    loose = tuple(
        label for label in labels(bench, formula_id=formula_id) if label.version not in numbers
    )
    return Log(
        state=state,
        changed=changes_since(bench, code) if state.changed and state.number else (),
        entries=tuple(reversed(entries)),
        loose_batches=loose,
    )


def told(bench: Bench, formula_id: str, number: int) -> tuple[BatchLabel, ...]:
    """The batches of a version, newest first, with what is due and how the making departed."""
    batches = bench.snapshot.batches
    return tuple(
        replace(
            one,
            due=due_for(bench, batches[one.id]),
            departures=departures_for(bench, batches[one.id]),
        )
        for one in labels(bench, formula_id=formula_id, number=number)
    )


def said_of(version: Version, what: Sequence[str]) -> str:
    """What the maker said when saving, whole; empty where the program told what changed instead."""
    # The code of that day: a file that was renamed since was saved under another one.
    named = f"{version.formula.code}@{version.number}: "
    said = version.subject.removeprefix(named).strip()
    if not said.endswith("…"):
        return "" if what and said == what[0] else said
    start = said.removesuffix("…")
    whole = " ".join(version.body.split("\n\n")[0].split())
    if what and " ".join(what[0].split()).startswith(start):
        return ""
    return whole if whole.startswith(start) else said
