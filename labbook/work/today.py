"""The bare `labbook`: what there is to do today."""

from __future__ import annotations

from labbook.model.errors import GitRefused
from labbook.model.results.common import FormulaState, Next
from labbook.model.results.keeping import Today
from labbook.work.batches import label
from labbook.work.bench import Bench
from labbook.work.due import due
from labbook.work.save import changes_since
from labbook.work.states import states_of

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def today(bench: Bench) -> Today:
    """Open batches, formulas changed since their version, unreadable files, half-done entries.

    Works without git too: then nothing is said about versions.
    """
    snapshot = bench.snapshot
    states: tuple[FormulaState, ...] = ()
    changed: tuple[tuple[FormulaState, tuple[str, ...]], ...] = ()
    left: tuple[str, ...] = ()
    without = ""
    try:
        from labbook.notebook import git
        from labbook.notebook.record import leftovers

        git.available()
        left = tuple(leftovers(bench.root))
        states = states_of(bench)
        changed = tuple((s, changes_since(bench, s.code)) for s in states if s.changed)
    except GitRefused as error:
        without = error.what
    looks = due(bench)
    open_ = tuple(label(bench, batch) for batch in bench.open_batches())
    unexplained = _unexplained(bench)
    unreadable = tuple(path for path, known in sorted(snapshot.known.items()) if not known.readable)
    return Today(
        title=snapshot.settings.title,
        day=bench.today.isoformat(),
        weekday=WEEKDAYS[bench.today.weekday()],
        stopped=snapshot.settings.today is not None,
        open=open_,
        changed=changed,
        formulas=states,
        batches=sum(1 for row in bench.rows if not row.dropped),
        unreadable=unreadable,
        leftovers=left,
        without_git=without,
        then=_then(
            bench,
            (open_ and open_[0].short) or "",
            changed,
            unreadable,
            looks.now != (),
            unexplained,
        ),
        looks_due=len(looks.now),
        looks_overdue=len(looks.overdue),
        unexplained=unexplained,
    )


def _unexplained(bench: Bench) -> tuple[str, ...]:
    """The latest batch whose leading jar failed, while no trial was made to tell why."""
    rows = [row for row in bench.rows if not row.dropped]
    asked = {row.asks for row in rows if row.asks}
    for row in sorted(rows, key=lambda row: (row.made, row.id), reverse=True):
        if row.failed and not row.asks:
            return () if row.id in asked else (bench.snapshot.batches[row.id].short,)
    return ()


def _then(
    bench: Bench,
    open_batch: str,
    changed: tuple[tuple[FormulaState, tuple[str, ...]], ...],
    unreadable: tuple[str, ...],
    looks: bool,
    unexplained: tuple[str, ...],
) -> tuple[Next, ...]:
    found = []
    if looks:
        found.append(Next("labbook look", "one jar after the other"))
    if unreadable:
        found.append(Next("labbook check", "what can't be read, and how to mend it"))
    if open_batch:
        found.append(Next(f"labbook weigh {open_batch}"))
    if unexplained:
        found.append(Next(f"labbook why {unexplained[0].lower()}"))
    if changed:
        code = changed[0][0].code
        found.append(Next(f"labbook diff {code}", "what changed since the last version"))
        found.append(Next(f"labbook make {code}", "saves it and opens a batch"))
    if not bench.snapshot.formulas:
        found.append(Next("labbook formula new HC --type water-in-oil", "the first formula"))
        found.append(Next("labbook help words", "what a batch, a lot, a look is here"))
    elif not found:
        code = sorted(bench.snapshot.formulas)[0]
        found.append(Next(f"labbook make {code}"))
        found.append(Next(f"labbook log {code}"))
    return tuple(found[:3])
