"""`batch sheet --page`: gathers what the page of a batch shows, and the texts it is made of."""

from __future__ import annotations

from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed
from labbook.model.moments import day_of
from labbook.model.results.sheet_page import SheetOf
from labbook.model.sheets import fold
from labbook.shipped import shipped
from labbook.show.sheet_page import Parts, sheet_page
from labbook.trade.premade import premade
from labbook.work.bench import Bench
from labbook.work.make import readability_of
from labbook.work.note import emulsion_of
from labbook.work.weigh_one import usual_lot

SCRIPTS = (
    "figures.js", "telling.js", "keeping.js", "sheet.js", "dom.js", "lines.js", "vessels.js",
    "steps.js", "entries.js", "finish.js", "page.js",
)  # fmt: skip
"""The scripts of the page in their order: each uses only what stands before it."""


def page_of(bench: Bench, batch: Batch, *, post: str = "") -> bytes:
    """The page of an open batch; with `post` the served one, which sends entries there.

    Raises:
        NotAllowed: the batch is closed or dropped, so there is nothing to fill in.
    """
    guard_fillable(batch)
    return sheet_page(sheet_of(bench, batch), parts(), post=post)


def guard_fillable(batch: Batch) -> None:
    """Refuses a batch that nothing more is written into.

    Raises:
        NotAllowed: it is closed or dropped.
    """
    if batch.dropped or batch.state == "closed":
        raise NotAllowed(
            f"{batch.short} is {'dropped' if batch.dropped else 'closed'}; a page is there to be"
            " filled in.",
            mend=f"What it holds, to print: labbook batch sheet {batch.short}",
        )


def parts() -> Parts:
    """The template, the style and the scripts that come with the program."""
    folder = shipped("templates") / "bench"

    def text(name: str) -> str:
        return (folder / name).read_text(encoding="utf-8")

    scripts = tuple(text(name) for name in SCRIPTS)
    return Parts(text("page.html.j2"), text("bench.css"), scripts, text("phone.js"))


def sheet_of(bench: Bench, batch: Batch) -> SheetOf:
    """The batch with the packs and cautions of its lines."""
    sheets = bench.snapshot.sheets
    found = {line.id: sheets.find(line.ingredient) for line in batch.lines}
    title = next(
        (f.title for f in bench.snapshot.formulas.values() if f.id == batch.formula.id), ""
    )
    balance = batch.tools.balance if batch.tools else None
    usual = {line.id: usual_lot(bench, line.ingredient) for line in batch.lines}
    return SheetOf(
        batch=batch,
        title=title,
        emulsion=emulsion_of(bench, batch),
        readability=readability_of(bench, balance),
        lots={line.id: _lots(bench, line.ingredient) for line in batch.lines},
        usual={id_: lot for id_, lot in usual.items() if lot},
        cautions={id_: sheet.cautions for id_, sheet in found.items() if sheet},
        premixes=premade(batch, bench.snapshot.batches, sheets, bench.snapshot.equipment),
    )


def _lots(bench: Bench, ingredient: str) -> tuple[str, ...]:
    """The packs of an ingredient that aren't used up, the ones opened last first."""
    wanted = fold(bench.snapshot.sheets.id_of(ingredient))
    found = [
        (str(day_of(lot.opened)) if lot.opened else "", name)
        for name, lot in bench.snapshot.lots.items()
        if lot.used_up is None and fold(bench.snapshot.sheets.id_of(lot.ingredient)) == wanted
    ]
    return tuple(name for _, name in sorted(found, reverse=True))
