"""A batch against its pin, and its copied lines against the version that the pin names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

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
from labbook.work.stories import Stage, since


@dataclass(frozen=True)
class _Pinned:
    """One batch with its file and its story, and how its problems are told."""

    bench: Bench
    batch: Batch
    held: ReadFile
    story: list[Stage]

    def error(
        self, rule: str, steps: tuple[str | int, ...], what: str, mend: str,
        holds: Callable[[Batch], Any],
    ) -> Problem:  # fmt: skip
        """An error with the commit from which on it stands in the file.

        `holds` tells whether the file at a stage says what it says today.
        """
        stage = since(self.story, holds)
        when = f"It stands so since commit {stage.named}." if stage else "It is not committed yet."
        place: Place = self.held.place(*steps)
        commit = stage.commit if stage else ""
        return Problem(
            Severity.ERROR, rule, place, f"{what} {when}", mend, about=self.batch.id, commit=commit
        )

    @property
    def copied(self) -> Sheets:
        """Names and ids as the batch copied them.

        A sheet that got another name since must not make a good pin look wrong.
        """
        return Sheets({line.ingredient: Ingredient(id=line.sheet) for line in self.batch.lines})

    def has_digest_of(self, version: Version) -> bool:
        """Whether the pin's digest is that content's, by any way of naming its ingredients."""
        sheets = (self.bench.snapshot.sheets, self.copied)
        known = {version.digest, *(digest(version.formula, one) for one in sheets)}
        return self.batch.formula.digest in known

    def told(self, version: Version) -> str:
        """What the batch was made of, for a sentence: `SBC@2`, or the trial's own content."""
        return version.name if self.batch.formula.trial_of is None else "its formula.yaml"

    def is_of(self, version: Version) -> bool:
        """Whether blob or digest say that the batch was made of this content."""
        return self.batch.formula.blob == version.blob or self.has_digest_of(version)


def pin_problems(
    bench: Bench, batch: Batch, held: ReadFile, story: list[Stage]
) -> Iterator[Problem]:
    """What is wrong with the pin and the copied lines of one batch."""
    this = _Pinned(bench, batch, held, story)
    pin = batch.formula
    if pin.trial_of is not None:
        yield from _trial(this)
        return
    own = bench.history.of_id(pin.id)
    numbered = next((v for v in own if v.number == pin.version), None)
    contents = bench.history.contents(numbered) if numbered else ()
    version = next((v for v in contents if this.is_of(v)), None)
    if version is None:
        # Blob and digest are long: where both agree on another version, the short key is wrong.
        of_blob = bench.history.with_blob(pin.blob)
        meant = next((v for v in of_blob if this.has_digest_of(v)), None)
        if meant is not None and meant.formula.id == pin.id:
            yield _wrong(this, "version", str(pin.version), str(meant.number))
        elif meant is not None:
            yield _wrong(this, "id", pin.id, meant.formula.id)
        version = meant or next(iter(contents), None)
    if version is None:
        yield _nowhere(this, own)
        return
    codes = {v.formula.code for v in own} | {v.code for v in own} | {version.code}
    if pin.code not in codes:
        yield _wrong(this, "code", pin.code, version.formula.code)
    if pin.blob != version.blob:
        yield _wrong(this, "blob", pin.blob, version.blob, version)
    if not this.has_digest_of(version):
        yield _wrong(this, "digest", pin.digest, version.digest, version)
    if not any(parent.how in ("split", "rework") for parent in batch.from_):
        yield from _lines(this, version)
        yield from _steps(this, version)


def _trial(this: _Pinned) -> Iterator[Problem]:
    """A trial batch against the content that lies beside it."""
    batch, pin = this.batch, this.batch.formula
    content = this.bench.snapshot.trials.get(batch.id)
    if content is None:
        yield this.error(
            "trial-content-missing",
            ("formula", "trial of"),
            f"{batch.short} is a trial, but no readable formula.yaml lies beside it.",
            f"Git still has it: git log -- {this.held.path.rsplit('/', 1)[0]}/formula.yaml",
            lambda record: record.formula == pin,
        )
        return
    version = Version(
        code=pin.code, number=0, formula=content, blob=pin.blob, commit="", path=this.held.path,
        digest=digest(content, this.bench.snapshot.sheets), when=datetime.min,
    )  # fmt: skip
    if not this.has_digest_of(version):
        yield this.error(
            "trial-content-changed",
            ("formula", "digest"),
            f"The formula.yaml beside {batch.short} is no longer what the trial was made from.",
            "A trial's content is never edited: put it back from history.",
            lambda record: record.formula.digest == pin.digest,
        )
        return
    yield from _lines(this, version)
    yield from _steps(this, version)


def _nowhere(this: _Pinned, own: Sequence[Version]) -> Problem:
    pin = this.batch.formula
    have = ", ".join(v.name for v in own) or "none of that id"
    return this.error(
        "pin-without-version",
        ("formula", "version" if own else "id"),
        f"{this.batch.short} is pinned to {pin.code}@{pin.version} of formula {pin.id}, which"
        f" history doesn't hold; it has: {have}.",
        "The copied lines in the batch still say what was made. Fetch the missing history, or"
        f" look at the commits: git log -p -- {this.held.path}",
        lambda record: (record.formula.id, record.formula.version) == (pin.id, pin.version),
    )


