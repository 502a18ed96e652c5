"""`ingredient swaps X [Y]`: what stood for an ingredient before, and what could."""

from __future__ import annotations

from itertools import pairwise

from labbook.evidence.difference import Difference, difference
from labbook.model.errors import UnknownName
from labbook.model.materials import Ingredient
from labbook.model.results.materials import Candidate, OwnSwap, Swaps
from labbook.rules.starters import starter_named
from labbook.show.wording import short_lines
from labbook.trade.likeness import Likeness, candidates, likeness
from labbook.work.bench import Bench
from labbook.work.outcomes import became

SHOWN = 6
"""Candidates that are shown; the others are counted."""


def swaps(bench: Bench, typed: str, other: str = "") -> Swaps:
    """What can stand for an ingredient; it only reads.

    Args:
        bench: the notebook.
        typed: any name of an ingredient with a sheet, here or among the starters.
        other: a second one to compare it with.

    Raises:
        UnknownName: there is no sheet for a name.
    """
    from labbook.notebook.starter_sheets import read_starters

    shelf = {**read_starters(bench.root), **bench.snapshot.ingredients}
    name, sheet = _sheet(bench, shelf, typed)
    second = _sheet(bench, shelf, other) if other else None
    pair = likeness(name, sheet, *second) if second else None
    found = () if pair else candidates(name, sheet, shelf)
    own = tuple(_own_swaps(bench, sheet, second[1] if second else None))
    return Swaps(
        name=name,
        title=sheet.title or name,
        other=second[0] if second else "",
        used_in=_used_in(bench, sheet),
        own=own,
        rows=_rows(pair) if pair else (),
        candidates=tuple(_candidate(bench, one) for one in found[:SHOWN]),
        more=max(0, len(found) - SHOWN),
        remarks=_remarks(pair) if pair else (),
    )


def _sheet(bench: Bench, shelf: dict[str, Ingredient], typed: str) -> tuple[str, Ingredient]:
    sheet = bench.snapshot.sheets.find(typed)
    if sheet is not None:
        return bench.snapshot.sheets.name_of(sheet.id), sheet
    starter = starter_named(typed)
    if starter is not None and starter in shelf:
        return starter, shelf[starter]
    from difflib import get_close_matches

    near = get_close_matches(typed, list(shelf), n=3, cutoff=0.6)
    mend = f"Near it: {', '.join(near)}." if near else f"Make one: labbook ingredient new {typed}"
    raise UnknownName(f"There is no sheet for {typed}.", mend=mend)


def _used_in(bench: Bench, sheet: Ingredient) -> tuple[str, ...]:
    sheets = bench.snapshot.sheets
    return tuple(
        code
        for code, formula in bench.snapshot.formulas.items()
        if any(sheets.id_of(line.ingredient) == sheet.id for _, line in formula.lines)
    )


def _own_swaps(bench: Bench, sheet: Ingredient, other: Ingredient | None) -> list[OwnSwap]:
    """Versions in which the ingredient went and another came, or the other way round."""
    found = []
    sheets = bench.snapshot.sheets
    for versions in bench.history.versions.values():
        for before, after in pairwise(versions):
            told = difference(
                before.formula, after.formula, sheets, a_name=before.name, b_name=after.name
            )
            pair = _swapped(told, sheet.id, other.id if other else "", bench)
            if pair is None:
                continue
            what = short_lines(told)
            found.append(
                OwnSwap(
                    before=before.name,
                    after=after.name,
                    out=pair[0],
                    in_=pair[1],
                    what=what,
                    alone=len([c for c in told.lines if c.kind != "balancing"]) == 1
                    and not told.method,
                    became_before="; ".join(text for _, text in became(bench, before)),
                    became_after="; ".join(text for _, text in became(bench, after)),
                )
            )
    return found


def _swapped(told: Difference, id_: str, other: str, bench: Bench) -> tuple[str, str] | None:
    sheets = bench.snapshot.sheets
    for change in told.lines:
        if change.change != "substituted":
            continue
        out, in_ = change.from_ingredient or "", change.to_ingredient or ""
        ids = {sheets.id_of(out), sheets.id_of(in_)}
        if id_ in ids and (not other or other in ids):
            return out, in_
    return None


def _rows(pair: Likeness) -> tuple[tuple[str, str, str, str], ...]:
    """A word, what it is about, and the two sides."""
    blocks = (("differs", pair.differs), ("same", pair.alike), ("unknown", pair.unknown))
    return tuple(
        (word, one.what, one.first or "not on its sheet", one.second or "not on its sheet")
        for word, traits in blocks
        for one in traits
    )


def _remarks(pair: Likeness) -> tuple[str, ...]:
    said = []
    if not pair.shared:
        said.append(f"{pair.first} and {pair.second} do different things, by their sheets.")
    what = {trait.what for trait in pair.differs}
    if "soluble in" in what:
        said.append("They dissolve in different phases: the line would have to move.")
    if "charge" in what:
        said.append("They carry different charges: look at every other charged ingredient.")
    return tuple(said)


def _candidate(bench: Bench, one: Likeness) -> Candidate:
    return Candidate(
        name=one.second,
        own=bench.snapshot.sheets.find(one.second) is not None,
        shared=one.shared,
        differs=tuple(f"{t.what} {t.second} against {t.first}" for t in one.differs),
        unknown=tuple(t.what for t in one.unknown),
    )
