"""`check ENTRY`: one entry of the journal, as it would be published."""

from __future__ import annotations

from labbook.model.results.keeping import Checked
from labbook.work.bench import Bench


def checked_entry(bench: Bench, name: str) -> Checked | None:
    """The findings in one entry of the journal; None where no entry has that name."""
    from labbook.notebook.entries import read_entries
    from labbook.work.check_journal import journal_problems
    from labbook.work.journal import broken_in, chapters_of

    entries = read_entries(bench.root)
    entry = next((e for e in entries if e.name.casefold() == name.casefold()), None)
    if entry is None:
        return None
    chapters = chapters_of(bench)
    shelf = chapters.shelf()
    found = journal_problems(bench, chapters, shelf, broken_in(shelf))
    own = {problem for problem in found if problem.place.path == entry.path}
    unseen = ["whether a text gives somebody away in other words: read it once more"]
    if not entry.public:
        unseen.append(f"its blocks, for the entry is private: labbook journal public {entry.name}")
    return Checked(
        scope=entry.name,
        formulas=0,
        batches=0,
        looks=0,
        problems=tuple(sorted(own, key=lambda problem: problem.sort_key)),
        accepted=(),
        not_checked=tuple(unseen),
    )
