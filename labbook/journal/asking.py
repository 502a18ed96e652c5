"""Why a batch failed, as a live block: reckoned from the public records alone."""

from __future__ import annotations

from typing import Any

from labbook.evidence.answer import answer
from labbook.evidence.factors import ask
from labbook.evidence.lesson import lesson
from labbook.evidence.saying import sessions_of
from labbook.journal.publish import PublicBatch
from labbook.journal.teller import Teller
from labbook.journal.views import hidden_words
from labbook.model.ids import batch_of
from labbook.model.results.why import Suspect, Why
from labbook.show.why import MOST, counted_words, counts_words, listed, title_of, verdict

View = dict[str, Any]


def why_view(teller: Teller, failed: str, good: str) -> View:
    """What the public batches say about a failure.

    Args:
        teller: the journal.
        failed: the id of the failed batch.
        good: that of the good one; empty takes the nearest.

    Raises:
        Unclear: nothing failed, or there is no good batch among the public ones.
    """
    question = ask(teller.book, failed, good)
    code = teller.book.batches[batch_of(question.failed)].formula.code
    found = answer(question, code, sessions=sessions_of(teller.book))
    formula = teller.journal.formula(code)
    hidden = sum(formula.hidden.values()) if formula else 0
    return {
        "title": title_of(found),
        "event": f"{found.event}, {found.until}",
        "said": list(verdict(found)),
        "names": [found.failed, found.good],
        "rows": [_row(one, found) for one in found.suspects[:MOST]],
        "remarks": [one.remark for one in found.suspects[:MOST] if one.remark],
        "apart": [listed(group.names) for group in found.not_apart],
        "unknown": [one.sentence for one in found.unknown],
        "counted": counted_words(found),
        "rules": [f"{one.says}: {one.strength}" for one in found.suspects[:MOST] if one.rule],
        "hidden": hidden_words(hidden),
    }


def _row(one: Suspect, found: Why) -> list[str]:
    return [one.what, one.failed, one.good, f"{one.word}, {one.about}", counts_words(one, found)]


def lesson_view(teller: Teller, made: PublicBatch) -> View | None:
    """What a public trial told; None where it asks about no public pair."""
    found = lesson(teller.book, made.batch)
    if found is None:
        return None
    return {
        "trial": found.trial,
        "made_of": found.made_of,
        "changes": found.changes,
        "names": [found.failed, found.good],
        "outcome": found.outcome or f"too young to say anything; {found.why.until} it will",
        "rows": [[one.what, one.before, f"{one.after}, {one.about}"] for one in found.shifts],
        "said": list(verdict(found.why)) if found.outcome else [],
    }
