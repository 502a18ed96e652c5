"""What a trial batch told: the picture before its look and after it."""

from __future__ import annotations

from collections.abc import Mapping

from labbook.evidence.answer import answer, counted_rows, reckoned, rows_of, suspects_of
from labbook.evidence.book import Book
from labbook.evidence.causes import reckon
from labbook.evidence.factors import Question, ask
from labbook.evidence.saying import Aloud, sessions_of
from labbook.model.batch import Batch
from labbook.model.errors import LabbookError
from labbook.model.results.why import Lesson, Shift

MOST = 5
"""Suspects that are told of; the likeliest before or after."""


def lesson(book: Book, batch: Batch) -> Lesson | None:
    """What a trial told so far; None for a batch that was not made to tell anything.

    Args:
        book: the notebook.
        batch: a batch whose `asks` names a failed and a good one.
    """
    if len(batch.asks) != 2 or any(one not in book.batches for one in batch.asks):
        return None
    failed, good = batch.asks
    try:
        question = ask(book, failed, good)
    except LabbookError:  # no pair any more: one was dropped, or a look was corrected
        return None
    mine = next((row for row in question.rows if row.unit == batch.id), None)
    sessions = sessions_of(book)
    decided = mine is not None and mine.state != "undecided"
    return Lesson(
        trial=batch.short,
        made_of=batch.formula.name,
        changes=batch.changes or "",
        failed=book.batches[failed].short,
        good=book.batches[good].short,
        outcome=mine.text if mine is not None and decided else "",
        shifts=_shifts(question, batch, sessions) if decided else (),
        why=answer(question, batch.formula.code, sessions=sessions),
    )


def _shifts(question: Question, batch: Batch, sessions: Mapping[str, str]) -> tuple[Shift, ...]:
    """Each suspect without this batch's row and with it."""
    suspects, rows = suspects_of(question), rows_of(question)
    without = reckon(suspects, [row for row in rows if row.name != batch.id])
    counted = counted_rows(question)
    others = tuple(row for row in counted if row.name != batch.id)
    before = Aloud(without, sessions, others)
    after = Aloud(reckoned(question), sessions, counted)
    chances = [max(before.chance(i), after.chance(i)) for i in range(len(suspects))]
    order = sorted(range(len(chances)), key=lambda i: -chances[i])
    return tuple(
        Shift(
            what=question.factors[i].what,
            before=f"{before.word(i)}, {before.figure(i)}",
            after=after.word(i),
            about=after.figure(i),
        )
        for i in order[:MOST]
    )
