"""The pages of a formula, its versions and its batches."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from labbook.evidence.statistics.refusal import Refusal
from labbook.journal import making, views
from labbook.journal.frame import Frame
from labbook.journal.label import cautions_of, label_view
from labbook.journal.markdown import Md, free
from labbook.journal.names import batch_path, formula_path, version_path
from labbook.journal.page import Page, Planned, parts, reaching
from labbook.journal.photos import rows_of
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.model.formula import Formula
from labbook.trade.label import gathered

SCALE = "scale.js"


def plan_chapter(frame: Frame, one: PublicFormula) -> Iterator[Planned]:
    """A formula's own page, one for each version, one for each batch."""
    yield from _plan_formula(frame, one)
    yield from (_plan_batch(frame, one, made) for made in one.batches)


def _plan_formula(frame: Frame, one: PublicFormula) -> Iterator[Planned]:
    code = one.formula.code
    yield Planned(
        formula_path(code),
        parts(
            f"formula {code}",
            reaching(one.formula.notes),
            (f"version {version.name}" for version in one.versions),
            (f"batch {made.batch.id}" for made in one.batches),
            _sheets(frame, *(version.formula for version in one.versions)),
        ),
        f"{sorted(one.hidden.items())} {frame.press.told_of(f'formula {code}')}",
        partial(_formula, frame, one),
    )
    for number, version in enumerate(one.versions):
        near = one.versions[max(0, number - 1) : number + 2]
        made = [m for m in one.batches if m.batch.formula.version == version.number]
        yield Planned(
            version_path(code, version.number),
            parts(
                f"formula {code}",
                (f"version {beside.name}" for beside in near),
                (f"batch {m.batch.id}" for m in made),
                _sheets(frame, *(beside.formula for beside in near)),
            ),
            f"{one.hidden.get(version.number, 0)} {frame.press.told_of(f'version {version.name}')}",
            partial(_version, frame, one, number),
        )


def _sheets(frame: Frame, *contents: Formula) -> Iterator[str]:
    """The sheets that contents are reckoned with, those of components too."""
    names = {line.ingredient for content in contents for _, line in content.lines}
    own, _ = gathered(names, frame.journal.known, frame.journal.beyond.starters.get)
    yield from (f"ingredient {name}" for name in own)


def _plan_batch(frame: Frame, one: PublicFormula, made: PublicBatch) -> Planned:
    batch = made.batch
    pin = batch.formula
    known = any(version.number == pin.version for version in one.versions)
    sheets = {frame.uses.sheet_of(line.ingredient) for line in batch.lines} - {""}
    horizon = frame.pictures.horizon(one.formula.code)
    return Planned(
        batch_path(batch.id),
        parts(
            f"batch {batch.id}",
            reaching(batch.notes),
            f"formula {one.formula.code}",
            (f"ingredient {name}" for name in sheets),
            (f"batch {parent.batch}" for parent in batch.from_),
        ),
        f"{known} {horizon} {frame.press.told_of(f'batch {batch.id}')}",
        partial(_batch, frame, one, made),
    )


# Writing ------------------------------------------------------------------------------------------


def _formula(frame: Frame, one: PublicFormula) -> Page:
    last = one.versions[-1] if one.versions else None
    story = frame.story(one)[::-1]
    curve = frame.pictures.curve_of_formula(one, "../")
    return frame.page(
        formula_path(one.formula.code),
        one.formula.title,
        "formula.md.j2",
        script=SCALE if last else "",
        formula=one.formula,
        notes=free(one.formula.notes),
        content=frame.content(last.formula) if last else None,
        label=label_view(frame.journal, last.formula) if last else None,
        cautions=cautions_of(frame.uses, last.formula) if last else [],
        last=story[0] if story else None,
        story=story,
        outcomes=views.outcome_view(frame.teller, one),
        timeline=frame.pictures.of_formula(one, "../"),
        curve=Md("") if isinstance(curve, Refusal) else curve,
        corrected=frame.press.corrected(f"formula {one.formula.code}"),
    )


def _version(frame: Frame, one: PublicFormula, number: int) -> Page:
    version = one.versions[number]
    before = one.versions[number - 1] if number else None
    found = frame.teller.difference(before, version) if before else None
    every = frame.story(one)
    return frame.page(
        every[number]["path"],
        f"{one.formula.title}, {version.name}",
        "version.md.j2",
        formula=one.formula,
        formula_path=formula_path(one.formula.code),
        version=every[number],
        before=every[number - 1] if number else None,
        after=every[number + 1] if number + 1 < len(every) else None,
        content=frame.content(version.formula),
        diff=views.difference_view(found) if found else None,
        corrected=frame.press.corrected(f"version {version.name}"),
    )


def _batch(frame: Frame, one: PublicFormula, made: PublicBatch) -> Page:
    number = made.batch.formula.version
    known = any(version.number == number for version in one.versions)
    view = making.batch_view(frame.teller, made)
    named = [line.ingredient for line in made.batch.lines]
    named += [""] * (len(view["rows"]) - len(named))
    for row, name in zip(view["rows"], named, strict=True):
        row["path"] = frame.uses.path_of(name) if name else ""
    return frame.page(
        view["path"],
        f"{made.batch.short}, {made.title}",
        "batch.md.j2",
        batch=view,
        notes=free(made.batch.notes),
        timeline=frame.pictures.of_batch(made, "../"),
        photos=rows_of(made, "../"),
        formula_path=formula_path(one.formula.code),
        version_path=version_path(one.formula.code, number) if known else "",
        corrected=frame.press.corrected(f"batch {made.batch.id}"),
    )
