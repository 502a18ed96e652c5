"""What to look at before publishing: broken blocks, claims, words that slipped, odd `public:`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from labbook.journal import publish
from labbook.journal.blocks import BrokenBlock
from labbook.journal.claims import claims, slipped
from labbook.journal.publish import Book, PublicJournal
from labbook.model.entry import Entry
from labbook.model.problems import Place, Problem, Severity
from labbook.work.bench import Bench

Broken = Sequence[tuple[Entry, BrokenBlock]]
"""Blocks that can't be shown, each with its entry."""


def journal_problems(
    bench: Bench, book: Book, journal: PublicJournal, broken: Broken
) -> Iterator[Problem]:
    """All findings about what would be published."""
    yield from _words_of_public(bench, book)
    for entry in book.entries:
        yield from entry.problems
    for formula in journal.formulas:
        code = formula.formula.code
        if not formula.versions:
            yield _problem(
                "public-without-version", bench.formula_path(code),
                f"{code} is public and has no version yet; there is nothing to show of it.",
                f"labbook save {code}",
            )  # fmt: skip
    by_name = {entry.name: entry for entry in book.entries}
    for entry, block in broken:
        place = Place(entry.path, _line_of(bench, by_name[entry.name], block.line), 1)
        what = f"The block “{block.command}” can't be shown: {block.why}"
        mend = "Mend the command, or make public what it names: labbook journal public NAME"
        yield Problem(Severity.ERROR, "broken-block", place, what, mend)
    yield from _wording(bench, book, journal)


def _line_of(bench: Bench, entry: Entry, line: int) -> int:
    """The line in the file of a line in the entry's text."""
    text = (bench.root / entry.path).read_text(encoding="utf-8", errors="replace")
    start = text.replace("\r\n", "\n").find(entry.text.replace("\r\n", "\n"))
    return line + (text.replace("\r\n", "\n").count("\n", 0, start) if start > 0 else 0)


def _problem(rule: str, path: str, what: str, mend: str = "") -> Problem:
    return Problem(Severity.WARNING, rule, Place(path), what, mend)


def _words_of_public(bench: Bench, book: Book) -> Iterator[Problem]:
    """`public:` with another word than it knows counts as no; a batch without its formula too."""
    for code, formula in book.formulas.items():
        if formula.public is not None and formula.public not in publish.FORMULA_WORDS:
            yield _strange(formula.public, bench.formula_path(code), publish.FORMULA_WORDS)
    open_ids = {f.id for f in book.formulas.values() if publish.is_public(f)}
    for id_, batch in book.batches.items():
        path = bench.batch_path(id_)
        if batch.public is not None and batch.public not in publish.OTHER_WORDS:
            yield _strange(batch.public, path, publish.OTHER_WORDS)
        elif batch.public == publish.YES and batch.formula.id not in open_ids:
            what = f"{batch.short} says public, but {batch.formula.code} is private: it stays in."
            mend = f"labbook journal public {batch.formula.code}"
            yield _problem("batch-without-formula", path, what, mend)
    for entry in book.entries:
        if entry.public and entry.public not in publish.OTHER_WORDS:
            yield _strange(entry.public, entry.path, publish.OTHER_WORDS)


def _strange(word: str, path: str, known: tuple[str, ...]) -> Problem:
    what = f"public: {word!r} is none of {', '.join(known)}; it counts as no."
    return _problem("public-word", path, what, f'Write public: "{known[0]}" or "no".')


def _wording(bench: Bench, book: Book, journal: PublicJournal) -> Iterator[Problem]:
    """Claims, and words of private fields, in public texts."""
    from labbook.notebook.spans import Source, written
    from labbook.rules.claims import claims_text

    words: Any = written(Source.of(claims_text()).root)
    for claim in claims(journal, words):
        hits = ", ".join(claim.words)
        yield Problem(
            Severity.WARNING,
            "claims-to-treat",
            Place(claim.said.path or bench.batch_path(claim.said.about)),
            f"“{_short(claim.sentence)}” may be read as a claim to treat or prevent disease "
            f"({hits}).",
            "Such a claim can make a cream a medicine in the law's eyes. Say what you saw instead.",
            source=str(words["source"]),
        )
    for said, word in slipped(journal, _private_words(bench, book)):
        place = said.path or bench.batch_path(said.about)
        what = f"“{word}” stands in a private field (a person, a supplier or a lot) and here too."
        yield _problem("private-word", place, what, "Take it out, if it shouldn't be published.")


def _short(sentence: str) -> str:
    return sentence if len(sentence) <= 120 else f"{sentence[:117].rstrip()}..."


def _private_words(bench: Bench, book: Book) -> set[str]:
    """People, suppliers and the numbers of lots."""
    found: set[str | None] = set()
    for reactions in bench.snapshot.reactions.values():
        found |= {one.who for one in reactions.reactions}
    for lot in bench.snapshot.lots.values():
        found |= {lot.supplier, lot.lot}
    for batch in book.batches.values():
        found |= {batch.maker, *(one.who for one in batch.corrections)}
    for jars in book.jars.values():
        found |= {jar.given_to for jar in jars.jars}
    for stability in book.stability.values():
        found |= {look.who for look in stability.looks}
    return {" ".join(word.split()) for word in found if word and word.strip()}
