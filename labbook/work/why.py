"""`why`: which recorded differences can be the cause of a failure, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass, replace

from labbook.evidence.answer import answer, reckoned, until_words
from labbook.evidence.book import Book
from labbook.evidence.causes import Rate
from labbook.evidence.factors import (
    Question,
    Shared,
    ask,
    ask_formula,
    horizons,
    shared,
    unanswered,
)
from labbook.evidence.lesson import lesson
from labbook.evidence.saying import sessions_of
from labbook.model.errors import Unclear, UnknownName
from labbook.model.ids import batch_of
from labbook.model.quantities import QuantityError, parse_quantity
from labbook.model.results.common import Next
from labbook.model.results.why import Lesson, Unknown, Why
from labbook.show.why import listed
from labbook.work.bench import Bench
from labbook.work.book import book_of

LEADS = 0.2
"""From this chance on a difference that leads at another look is worth a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a person wants to have it answered.

    Args:
        until: a time, `7 d` or `7`, or cycles, `3 cycles`; empty takes what the pair allows.
        condition: where the jars stood; empty takes the failed jar's.
        pairs: reckon with two differences that act only together.
        flat: leave the rules of the trade out.
        rate: how often a real cause acts: `mixed`, `always` or `sometimes`.
    """

    until: str = ""
    condition: str = ""
    pairs: bool = False
    flat: bool = False
    rate: str = "mixed"


def question_of(
    bench: Bench, book: Book, first: str, second: str, asked: Asked
) -> tuple[Question, str]:
    """The question that a person means, and the code of its formula.

    Raises:
        Unclear: two formulas, or a time that can't be read.
        UnknownName: no such batch, no batch that failed, or none to set beside it.
    """
    until = _until(asked.until)
    if first and not second and first.upper() in bench.snapshot.formulas:
        code = first.upper()
        return ask_formula(book, code, until=until, condition=asked.condition), code
    units = [unit_named(bench, name) for name in (first, second) if name]
    failed, good = (*units, "", "")[:2]
    question = ask(book, failed, good, until=until, condition=asked.condition)
    return question, book.batches[batch_of(question.failed)].formula.code


def unit_named(bench: Bench, typed: str) -> str:
    """The batch, or the one jar of it, that a person names: `9t`, `9t.1`.

    Raises:
        UnknownName: no such batch, or it has no such jar.
    """
    name, point, jar = typed.partition(".")
    batch = bench.batch(name)
    if not point:
        return batch.id
    held = bench.snapshot.jars.get(batch.id)
    known = {one.jar.casefold(): one.jar for one in held.jars} if held else {}
    if jar.casefold() not in known:
        raise UnknownName(
            f"{batch.short} has no jar {jar}.",
            mend=f"Its jars: {', '.join(known.values())}" if known else "It has none yet.",
        )
    return f"{batch.id}.{known[jar.casefold()]}"


def _until(typed: str) -> float | None:
    """A time in days, or a number of cycles."""
    if not typed:
        return None
    words = typed.strip().removesuffix("cycles").removesuffix("cycle").strip()
    try:
        if words.replace(".", "", 1).isdigit() and words.isascii():
            return float(words)
        return float(parse_quantity(typed, "time").exact("d"))
    except (QuantityError, ValueError) as error:
        raise Unclear(
            f"{typed} is no time.", mend="--until 7 for day 7, --until '4 h', --until '3 cycles'"
        ) from error


def why(bench: Bench, first: str = "", second: str = "", asked: Asked | None = None) -> Why:
    """The answer for the latest failure, for one or two batches, or for a formula.

    Args:
        bench: the notebook.
        first: a batch that failed (or, with a second one, either of the two), or a formula's code.
        second: the batch to set beside it; the nearest good one where left out.
        asked: how to answer.
    """
    asked = asked or Asked()
    book = book_of(bench)
    question, code = question_of(bench, book, first, second, asked)
    rate = rate_of(asked.rate)
    found = answer(
        question,
        code,
        rate=rate,
        pairs=asked.pairs,
        flat=asked.flat,
        sessions=sessions_of(book),
    )
    return replace(
        found,
        turns=turns(book, question, found, rate),
        questions=_questions(book, question),
        then=_then(found, first, second),
    )


def rate_of(typed: str) -> Rate:
    """How often a real cause acts.

    Raises:
        Unclear: no such word.
    """
    if typed == "always":
        return "always"
    if typed == "sometimes":
        return "sometimes"
    if typed == "mixed":
        return "mixed"
    raise Unclear(f"{typed} is no rate.", mend="One of: mixed, always, sometimes")


def turns(book: Book, question: Question, found: Why, rate: Rate) -> tuple[str, ...]:
    """At which other looks another difference led, a sentence for each that did."""
    if not found.suspects:
        return ()
    lead = found.suspects[0].what
    others: dict[str, list[str]] = {}
    event = question.event
    for point in horizons(book, question):
        earlier = ask(
            book,
            question.failed,
            question.good,
            until=point,
            condition=event.condition,
            group=event.group,
        )
        if not earlier.factors or len(earlier.table) < len(question.table):
            continue
        chances = reckoned(earlier, rate=rate).marginals
        best = max(range(len(chances)), key=lambda i: chances[i])
        what = earlier.factors[best].what
        if what != lead and chances[best] >= LEADS:
            others.setdefault(what, []).append(until_words(earlier).removeprefix("by "))
    return tuple(
        f"Reckoned until {listed(points)} it is {what} that leads."
        for what, points in others.items()
    )


def _questions(book: Book, question: Question) -> tuple[Unknown, ...]:
    if not question.failed:
        return ()
    return tuple(
        Unknown(sentence=f"{one.question} Not written down: {one.lacks}", command=one.line)
        for one in unanswered(book, batch_of(question.failed))
    )


def _then(found: Why, first: str, second: str) -> tuple[Next, ...]:
    if not found.good:
        return (Next(f"labbook outcomes {found.code}"),)
    names = " ".join(part for part in (first, second) if part)
    ask_next = f"labbook next {names}".rstrip()
    explained = f"labbook why {names} --explain".replace("  ", " ")
    steps = [Next(explained, "the reckoning, and the sources")]
    if found.suspects:
        steps.insert(0, Next(ask_next, "the one batch that tells most"))
    return tuple(steps)


def lesson_of(bench: Bench, typed: str) -> Lesson | None:
    """What a trial batch told; None for a formula, or a batch that wasn't made to tell anything."""
    if typed.upper() in bench.snapshot.formulas or "." in typed:
        return None
    batch = bench.batch(typed)
    return lesson(book_of(bench), batch) if batch.asks else None


def shared_by(bench: Bench, first: str, asked: Asked) -> Shared:
    """What failed batches of a formula have in common and intact ones lack.

    Raises:
        Unclear: no formula was named.
    """
    if not first:
        raise Unclear("Shared by the batches of which formula?", mend="labbook why HC --shared")
    return shared(
        book_of(bench),
        bench.formula(first).code,
        until=_until(asked.until),
        condition=asked.condition,
    )
