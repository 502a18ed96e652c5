"""`formula label HC`: the draft of an ingredient list."""

from __future__ import annotations

from functools import cache

from labbook.model.errors import NotAllowed, Unclear
from labbook.model.formula import Formula
from labbook.model.materials import Ingredient
from labbook.model.results.label import LabelDraft
from labbook.model.sheets import Sheets
from labbook.rules.starters import starter_named, starter_text
from labbook.trade.checks.made import as_made
from labbook.trade.checks.regions import regions_of
from labbook.trade.composition import Composition, resolve
from labbook.trade.label import REGIONS, draft_label, gathered
from labbook.work.actual import actual_of
from labbook.work.bench import Bench
from labbook.work.diff import pinned_content
from labbook.work.states import content_of


def label(bench: Bench, typed: str, *, region: str = "", batch: str = "") -> LabelDraft:
    """The draft for a formula, or for what a batch was really made of.

    Args:
        bench: the notebook.
        typed: a code or version; may be empty with a batch.
        region: EU, UK or US; empty takes the notebook's, else the EU's.
        batch: an id; its weighings count instead of the formula.

    Raises:
        Unclear: no such region, or neither a formula nor a batch.
        NotAllowed: the batch isn't one of the formula, or a line of it was never weighed.
    """
    law, said = _region(bench, region)
    if batch:
        return _of_batch(bench, typed, batch, law, said)
    if not typed:
        raise Unclear("The label of which formula?", mend="labbook formula label HC")
    content = content_of(bench, typed)
    composition = resolve(content.formula, bench.snapshot.sheets)
    return _draft(bench, content.formula, composition, content.name, "", law, said)


def _of_batch(bench: Bench, typed: str, batch: str, law: str, said: str) -> LabelDraft:
    made = bench.batch(batch)
    code = typed.partition("@")[0].upper()
    if code and code != made.formula.code:
        raise NotAllowed(
            f"{made.short} is a batch of {made.formula.code}, not of {code}.",
            mend=f"labbook formula label {made.formula.code} --batch {made.short.lower()}",
        )
    planned = pinned_content(bench, made) or bench.formula(made.formula.code)
    actual = actual_of(bench, made)
    weighed = as_made(made, planned, bench.snapshot.sheets, actual)
    if weighed is None:
        missing = ", ".join(actual.missing) or "everything"
        raise NotAllowed(
            f"What {made.short} is made of can't be told: {missing} was not weighed.",
            where=bench.batch_path(made.id),
            mend=f"labbook formula label {made.formula.code}@{made.formula.version}",
        )
    name = f"{made.formula.code}@{made.formula.version}"
    return _draft(bench, planned, weighed.composition, name, made.short, law, said)


def _draft(
    bench: Bench,
    formula: Formula,
    composition: Composition,
    name: str,
    made: str,
    law: str,
    said: str,
) -> LabelDraft:
    from dataclasses import replace

    sheets, borrowed = with_starters(composition, bench.snapshot.sheets)
    draft = draft_label(
        composition,
        sheets,
        region=law,
        use=formula.use or "",
        name=name,
        title=formula.title,
        made=made,
    )
    notes = [said] if said else []
    if borrowed:
        some = ", ".join(borrowed)
        notes.append(f"no sheet in the notebook for {some}; the program's starter sheets were read")
    return replace(draft, gaps=(*draft.gaps, *notes))


def _region(bench: Bench, typed: str) -> tuple[str, str]:
    """The region whose order counts, and what there is to say of the choice."""
    if typed:
        found = regions_of(typed, REGIONS)
        if found.assumed or len(found.names) != 1:
            raise Unclear(f"Region {typed}?", mend=f"--region with one of: {', '.join(REGIONS)}")
        return found.names[0], ""
    found = regions_of(bench.snapshot.settings.region or "", REGIONS)
    if not found.assumed:
        others = f"; also {', '.join(found.names[1:])}: --region" if found.names[1:] else ""
        return found.names[0], f"region {found.names[0]}, as labbook.yaml says{others}"
    return found.names[0], f"no region in labbook.yaml; taken as {found.names[0]}"


def with_starters(composition: Composition, sheets: Sheets) -> tuple[Sheets, tuple[str, ...]]:
    """The sheets, with starter sheets for lines and components that the notebook has none for."""
    names = [line.ingredient for line in composition.lines]
    _, borrowed = gathered(names, sheets, starter_sheet)
    known = Sheets({**sheets.by_file, **borrowed}) if borrowed else sheets
    return known, tuple(sorted(borrowed))


@cache
def starter_sheet(written: str) -> Ingredient | None:
    """The program's own sheet for a written name; None where it has none."""
    from labbook.notebook.snapshot import read_bytes

    name = starter_named(written)
    if name is None:
        return None
    text = starter_text(name) or ""
    held = read_bytes(f"ingredients/{name}.yaml", text.encode("utf-8"))
    return held.record if isinstance(held.record, Ingredient) else None