def _wrong(
    this: _Pinned, key: str, is_: str, should: str, version: Version | None = None
) -> Problem:
    pin = this.batch.formula
    there = "" if version is None else f" (commit {version.commit[:7]} of {version.when:%Y-%m-%d})"
    quoted = should if key == "version" else f'"{should}"'
    return this.error(
        f"pin-{key}-differs",
        ("formula", key),
        f"{this.batch.short} is pinned to {pin.code}@{pin.version}, but its {key} says {is_[:12]}"
        f" where that version{there} has {should[:12]}.",
        f"A pin is never edited. Put it back: {key}: {quoted}, or see what happened:"
        f" git log -p -- {this.held.path}",
        lambda record: str(getattr(record.formula, key)) == is_,
    )


# Copied lines and steps ------------------------------------------------------------------------


def _steps(this: _Pinned, version: Version) -> Iterator[Problem]:
    steps, wanted = this.batch.steps, version.formula.method
    mend = f"The plan is what {this.told(version)} says; what was done instead stands under done."
    if [step.id for step in steps] != [step.id for step in wanted]:
        have, should = (", ".join(step.id for step in some) or "none" for some in (steps, wanted))
        yield this.error(
            "copied-steps-differ",
            ("steps",),
            f"{this.batch.short} has the steps {have}; {this.told(version)} has {should}.",
            mend,
            lambda record: [step.id for step in record.steps] == [step.id for step in steps],
        )
        return
    for index, (step, should_be) in enumerate(zip(steps, wanted, strict=True)):
        if step.plan != should_be:
            yield this.error(
                "copied-steps-differ",
                ("steps", index, "plan"),
                f"{this.batch.short} plans step {step.id} otherwise than {this.told(version)}.",
                mend,
                _plan_is(index, step.plan),
            )


def _plan_is(index: int, plan: object) -> Callable[[Batch], bool]:
    return lambda record: index < len(record.steps) and record.steps[index].plan == plan


def _lines(this: _Pinned, version: Version) -> Iterator[Problem]:
    sheets = this.bench.snapshot.sheets
    lines, wanted = this.batch.lines, resolve(version.formula, sheets).lines
    here = [sheets.id_of(line.ingredient) for line in lines]
    there = [sheets.id_of(line.ingredient) for line in wanted]
    if len(here) != len(there):
        yield from _count(this, version, here, there)
        return
    if here != there and Counter(here) == Counter(there):
        index = next(i for i, (a, b) in enumerate(zip(here, there, strict=True)) if a != b)
        yield _differs(
            this,
            version,
            ("lines", index),
            f"{this.batch.short} has its lines in another order than {this.told(version)}: line"
            f" {index + 1} is {lines[index].ingredient}, not {wanted[index].ingredient}.",
            lambda record: [sheets.id_of(line.ingredient) for line in record.lines] == here,
        )
        return
    for index, (line, should) in enumerate(zip(lines, wanted, strict=True)):
        percent = None if should.percent is None else to_decimal(should.percent)
        pairs = (
            ("phase", line.phase, should.phase, line.phase == should.phase),
            ("ingredient", line.ingredient, should.ingredient, here[index] == there[index]),
            ("percent", line.percent, percent, line.percent == percent),
            ("qs", line.qs, should.qs or None, bool(line.qs) == should.qs),
            ("adjust", line.adjust, should.adjust, line.adjust == should.adjust),
            ("role", line.role, should.role, line.role == should.role),
        )
        for key, is_, expected, same in pairs:
            if not same:
                yield _differs(
                    this,
                    version,
                    ("lines", index, key),
                    f"{this.batch.short} has {key} {_said(is_)} for {line.ingredient};"
                    f" {this.told(version)} says {_said(expected)}.",
                    _line_says(index, key, is_),
                )


def _said(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return "nothing" if value is None else str(value)


def _line_says(index: int, key: str, value: object) -> Callable[[Batch], bool]:
    return lambda record: index < len(record.lines) and getattr(record.lines[index], key) == value


def _count(this: _Pinned, version: Version, here: list[str], there: list[str]) -> Iterator[Problem]:
    extra = Counter(here) - Counter(there)
    missing = Counter(there) - Counter(here)
    steps: tuple[str | int, ...] = ("lines",)
    told = f"{', '.join(missing)} is missing" if missing else ""
    if extra:
        # The last of several equal ones is the added one more often than the first.
        index = max(i for i, name in enumerate(here) if name in extra)
        steps = ("lines", index)
        told = f"{this.batch.lines[index].ingredient} is not in it"
    yield _differs(
        this,
        version,
        steps,
        f"{this.batch.short} has {len(here)} lines, {this.told(version)} has {len(there)}: {told}.",
        lambda record: len(record.lines) == len(here),
    )


def _differs(
    this: _Pinned,
    version: Version,
    steps: tuple[str | int, ...],
    what: str,
    holds: Callable[[Batch], bool],
) -> Problem:
    shown = "" if this.batch.formula.trial_of is not None else f": labbook show {version.name}"
    mend = (
        f"The copy is what {this.told(version)} says{shown}. Put it back; what was really weighed"
        " stands in the weighings."
    )
    return this.error("copied-lines-differ", steps, what, mend, holds)
