"""A formula's numbers against history: two contents under one, and numbers given by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from labbook.model.digest import digest
from labbook.model.formula import Formula
from labbook.model.ids import short_commit
from labbook.model.problems import Place, Problem, Severity
from labbook.model.versions import Version
from labbook.work.bench import Bench
from labbook.work.stories import undone_by

if TYPE_CHECKING:
    from labbook.notebook.git import Commit, FileChange


def version_problems(bench: Bench) -> Iterator[Problem]:
    """What is wrong with the numbers of all formulas."""
    for code, formula in bench.snapshot.formulas.items():
        place = bench.snapshot.files[bench.formula_path(code)].place("version")
        versions = bench.history.of(code)
        highest = max((v.number for v in versions), default=0)
        for version in versions:
            if version.clashes:
                yield _clash(bench, code, place, version, settled=version.number < highest)
        yield from _merged(bench, code, formula, place, versions)
        yield from _unknown_number(code, formula, place, versions)
        yield from _by_hand(bench, code, formula, place, versions)


def _clash(bench: Bench, code: str, place: Place, version: Version, *, settled: bool) -> Problem:
    contents = bench.history.contents(version)
    others = ", ".join(f"{short_commit(v.commit)} of {v.when:%Y-%m-%d}" for v in contents[1:])
    names = ", ".join(f"{code}@#{v.digest[:8]}" for v in contents)
    number = "" if settled else f" Then number today's content: labbook save {code}"
    return Problem(
        # A number given later settles it for what is made from now on.
        Severity.WARNING if settled else Severity.ERROR,
        "two-contents-one-number",
        place,
        f"{version.name} stands for {len(contents)} contents: one in commit"
        f" {short_commit(version.commit)} of"
        f" {version.when:%Y-%m-%d}, another in {others}. Two machines numbered at the same time, or"
        " a merge joined two contents.",
        f"Look at both: labbook diff {code}@{short_commit(version.commit)}"
        f" {code}@{short_commit(contents[-1].commit)}. By name: {names}.{number}",
        about=code,
        commit=contents[-1].commit,
    )


def _merged(
    bench: Bench, code: str, formula: Formula, place: Place, versions: Sequence[Version]
) -> Iterator[Problem]:
    """Merges whose content is neither side's, under a number that a side had already.

    git joins lines that lie apart without a word; only a merge by labbook numbers its result.
    """
    sheets = bench.snapshot.sheets
    sides: dict[str, list[Formula]] = {}
    results: dict[str, tuple[Commit, Formula]] = {}
    for commit, _, old, new in bench.history.story(formula.id):
        if len(commit.parents) > 1 and old is not None and old.id == new.id:
            sides.setdefault(commit.id, []).append(old)
            results[commit.id] = (commit, new)
    highest = max((v.number for v in versions), default=0)
    told = {version.number for version in versions if version.clashes}
    for ident, (commit, new) in results.items():
        content = digest(new, sheets)
        third = len(sides[ident]) == len(commit.parents) and all(
            digest(old, sheets) != content for old in sides[ident]
        )
        kept = new.version and new.version in {old.version for old in sides[ident]}
        if not third or not kept or new.version in told:
            continue
        settled = new.version < highest
        yield Problem(
            Severity.WARNING if settled else Severity.ERROR,
            "merge-kept-number",
            place,
            f"The merge {short_commit(ident)} of {commit.when:%Y-%m-%d} joined two contents of"
            f" {code} into a third, and called it {code}@{new.version}, which it is not.",
            f"Look at it: labbook diff {code}@{new.version} {code}@{short_commit(ident)}."
            + ("" if settled else f" Then number it: labbook save {code}"),
            about=code,
            commit=ident,
        )


def _warning(
    code: str, rule: str, place: Place, what: str, commit: Commit | None, mend: str = ""
) -> Problem:
    when = f" In commit {short_commit(commit.id)} of {commit.when:%Y-%m-%d}." if commit else ""
    return Problem(
        Severity.WARNING,
        rule,
        place,
        what + when,
        mend or f"The program numbers: labbook save {code}. Its versions: labbook log {code}",
        about=code,
        commit=commit.id if commit else "",
    )


def _unknown_number(
    code: str, formula: Formula, place: Place, versions: Sequence[Version]
) -> Iterator[Problem]:
    if formula.version and formula.version not in {v.number for v in versions}:
        what = f"The file says version {formula.version}, but no commit made it that."
        yield _warning(code, "number-without-version", place, what, None)


def _by_hand(
    bench: Bench, code: str, formula: Formula, place: Place, versions: Sequence[Version]
) -> Iterator[Problem]:
    """Numbers that `save` never gives: skipped, raised over the same content, set back."""
    story = bench.history.story(formula.id)
    commits = {commit.id: commit for commit, *_ in story}
    for before, after in pairwise(versions):
        if after.number != before.number + 1:
            what = f"{after.name} follows {before.name}; nothing was ever between them."
            yield _warning(code, "number-skipped", place, what, commits.get(after.commit))
    numbered = {v.number: v for v in versions}
    for commit, _change, old, new in story:
        if old is None or old.id != new.id or len(commit.parents) > 1:
            continue
        own = numbered.get(old.version)
        sheets = bench.snapshot.sheets
        first = numbered.get(new.version)
        raised = new.version > old.version and first is not None and first.commit == commit.id
        if raised and own is not None and digest(new, sheets) == own.digest == digest(old, sheets):
            what = f"{code}@{new.version} is {own.name} under another number; nothing changed."
            yield _warning(code, "number-without-change", place, what, commit)
    yield from _set_back(bench, code, formula, place, numbered, story)


def _set_back(
    bench: Bench,
    code: str,
    formula: Formula,
    place: Place,
    numbered: dict[int, Version],
    story: list[tuple[Commit, FileChange, Formula | None, Formula]],
) -> Iterator[Problem]:
    """A number that went back over a content that is not that version's.

    `undo`, and git's own revert, bring number and content back together; a hand sets one.
    """
    last = formula
    by: Commit | None = None
    for commit, _change, old, new in reversed(story):
        if last.version < new.version:  # what stands today, or a later commit, set it back
            own = numbered.get(last.version)
            content = digest(last, bench.snapshot.sheets)
            told = by is None or not (undone_by(by) or len(by.parents) > 1)
            if last.version and told and own is not None and own.digest != content:
                what = (
                    f"The number went back from {new.version} to {last.version}, but the content is"
                    f" not that of {own.name}.{'' if by else ' It is not committed yet.'}"
                )
                yield _warning(code, "number-set-back", place, what, by)
            return
        if old is None or last.version > new.version:
            return  # numbered since: that is settled
        last, by = new, commit
