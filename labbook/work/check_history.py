"""`check --history`: every commit, not only how the notebook stands today.

What is still so today is told by `check` itself; here stands what somebody did by hand in between
and perhaps put back, what a merge lost, pins whose content is nowhere, and commits without a
signature where one was asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from labbook.model.batch import Batch
from labbook.model.problems import Place, Problem, Severity
from labbook.model.results.keeping import Checked
from labbook.work.bench import Bench
from labbook.work.check import check
from labbook.work.check_entries import LISTS, WORDS
from labbook.work.closed import changes_of
from labbook.work.past import Past, Progress, Step, about, problem, read_past
from labbook.work.past_formulas import numbers, pins
from labbook.work.stories import Stage

ENTRIES = {
    "batch": ("weighings", "readings", "deviations", "remarks", "corrections"),
    **{file.removesuffix(".yaml"): lists for file, lists in LISTS.items()},
}
"""The lists of each kind of file that only grow."""

BY_HAND = {"weighings": "weighing", "readings": "reading", "deviations": "deviation",
           "remarks": "remark", **WORDS}  # fmt: skip

SIGNATURES_NOT_CHECKED = "whether signatures hold, and whose they are: git log --show-signature"


def check_history(bench: Bench, progress: Progress = lambda done, of: None) -> Checked:
    """All that `check` finds, and what all commits tell beyond it.

    Args:
        bench: the notebook.
        progress: is told how far the reading is.
    """
    plain = check(bench)
    past = read_past(bench, progress)
    told = {(problem.about, problem.commit) for problem in plain.problems if problem.commit}
    found = [p for p in _problems(bench, past) if (p.about, p.commit) not in told or not p.about]
    signing = list(_signatures(bench))
    ordered = sorted({*plain.problems, *found, *signing}, key=lambda problem: problem.sort_key)
    unseen = (SIGNATURES_NOT_CHECKED,) if _asks_for_signatures(bench) else ()
    return replace(
        plain,
        problems=tuple(ordered),
        not_checked=(*plain.not_checked, *unseen),
        commits=len(past.commits),
    )


def _problems(bench: Bench, past: Past) -> Iterator[Problem]:
    yield from _unread(past)
    yield from pins(bench, past)
    closings: dict[str, Step] = {}
    for step in past.steps:
        if step.kind == "batch":
            if isinstance(step.new, Batch) and step.new.state == "closed":
                closings.setdefault(step.path, step)
            yield from _closed(bench, step, closings)
        if step.kind in ENTRIES and not step.undoes:
            yield from _lost(bench, step)
    yield from numbers(bench, past)


def _unread(past: Past) -> Iterator[Problem]:
    """One sentence for all: old slips are no news, but how much is unseen has to be known."""
    if not past.unread:
        return
    paths = sorted(set(past.unread.values()))
    some = ", ".join(paths[:3]) + (" …" if len(paths) > 3 else "")
    count = len(past.unread)
    contents = "1 content" if count == 1 else f"{count} contents"
    yield Problem(
        Severity.NOTE,
        "unreadable-in-history",
        Place(paths[0]),
        f"{contents} of earlier commits can't be read as records, in: {some}. What was changed in"
        " and out of them is not seen.",
        f"See the earlier contents: git log -p -- {paths[0]}",
    )


# Batches and entries ----------------------------------------------------------------------------


def _stage(step: Step, record: Batch) -> Stage:
    return Stage(step.commit.id, "", "", step.path, step.new_blob, record)


def _closed(bench: Bench, step: Step, closings: Mapping[str, Step]) -> Iterator[Problem]:
    """A closed batch that a commit changed other than by a correction, whatever came after."""
    old, new = step.old, step.new
    if not isinstance(old, Batch) or not isinstance(new, Batch) or old.state != "closed":
        return
    changes = changes_of([_stage(step, old)], new)
    closing = closings.get(step.path)
    as_closed = closing is not None and not _differs(closing, new)
    if not changes or as_closed or step.undoes:
        return  # nothing, or it was put back to what the closing said
    first = changes[0]
    more = f", and {len(changes) - 1} more" if len(changes) > 1 else ""
    today = bench.snapshot.batches.get(about(step))
    now = _now(step, old, today) if today else ""
    how = "merged" if step.merges else "changed"
    yield problem(
        Severity.NOTE if now else Severity.WARNING,
        "closed-batch-changed-once",
        step,
        f"Commit {step.named} {how} {new.short}, which was closed: {first.what} was"
        f" {_short(first.was)}, then {_short(first.now)}{more}.{now}",
    )


def _differs(closing: Step, now: Batch) -> bool:
    """Whether a batch no longer holds what the closing brought."""
    record = closing.new
    return isinstance(record, Batch) and bool(changes_of([_stage(closing, record)], now))


def _now(step: Step, old: Batch, today: Batch) -> str:
    """What became of it, where today's file holds what it held before."""
    return " It was put back since." if not changes_of([_stage(step, old)], today) else ""


def _short(text: str) -> str:
    shown = text or "nothing"
    return shown if len(shown) <= 40 else f"{shown[:37]}..."


def _lost(bench: Bench, step: Step) -> Iterator[Problem]:
    """Entries that a commit took out of a list that only grows; a merge: that a side had."""
    if step.old is None or (step.new is None and step.new_blob):
        return
    held = bench.snapshot.of_batch(about(step), step.path.rsplit("/", 1)[-1])
    today = held.record if held else None
    for name in ENTRIES[step.kind]:
        was = {entry.id for entry in getattr(step.old, name)}
        kept = {entry.id for entry in getattr(step.new, name)} if step.new else set()
        gone = sorted(was - kept)
        if not gone:
            continue
        there = {entry.id for entry in getattr(today, name)} if today else set()
        missing = [one for one in gone if one not in there]
        word = BY_HAND[name] if len(gone) == 1 else f"entries of {name}:"
        lost = "Merge" if step.merges else "Commit"
        yield problem(
            Severity.WARNING if missing else Severity.NOTE,
            "entry-lost",
            step,
            f"{lost} {step.named} lost {word} {', '.join(gone[:5])}{' …' if len(gone) > 5 else ''}"
            f" of {about(step)}."
            + (f" Today {', '.join(missing[:5])} is missing." if missing else " It is back today."),
        )


# Signatures -------------------------------------------------------------------------------------


def _asks_for_signatures(bench: Bench) -> bool:
    from labbook.notebook import signatures

    return bench.snapshot.settings.signed_commits is True or signatures.wanted(bench.root)


def _signatures(bench: Bench) -> Iterator[Problem]:
    """Commits without a signature, where git or the notebook asks for one."""
    if not _asks_for_signatures(bench):
        return
    from labbook.notebook import signatures

    missing = signatures.unsigned(bench.root)
    if not missing:
        return
    count = "1 commit has" if len(missing) == 1 else f"{len(missing)} commits have"
    some = ", ".join(one[:7] for one in missing[:5]) + (" …" if len(missing) > 5 else "")
    asked = "labbook.yaml" if bench.snapshot.settings.signed_commits else "git's commit.gpgSign"
    yield Problem(
        Severity.WARNING,
        "commit-not-signed",
        Place("labbook.yaml"),
        f"{count} no signature, though {asked} asks for one: {some}",
        "History is never rewritten; sign what comes from now on: git config commit.gpgSign true",
        commit=missing[0],
    )
