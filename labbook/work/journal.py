"""`journal new`, `public`, `private`, `check`, `build`: from the notebook to what it publishes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from functools import cache, partial
from typing import Any

from labbook.journal import publish
from labbook.journal.names import entry_path
from labbook.journal.pages import Writer
from labbook.journal.shelf import Shelf
from labbook.journal.state import Published, news, things_on
from labbook.model.entry import Entry
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import matching_batches
from labbook.model.results.telling import EntryWritten, JournalState, Marked
from labbook.notebook.entries import FOLDER, read_entries, with_public
from labbook.shipped import shipped
from labbook.work.bench import Bench
from labbook.work.chapters import Chapters
from labbook.work.check_journal import Broken, claiming_words, journal_problems
from labbook.work.draft import Draft
from labbook.work.journal_book import book_of
from labbook.work.memory import many_records

KINDS = ("formula", "version", "batch", "entry")


@cache
def templates() -> tuple[Mapping[str, str], Mapping[str, str]]:
    """The templates that come with the program, by file name: of the Markdown, of the pages."""
    folder = shipped("templates")
    found = [
        {path.name: path.read_text(encoding="utf-8") for path in sorted((folder / name).iterdir())}
        for name in ("journal", "site")
    ]
    return found[0], found[1]


def chapters_of(bench: Bench) -> Chapters:
    """What is known of each formula of the notebook."""
    return Chapters(bench, book_of(bench), claiming_words())


def broken_in(shelf: Shelf) -> Broken:
    """The blocks of public entries that can't be shown."""
    writer = Writer(shelf, *templates())
    entries = {entry_path(entry.name) for entry in shelf.entries}
    return [
        (planned.path, one)
        for planned in writer.lists
        if planned.path in entries
        for one in writer.written(planned).broken
    ]


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


def state_of(
    bench: Bench, chapters: Chapters, shelf: Shelf, broken: Broken, before: Published
) -> JournalState:
    """What would be published, what of it is new, and what to look at first."""
    things = things_on(shelf)
    new, changed, gone = news(before.things, things)
    book = chapters.book
    whole = {
        "formula": len(book.formulas),
        "batch": sum(one.batches for one in chapters.values()),
        "entry": len(book.entries),
    }
    count = Counter(name.partition(" ")[0] for name in things)
    problems = sorted(
        journal_problems(bench, chapters, shelf, broken), key=lambda problem: problem.sort_key
    )
    return JournalState(
        things=tuple((kind, count[kind]) for kind in KINDS),
        hidden=tuple((kind, whole[kind] - count[kind]) for kind in whole),
        new=tuple(new),
        changed=tuple(changed),
        gone=tuple(gone),
        first=not before.things,
        problems=tuple(problems),
    )


def check(bench: Bench, before: Published) -> JournalState:
    """What the next build would publish, against what was published last; writes nothing."""
    with many_records():
        chapters = chapters_of(bench)
        shelf = chapters.shelf()
        return state_of(bench, chapters, shelf, broken_in(shelf), before)
