"""`journal new`, `public`, `private`, `check`, `build`: from the notebook to what it publishes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import partial
from typing import Any

from labbook.journal import publish
from labbook.journal.claims import claims, slipped
from labbook.journal.pages import Site, site
from labbook.journal.publish import Book, PublicJournal
from labbook.journal.state import Published, news, things_of
from labbook.model.entry import Entry
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import matching_batches
from labbook.model.problems import Place, Problem, Severity
from labbook.model.results.telling import EntryWritten, JournalState, Marked
from labbook.notebook.entries import FOLDER, read_entries, with_public
from labbook.shipped import shipped
from labbook.work.bench import Bench
from labbook.work.draft import Draft

KINDS = ("formula", "version", "batch", "entry")

# What goes in -------------------------------------------------------------------------------------


def book_of(bench: Bench) -> Book:
    """The whole notebook, private parts too, for the filter."""
    snapshot = bench.snapshot
    public = any(publish.is_public(formula) for formula in snapshot.formulas.values())
    return Book(
        settings=snapshot.settings,
        formulas=snapshot.formulas,
        versions=bench.history.versions if public else {},
        batches=snapshot.batches,
        jars=snapshot.jars,
        stability=snapshot.stability,
        ingredients=snapshot.ingredients,
        equipment=snapshot.equipment,
        entries=read_entries(bench.root),
    )


def pages_of(journal: PublicJournal) -> Site:
    """The site, by the templates that come with the program."""
    folder = shipped("templates")
    texts = [
        {path.name: path.read_text(encoding="utf-8") for path in sorted((folder / name).iterdir())}
        for name in ("journal", "site")
    ]
    return site(journal, *texts)


# Entries ------------------------------------------------------------------------------------------


def new_entry(bench: Bench, title: str) -> EntryWritten:
    """Writes an empty entry of today; it is private until it is made public.

    Raises:
        Unclear: no title.
    """
    title = " ".join(title.split())
    if not title:
        raise Unclear(
            "An entry needs a title.", mend='labbook journal new "A pool under the cream"'
        )
    slug = "-".join(re.findall(r"\w+", title.casefold()))[:60].strip("-_") or "entry"
    day = bench.today.isoformat()

    def plan() -> Any:
        from labbook.notebook import edit

        draft = Draft(bench.root)
        path = f"{FOLDER}/{day}-{slug}.md"
        count = 1
        while draft.exists(path):
            count += 1
            path = f"{FOLDER}/{day}-{slug}-{count}.md"
        head = edit.put(f'title: ""\ndate: {day}\npublic: "no"\n', ("title",), title)
        draft.create(path, f"---\n{head}---\n\n")
        result = EntryWritten(path=path, title=title, day=day)
        return draft.plan(f"Begin a journal entry: {title}"[:72], result)

    result: EntryWritten = bench.record(plan, command="journal new").result
    return result


def entry_named(entries: tuple[Entry, ...], typed: str) -> Entry | None:
    """The entry that a name, a path or a part of the name means.

    Raises:
        Unclear: several.
    """
    name = typed.rsplit("/", 1)[-1].removesuffix(".md").casefold()
    exact = [one for one in entries if one.name.casefold() == name]
    found = exact or [one for one in entries if name and name in one.name.casefold()]
    if len(found) > 1:
        some = ", ".join(one.name for one in found)
        raise Unclear(f"{typed} is in the name of {len(found)} entries: {some}.")
    return found[0] if found else None


# Public and private -------------------------------------------------------------------------------


def mark(bench: Bench, typed: str, *, public: bool, with_batches: bool = False) -> Marked:
    """Says in a formula's, a batch's or an entry's own file whether it is public; one commit.

    Raises:
        UnknownName: it is none of them.
        Unclear: `with_batches` for what has none.
    """
    word = publish.WITH_BATCHES if with_batches else publish.YES if public else "no"
    code = typed.upper()
    if code in bench.snapshot.formulas:
        return _mark_formula(bench, code, word)
    if with_batches:
        raise Unclear(f"{typed} is no formula; only a formula has batches.")
    if matching_batches(typed, bench.snapshot.batches):
        return _mark_batch(bench, bench.batch_id(typed), word)
    entry = entry_named(read_entries(bench.root), typed)
    if entry is None:
        raise UnknownName(
            f"The notebook has no formula, batch or entry {typed}.",
            mend=f"Entries are the files in {FOLDER}/.",
        )
    return _mark_entry(bench, entry, word)


def _mark_formula(bench: Bench, code: str, word: str) -> Marked:
    def plan() -> Any:
        fresh = bench.afresh()
        formula = fresh.formula(code)
        batches = [
            batch.short
            for batch in fresh.snapshot.batches.values()
            if batch.formula.id == formula.id and not batch.dropped
            and batch.public is None
        ]  # fmt: skip
        along = (word == publish.WITH_BATCHES) != (formula.public == publish.WITH_BATCHES)
        also = batches if along else []
        draft = Draft(bench.root)
        path = bench.formula_path(code)
        draft.put(path, ("public",), word)
        result = Marked(
            name=code, path=path, word=word, before=formula.public or "no", also=tuple(also)
        )
        return draft.plan(_message(code, word), result)

    return _marked(bench, plan, word)


def _mark_batch(bench: Bench, batch_id: str, word: str) -> Marked:
    def plan() -> Any:
        fresh = bench.afresh()
        batch = fresh.snapshot.batches[batch_id]
        formulas = fresh.snapshot.formulas.values()
        formula = next((f for f in formulas if f.id == batch.formula.id), None)
        if word == publish.YES and (formula is None or not publish.is_public(formula)):
            raise NotAllowed(
                f"{batch.short} can't be told without its formula {batch.formula.code}, "
                "which is private.",
                mend=f"labbook journal public {batch.formula.code}",
            )
        if word == publish.YES and batch.dropped:
            raise NotAllowed(f"{batch.short} was dropped; it is in no list, nor in the journal.")
        draft = Draft(bench.root)
        path = bench.batch_path(batch_id)
        draft.put(path, ("public",), word)
        result = Marked(name=batch.short, path=path, word=word, before=batch.public or "no")
        return draft.plan(_message(batch.short, word), result)

    return _marked(bench, plan, word)


def _mark_entry(bench: Bench, entry: Entry, word: str) -> Marked:
    def plan() -> Any:
        draft = Draft(bench.root)
        draft.edit(entry.path, partial(with_public, word=word))
        result = Marked(name=entry.name, path=entry.path, word=word, before=entry.public or "no")
        # What was written into the entry since it was begun goes along.
        return draft.plan(_message(entry.name, word), result, also=(entry.path,))

    return _marked(bench, plan, word)


def _message(name: str, word: str) -> str:
    if word == "no":
        return f"Journal: {name} is private"
    return f"Journal: {name} is public{', with its batches' if word != publish.YES else ''}"


def _marked(bench: Bench, plan: Any, word: str) -> Marked:
    command = "journal private" if word == "no" else "journal public"
    result: Marked = bench.record(plan, command=command).result
    return result


# Checking -----------------------------------------------------------------------------------------


def state_of(bench: Bench, book: Book, journal: PublicJournal, before: Published) -> JournalState:
    """What would be published, what of it is new, and what to look at first."""
    things = things_of(journal)
    new, changed, gone = news(before.things, things)
    whole = {
        "formula": len(book.formulas),
        "batch": sum(1 for batch in book.batches.values() if not batch.dropped),
        "entry": len(book.entries),
    }
    count = {kind: sum(1 for name in things if name.startswith(f"{kind} ")) for kind in KINDS}
    problems = sorted(_problems(bench, book, journal), key=lambda problem: problem.sort_key)
    return JournalState(
        things=tuple(count.items()),
        hidden=tuple((kind, whole[kind] - count[kind]) for kind in whole),
        new=tuple(new),
        changed=tuple(changed),
        gone=tuple(gone),
        first=not before.things,
        problems=tuple(problems),
    )


def check(bench: Bench, before: Published) -> JournalState:
    """What the next build would publish, against what was published last; writes nothing."""
    book = book_of(bench)
    return state_of(bench, book, publish.published(book), before)


def _problems(bench: Bench, book: Book, journal: PublicJournal) -> Iterator[Problem]:
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
    for entry, block in pages_of(journal).broken:
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
    for said, word in slipped(journal, _private_words(book)):
        place = said.path or bench.batch_path(said.about)
        what = f"“{word}” stands in a private field (a person, a supplier or a lot) and here too."
        yield _problem("private-word", place, what, "Take it out, if it shouldn't be published.")


def _short(sentence: str) -> str:
    return sentence if len(sentence) <= 120 else f"{sentence[:117].rstrip()}..."


def _private_words(book: Book) -> set[str]:
    found: set[str | None] = set()
    for batch in book.batches.values():
        found |= {batch.maker, *(one.who for one in batch.corrections)}
    for jars in book.jars.values():
        found |= {jar.given_to for jar in jars.jars}
    for stability in book.stability.values():
        found |= {look.who for look in stability.looks}
    return {" ".join(word.split()) for word in found if word and word.strip()}
