"""Batches against their pin, their copied lines, and the day they were closed."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.model.batch import Batch
from labbook.model.digest import digest
from labbook.model.materials import Ingredient
from labbook.model.problems import Place, Problem, Severity
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from labbook.notebook.readfile import ReadFile
from labbook.trade.composition import resolve
from labbook.trade.exact import to_decimal
from labbook.work.bench import Bench
from labbook.work.closed import Change, Stage, changes_of, since_closing, stages_of


def batch_problems(bench: Bench) -> Iterator[Problem]:
    """Everything that is wrong with a batch beyond its own file."""
    stages = stages_of(bench)
    for batch_id, batch in sorted(bench.snapshot.batches.items()):
        held = bench.snapshot.of_batch(batch_id)
        if held is None:
            continue
        story = stages.get(batch_id, [])
        pinned = list(_pin(bench, batch, held, story))
        yield from pinned
        yield from _closed(batch, held, story, bool(pinned))
    for batch_id, story in sorted(stages.items()):
        yield from _gone(bench, batch_id, story)


def _error(rule: str, place: Place, what: str, mend: str, about: str) -> Problem:
    return Problem(Severity.ERROR, rule, place, what, mend, about=about)


def _in_commit(story: list[Stage], read: str, value: str) -> str:
    """Since which commit the value stands so, as a sentence."""
    found = None
    for stage in reversed(story):
        if stage.record is None or _dotted(stage.record, read) != value:
            break
        found = stage
    if found is None:
        return " It is not committed yet."
    return f" It stands so since commit {found.commit[:7]} of {found.when}."


def _dotted(batch: Batch, read: str) -> str:
    value: object = batch
    for part in read.split("."):
        value = value[int(part)] if isinstance(value, tuple) else getattr(value, part)
    return str(value)


def _pin(bench: Bench, batch: Batch, held: ReadFile, story: list[Stage]) -> Iterator[Problem]:
    pin = batch.formula
    versions = [
        v
        for versions in bench.history.versions.values()
        for v in versions
        if v.formula.id == pin.id
    ]
    version = next((v for v in versions if v.number == pin.version), None)
    if version is None:
        have = ", ".join(v.name for v in versions) or "none of that id"
        yield _error(
            "pin-without-version",
            held.place("formula", "version" if versions else "id"),
            f"{batch.short} is pinned to {pin.code}@{pin.version} of formula {pin.id}, which"
            f" history doesn't hold; it has: {have}."
            + _in_commit(story, "formula.version", str(pin.version)),
            "The copied lines in the batch still say what was made. Fetch the missing history, or"
            f" look at the commits: git log -p -- {held.path}",
            batch.id,
        )
        return
    clash = bool(version.clashes)
    if pin.code != version.formula.code and pin.code not in {v.formula.code for v in versions}:
        yield _wrong(batch, held, story, "code", pin.code, version.formula.code)
    if pin.blob != version.blob and not clash:
        yield _wrong(batch, held, story, "blob", pin.blob, version.blob)
    if pin.digest not in _digests(version, batch, bench.snapshot.sheets) and not clash:
        yield _wrong(batch, held, story, "digest", pin.digest, version.digest)
    if not clash:
        yield from _lines(batch, held, story, version, bench.snapshot.sheets)


def _wrong(
    batch: Batch, held: ReadFile, story: list[Stage], key: str, is_: str, should: str
) -> Problem:
    pin = batch.formula
    return _error(
        f"pin-{key}-differs",
        held.place("formula", key),
        f"{batch.short} is pinned to {pin.code}@{pin.version}, but its {key} says {is_[:12]} where"
        f" that version has {should[:12]}." + _in_commit(story, f"formula.{key}", is_),
        f"A pin is never edited. Put it back: {key}: {should!r}, or see what happened:"
        f" git log -p -- {held.path}",
        batch.id,
    )


def _digests(version: Version, batch: Batch, sheets: Sheets) -> set[str]:
    """Digests of the version by today's sheets, and by the ids that the batch copied.

    A sheet that got another name since must not make a good pin look wrong.
    """
    copied = Sheets({line.ingredient: Ingredient(id=line.sheet) for line in batch.lines})
    return {version.digest, digest(version.formula, sheets), digest(version.formula, copied)}


def _lines(
    batch: Batch, held: ReadFile, story: list[Stage], version: Version, sheets: Sheets
) -> Iterator[Problem]:
    if any(parent.how in ("split", "rework") for parent in batch.from_):
        return
    wanted = resolve(version.formula, sheets).lines
    mend = (
        f"The copy is what {version.name} says: labbook show {version.name}. Put it back; what was"
        " really weighed stands in the weighings."
    )
    if len(wanted) != len(batch.lines):
        yield _error(
            "copied-lines-differ",
            held.place("lines"),
            f"{batch.short} has {len(batch.lines)} lines, {version.name} has {len(wanted)}.",
            mend,
            batch.id,
        )
        return
    for index, (line, should) in enumerate(zip(batch.lines, wanted, strict=True)):
        percent = None if should.percent is None else to_decimal(should.percent)
        same_name = sheets.id_of(line.ingredient) == sheets.id_of(should.ingredient)
        pairs = (
            ("phase", line.phase, should.phase, line.phase == should.phase),
            ("ingredient", line.ingredient, should.ingredient, same_name),
            ("percent", line.percent, percent, line.percent == percent),
            ("qs", line.qs, should.qs or None, bool(line.qs) == should.qs),
            ("adjust", line.adjust, should.adjust, line.adjust == should.adjust),
        )
        for key, is_, expected, same in pairs:
            if not same:
                yield _error(
                    "copied-lines-differ",
                    held.place("lines", index, key),
                    f"{batch.short} has {key} {is_} for {line.ingredient}; {version.name} says"
                    f" {expected}." + _in_commit(story, f"lines.{index}.{key}", str(is_)),
                    mend,
                    batch.id,
                )


def _closed(batch: Batch, held: ReadFile, story: list[Stage], pinned: bool) -> Iterator[Problem]:
    stages = since_closing(story)
    if not stages:
        return
    for change in changes_of(stages, batch):
        if pinned and change.steps[:1] in (("formula",), ("lines",)):
            continue  # named already, with what the version says
        yield _changed(batch, held, change)


def _changed(batch: Batch, held: ReadFile, change: Change) -> Problem:
    by = (
        f"It was changed by hand on {change.when}, in commit {change.commit[:7]}."
        if change.commit
        else "It was changed by hand and is not committed."
    )
    if change.steps == ("corrections",):
        what = f"{change.what} of {batch.short} was {change.now}; corrections only grow. {by}"
    elif not change.now:
        what = f"{batch.short} was closed with {change.what} {_short(change.was)}; it is gone. {by}"
    elif not change.was:
        what = f"{batch.short} was closed without {change.what} {_short(change.now)}. {by}"
    else:
        what = (
            f"{batch.short} was closed with {change.what} {_short(change.was)}; the file now says"
            f" {_short(change.now)}. {by}"
        )
    return _error(
        "closed-batch-changed",
        held.place(*change.steps),
        what + " A closed batch keeps its first figures; corrections stand beside.",
        f"Right now? Then it is a correction: labbook batch correct {batch.short} ENTRY.KEY=VALUE"
        f' -m "...". A slip? labbook batch correct {batch.short} --as-closed',
        batch.id,
    )


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:37]}..."


def _gone(bench: Bench, batch_id: str, story: list[Stage]) -> Iterator[Problem]:
    if not story or batch_id in bench.snapshot.batches:
        return
    last = story[-1]
    if last.undoes or bench.snapshot.of_batch(batch_id) is not None:
        return
    path = bench.batch_path(batch_id)
    when = f" in commit {last.commit[:7]} of {last.when}" if not last.blob else ", uncommitted"
    yield _error(
        "batch-taken-away",
        Place(path),
        f"{batch_id} was in the notebook and is gone{when}.",
        f"Nothing recorded is ever lost: git show {last.commit[:7]}^:{path} has it. To take a batch"
        f' out of the lists: labbook batch drop {batch_id} -m "..."',
        batch_id,
    )
