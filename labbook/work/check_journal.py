"""What to look at before publishing: broken blocks, claims, words that slipped, odd `public:`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from labbook.journal import publish
from labbook.journal.blocks import BrokenBlock
from labbook.journal.claims import Said, claims, looked_for, may_hold, slipped, texts
from labbook.journal.names import entry_path
from labbook.journal.publish import PublicJournal
from labbook.journal.shelf import Shelf
from labbook.model.entry import Entry
from labbook.model.problems import Place, Problem, Severity
from labbook.work.bench import Bench
from labbook.work.chapters import Chapters, worded

Broken = Sequence[tuple[str, BrokenBlock]]
"""Blocks that can't be shown, each with the path of its page."""


def journal_problems(
    bench: Bench, chapters: Chapters, shelf: Shelf, broken: Broken
) -> Iterator[Problem]:
    """All findings about what would be published."""
    entries = chapters.book.entries
    yield from _words_of_public(bench, chapters)
    for entry in entries:
        yield from entry.problems
    for code, outline in shelf.outlines.items():
        if not outline.versions:
            yield _problem(
                "public-without-version", bench.formula_path(code),
                f"{code} is public and has no version yet; there is nothing to show of it.",
                f"labbook save {code}",
            )  # fmt: skip
    by_path = {entry_path(entry.name): entry for entry in entries}
    for path, block in broken:
        entry = by_path[path]
        place = Place(entry.path, _line_of(bench, entry, block.line), 1)
        what = f"The block “{block.command}” can't be shown: {block.why}"
        mend = "Mend the command, or make public what it names: labbook journal public NAME"
        yield Problem(Severity.ERROR, "broken-block", place, what, mend)
    yield from _wording(bench, chapters, shelf)


def _line_of(bench: Bench, entry: Entry, line: int) -> int:
    """The line in the file of a line in the entry's text."""
    text = (bench.root / entry.path).read_text(encoding="utf-8", errors="replace")
    start = text.replace("\r\n", "\n").find(entry.text.replace("\r\n", "\n"))
    return line + (text.replace("\r\n", "\n").count("\n", 0, start) if start > 0 else 0)


def _problem(rule: str, path: str, what: str, mend: str = "") -> Problem:
    return Problem(Severity.WARNING, rule, Place(path), what, mend)


def _words_of_public(bench: Bench, chapters: Chapters) -> Iterator[Problem]:
    """`public:` with another word than it knows counts as no; a batch without its formula too."""
    book = chapters.book
    for id_, one in chapters.items():
        for batch_id, typed in one.strange:
            if batch_id:
                yield _strange(typed, bench.batch_path(batch_id), publish.OTHER_WORDS)
            else:
                path = bench.formula_path(book.code_of[id_])
                yield _strange(typed, path, publish.FORMULA_WORDS)
        for batch_id in one.unshown:
            batch = book.batches[batch_id]
            what = f"{batch.short} says public, but {batch.formula.code} is private: it stays in."
            mend = f"labbook journal public {batch.formula.code}"
            yield _problem("batch-without-formula", bench.batch_path(batch_id), what, mend)
    for entry in book.entries:
        if entry.public and entry.public not in publish.OTHER_WORDS:
            yield _strange(entry.public, entry.path, publish.OTHER_WORDS)


def _strange(word: str, path: str, known: tuple[str, ...]) -> Problem:
    what = f"public: {word!r} is none of {', '.join(known)}; it counts as no."
    return _problem("public-word", path, what, f'Write public: "{known[0]}" or "no".')


def claiming_words() -> Any:
    """The words that claim to treat or prevent disease, and their source."""
    from labbook.notebook.spans import Source, written
    from labbook.rules.claims import claims_text

    return written(Source.of(claims_text()).root)


def _wording(bench: Bench, chapters: Chapters, shelf: Shelf) -> Iterator[Problem]:
    """Claims, and words of private fields, in public texts."""
    words = claiming_words()
    own = replace(shelf.take(()), entries=shelf.entries, sheets=shelf.sheets)
    found = claims(texts(own), words)
    said = [(one.said.path, one.said.about, one.sentence, one.words) for one in found]
    for one in chapters.values():
        said += [(path, about, text, hits) for path, about, text, hits in one.claims]
    for path, about, sentence, hits in said:
        yield Problem(
            Severity.WARNING,
            "claims-to-treat",
            Place(path or bench.batch_path(about)),
            f"“{_short(sentence)}” may be read as a claim to treat or prevent disease "
            f"({', '.join(hits)}).",
            "Such a claim can make a cream a medicine in the law's eyes. Say what you saw instead.",
            source=str(words["source"]),
        )
    for told, word in _slipped(bench, chapters, shelf, own):
        place = told.path or bench.batch_path(told.about)
        what = f"“{word}” stands in a private field (a person, a supplier or a lot) and here too."
        yield _problem("private-word", place, what, "Take it out, if it shouldn't be published.")


def _slipped(
    bench: Bench, chapters: Chapters, shelf: Shelf, own: PublicJournal
) -> Iterator[tuple[Said, str]]:
    """Words of private fields in entries, and in those formulas whose words may hold them."""
    private = {word for one in chapters.values() for word in one.private}
    for lot in bench.snapshot.lots.values():
        private |= worded((lot.supplier, lot.lot))
    found = slipped(own, private)
    wanted = looked_for(private, own.settings.author or "", own.settings.title)
    for one in chapters.values():
        words = frozenset(one.words)
        held = {word for word in wanted if may_hold(words, word)}
        if one.outline and held:
            found += slipped(shelf.take([one.outline.code]), held)
    yield from dict.fromkeys(found)


def _short(sentence: str) -> str:
    return sentence if len(sentence) <= 120 else f"{sentence[:117].rstrip()}..."
