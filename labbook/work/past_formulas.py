"""Pins and numbers through the whole of history, for `check --history`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from labbook.model.batch import Batch, Pin
from labbook.model.digest import digest
from labbook.model.formula import Formula
from labbook.model.materials import Ingredient
from labbook.model.problems import Problem, Severity
from labbook.model.sheets import Sheets
from labbook.work.bench import Bench
from labbook.work.past import Past, Step, about, problem


def pins(bench: Bench, past: Past) -> Iterator[Problem]:
    """Each pin that any commit brought: its blob is a formula, and the digest is that content's."""
    sheets = bench.snapshot.sheets
    told: set[tuple[str, str, str]] = set()
    digests: dict[str, str] = {}
    contents = {b: r for b, r in past.records.items() if isinstance(r, Formula)}
    for blob, content in contents.items():
        digests[blob] = digest(content, sheets)
    known = set(digests.values())
    for step in past.steps:
        if not isinstance(step.new, Batch):
            continue
        pin = step.new.formula
        if (step.path, pin.blob, pin.digest) in told:
            continue
        told.add((step.path, pin.blob, pin.digest))
        if pin.blob not in contents and pin.digest not in known:
            yield problem(
                Severity.ERROR,
                "pin-without-content",
                step,
                f"Commit {step.named} pins {about(step)} to {pin.name}, and neither its blob"
                f" {pin.blob[:12]} nor its digest {pin.digest[:12]} is in this history.",
                "Fetch the missing history; the lines in the batch still say what was made.",
            )
        elif pin.blob in contents and pin.digest != digests[pin.blob]:
            yield from _unequal(step, step.new, contents[pin.blob])
    yield from _pins_changed(past)


def _unequal(step: Step, batch: Batch, content: Formula) -> Iterator[Problem]:
    """A pin whose blob and digest say two things, by names of today and by those it copied."""
    copied = Sheets({line.ingredient: Ingredient(id=line.sheet) for line in batch.lines})
    if batch.formula.digest == digest(content, copied):
        return
    yield problem(
        Severity.ERROR,
        "pin-digest-differs",
        step,
        f"Commit {step.named} pins {about(step)} to {batch.formula.name}; the content of its blob"
        f" has another digest than {batch.formula.digest[:12]}.",
        f"A pin is never edited. See what happened: git log -p -- {step.path}",
    )


def _pins_changed(past: Past) -> Iterator[Problem]:
    """Commits after which a pin says another thing than when the batch was opened."""
    first: dict[str, Pin] = {}
    for step in past.steps:
        old, new = step.old, step.new
        if not isinstance(new, Batch):
            continue
        now = replace(new.formula, commit=None)
        began = first.setdefault(step.path, now)
        if isinstance(old, Batch) and now not in (began, replace(old.formula, commit=None)):
            yield problem(
                Severity.WARNING,
                "pin-changed",
                step,
                f"Commit {step.named} changed the pin of {new.short} from {began.name} to"
                f" {now.name}, or what it says of it. A pin is never edited.",
            )


# Numbers of formulas ----------------------------------------------------------------------------


def numbers(bench: Bench, past: Past) -> Iterator[Problem]:
    """Numbers that went back, and merges under the number of one side."""
    for step in past.steps:
        if step.kind == "formula" and not step.undoes:
            yield from _set_back(bench, step)
    yield from _merged(bench, past)


def _set_back(bench: Bench, step: Step) -> Iterator[Problem]:
    """A number that went back over a content that never had it."""
    old, new = step.old, step.new
    if step.merges or not isinstance(old, Formula) or not isinstance(new, Formula):
        return
    if old.id != new.id or new.version >= old.version or not new.version:
        return
    code = about(step)
    numbered = [v for v in bench.history.of(code) if v.number == new.version]
    content = digest(new, bench.snapshot.sheets)
    contents = {v.digest for one in numbered for v in bench.history.contents(one)}
    if content not in contents:
        yield problem(
            Severity.WARNING,
            "number-set-back",
            step,
            f"Commit {step.named} took {code} from {old.version} back to {new.version}, over a"
            f" content that never was {code}@{new.version}.",
        )


def _merged(bench: Bench, past: Past) -> Iterator[Problem]:
    """Merges whose formula is neither parent's and has a parent's number: git does that cleanly."""
    sides: dict[tuple[str, str], list[Step]] = {}
    for step in past.steps:
        if step.kind == "formula" and step.merges:
            sides.setdefault((step.commit.id, step.path), []).append(step)
    sheets = bench.snapshot.sheets
    for steps in sides.values():
        new = steps[0].new
        parents = [one.old for one in steps if isinstance(one.old, Formula)]
        if not isinstance(new, Formula) or len(parents) < len(steps[0].commit.parents):
            continue  # it is a parent's own content, or one side never had the file
        others = {digest(one, sheets) for one in parents}
        if digest(new, sheets) in others or new.version not in {one.version for one in parents}:
            continue
        yield problem(
            Severity.WARNING,
            "merge-kept-number",
            steps[0],
            f"Merge {steps[0].named} made a content of {about(steps[0])} that neither side had,"
            f" and kept the number {new.version}.",
            f"Number what stands today: labbook save {about(steps[0])}",
        )
