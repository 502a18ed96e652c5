"""`batch note ID --from FILE`: takes in what was typed on a bench sheet, once, however often.

Entries keep the ids that the page gave them, so that one that stands already is known again. A
value in a place gives way only to what the page itself had put there: what was written into the
notebook since then stays, and is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from labbook.model.errors import NotAllowed, Unreadable
from labbook.model.results.sheet_page import TakenIn
from labbook.work.bench import Bench
from labbook.work.note import guard_open
from labbook.work.sheet_entries import Item
from labbook.work.sheet_taking import Taking
from labbook.work.sheet_text import MOST_BYTES, SheetRead, read_sheet
from labbook.work.weigh_one import Writer


def read_file(file: Path) -> SheetRead:
    """The sheet that a file holds.

    Raises:
        Unreadable: there is no such file, or it is no whole bench sheet.
    """
    try:
        if file.exists() and not file.is_file():  # a pipe would be waited for without end
            raise Unreadable(f"{file} is no plain file.", mend="Name the file that the page saved.")
        with file.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise Unreadable(
            f"{file} can't be read: {error.strerror}.",
            mend="Name the file that the page saved; or paper, or memory, for how a note is known.",
        ) from error
    return read_sheet(raw, str(file))


def take_in(bench: Bench, typed: str | None, sheet: SheetRead) -> TakenIn:
    """Writes what a sheet holds into its batch, all of it in one commit, or nothing.

    Args:
        bench: the notebook.
        typed: the batch that the person named; None takes the sheet's own.
        sheet: what was read.

    Raises:
        NotAllowed: the sheet is of another batch, or the batch is closed and it says something new.
        Unreadable: it names a line, step or place that the batch doesn't have.
        UnknownName: it names a pack that the notebook doesn't have.
    """
    batch = bench.batch(typed or sheet.batch)
    if batch.id != sheet.batch:
        raise NotAllowed(
            f"The sheet is of {sheet.batch}, not of {batch.id}; nothing was taken in.",
            mend=f"labbook batch note {sheet.batch.rsplit('-', 1)[-1]} --from FILE",
        )

    def write(plan: Any) -> Any:
        return bench.record(plan, command="note").result

    return take_items(bench, batch.id, sheet.items, write)


def take_items(bench: Bench, batch_id: str, items: Sequence[Item], write: Writer) -> TakenIn:
    """Writes entries of a sheet into a batch, those that aren't there yet; `write` as in `Writer`.

    Raises:
        LabbookError: as `take_in`; then nothing was written.
    """

    def plan() -> Any:
        fresh = bench.afresh()
        batch = fresh.snapshot.batches[batch_id]
        taking = Taking(fresh, batch)
        for item in items:
            taking.take(item)
        if taking.said:
            guard_open(batch, "what the sheet says")
        told = taking.said
        result = TakenIn(
            id=batch.id,
            short=batch.short,
            what=tuple(told),
            already=taking.already,
            remarks=tuple(dict.fromkeys(taking.remarks)),
        )
        one = told[0] if len(told) == 1 else f"{len(told)} entries from the bench sheet"
        more = "" if len(told) < 2 else "\n\n" + "\n".join(told)
        return taking.draft.plan(f"{batch.short}: {one}{more}", result)

    result: TakenIn = write(plan)
    return result
