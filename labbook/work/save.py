"""`save`, `restore`, `undo`: numbering a content, and taking steps back by new commits."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from labbook.evidence.difference import Difference, difference
from labbook.model.digest import digest
from labbook.model.errors import NotAllowed, UnknownName
from labbook.model.fields import QS
from labbook.model.formula import Formula
from labbook.model.results.formulas import Restored, Saved, Undone
from labbook.show.wording import short_lines
from labbook.trade.composition import resolve
from labbook.trade.exact import to_decimal
from labbook.work.bench import Bench
from labbook.work.check_trade import grave
from labbook.work.draft import Draft
from labbook.work.starters import copy_starters
from labbook.work.states import Content, content_of, state_of

if TYPE_CHECKING:
    from labbook.notebook.git import Commit

_UNDOES = re.compile(r"^Undoes: ([0-9a-f]{7,64})$", re.MULTILINE)
_TRAILER = re.compile(r"^Recorded-by: labbook (.+)$", re.MULTILINE)


def save(bench: Bench, code: str, message: str = "") -> Saved:
    """Numbers the content of a formula when its meaning changed since its last version.

    A content equal to an earlier version gets a new number all the same. Where only title, notes
    or comments changed the file is committed under its old number; where nothing did, nothing is.
    """
    from dataclasses import replace

    bench.formula(code)  # says what is wrong before any lock is taken
    done = bench.record(lambda: _save_plan(bench.afresh(), code, message), command="save")
    result: Saved = done.result
    return result if done.commit else replace(result, committed=False)


def _save_plan(bench: Bench, code: str, message: str) -> Any:
    """What `save` writes, reckoned under the lock from what stands on the disk then."""
    formula = bench.formula(code)
    code = formula.code
    state = state_of(bench, code)
    composition = resolve(formula, bench.snapshot.sheets)
    number = state.highest + 1 if state.changed else state.number or 1
    what = changes_since(bench, code) if state.changed else ()
    draft = Draft(bench.root)
    copied, _ = copy_starters(
        draft, [line.ingredient for _, line in formula.lines], bench.snapshot.sheets
    )
    path = bench.formula_path(code)
    if state.changed:
        _write_actives(draft, path, formula, composition)
        draft.put(path, ("version",), number)
    result = Saved(
        code=code,
        number=number,
        new=state.changed,
        committed=True,
        what=what,
        same_as=_earlier(bench, code, formula) if state.changed else state.same_as,
        findings=(*(problem.what for problem in composition.problems), *grave(bench, formula)),
        sheets=tuple(copied),
    )
    subject = _subject(code, number, state.changed, what, message, first=not state.highest)
    # A file that only waits to be committed has no change of bytes; it is named all the same.
    return draft.plan(subject, result, also=(path,))


def changes_since(bench: Bench, code: str) -> tuple[str, ...]:
    """What changed between a formula's version and its file of today, in short lines."""
    found = difference_since(bench, code)
    return short_lines(found) if found else ()


def difference_since(bench: Bench, code: str) -> Difference | None:
    """The difference between a formula's version and its file of today; None for a first draft."""
    state = state_of(bench, code)
    if state.number is None:
        return None
    before = bench.history.number(code, state.number)
    now = bench.formula(code)
    return difference(
        before.formula, now, bench.snapshot.sheets, a_name=before.name, b_name=f"{code} today"
    )


def _earlier(bench: Bench, code: str, formula: Formula) -> int | None:
    content = digest(formula, bench.snapshot.sheets)
    return next((v.number for v in bench.history.of(code) if v.digest == content), None)


def _write_actives(draft: Draft, path: str, formula: Formula, composition: Any) -> None:
    """Writes the resolved percent beside each `active percent` that has none yet."""
    index = 0
    for p, phase in enumerate(formula.phases):
        for i, line in enumerate(phase.lines):
            resolved = composition.lines[index].percent
            index += 1
            if line.active_percent is None or line.percent is not None or resolved is None:
                continue
            draft.put(path, ("phases", p, "lines", i, "percent"), to_decimal(resolved))


def _subject(
    code: str, number: int, new: bool, what: tuple[str, ...], message: str, *, first: bool
) -> str:
    if not new:
        return f"{code}@{number}: words, not content\n\n{message}".rstrip()
    told = message or ("first version" if first else what[0] if what else "changed")
    subject = f"{code}@{number}: {' '.join(told.split())}"
    body = "\n".join(what)
    if len(subject) > 72:
        body = f"{told}\n\n{body}".strip() if message else body
        subject = subject[:71].rsplit(" ", 1)[0] + "…"
    return f"{subject}\n\n{body}".rstrip()


def restore(bench: Bench, typed: str) -> Restored:
    """Sets a formula back to the content of a version, day or revision, under a new number."""
    from labbook.notebook import git

    code = typed.partition("@")[0].upper()
    content = content_of(bench, typed)
    if "@" not in typed:
        raise UnknownName(f"Which {code}?", mend=f"Name a version: labbook restore {code}@2")
    formula = bench.formula(code)
    state = state_of(bench, code)
    now = digest(formula, bench.snapshot.sheets)
    if not state.changed and now == digest(content.formula, bench.snapshot.sheets):
        return Restored(code=code, number=state.number or 0, from_name=content.name, already=True)
    if state.changed and state.number is not None:
        raise NotAllowed(
            f"{code} has changes since {code}@{state.number} that no version holds yet.",
            where=bench.formula_path(code),
            mend=f"Keep them first: labbook save {code}",
        )
    text = text_of(bench, typed, content)
    number = state.highest + 1

    def plan() -> Any:
        from labbook.notebook import edit
        from labbook.notebook.emit import Word

        draft = Draft(bench.root)
        path = bench.formula_path(code)
        restored = edit.put(text, ("version",), number)
        if content.formula.code != code:  # the file was renamed since
            restored = edit.put(restored, ("code",), Word(code))
        # What is published is decided today, not by the version that comes back.
        if formula.public:
            restored = edit.put(restored, ("public",), formula.public)
        elif content.formula.public:
            restored = edit.remove(restored, ("public",))
        draft.create(path, restored, replace=True)
        result = Restored(code=code, number=number, from_name=content.name)
        return draft.plan(f"{code}@{number}: back to {content.name}", result)

    git.available()
    result: Restored = bench.record(plan, command="restore").result
    return result


def text_of(bench: Bench, typed: str, content: Content) -> str:
    """The text of a formula's file at a version, day or revision."""
    from datetime import date

    from labbook.notebook import git
    from labbook.notebook.nodes import decode

    code, _, at = typed.partition("@")
    path = bench.formula_path(code.upper())
    if content.version is not None:
        raw = git.blobs(bench.root, [content.version.blob])[content.version.blob]
    elif re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", at, re.ASCII):
        _, blob = bench.history.as_on(code.upper(), content.formula.id, date.fromisoformat(at))
        raw = git.blobs(bench.root, [blob])[blob]
    else:
        raw = git.blobs(bench.root, [content.blob])[content.blob]
    return decode(raw, path)


def undo(bench: Bench) -> Undone:
    """Takes back the last recording command by a new commit; history keeps both.

    Raises:
        NotAllowed: there is nothing of labbook's to take back, or one of its files changed since.
    """
    from labbook.notebook import git

    commits = list(reversed(git.changes(bench.root, "HEAD", "."))) if git.head(bench.root) else []
    undone: set[str] = set()
    for commit in commits:
        match = _UNDOES.search(commit.body)
        if match:
            undone.add(match[1])
            continue
        if commit.id in undone or not _TRAILER.search(commit.body) or len(commit.parents) != 1:
            if commit.id in undone:
                continue
            _guard_start(commit)
            raise NotAllowed(
                f"The last commit, {commit.subject!r}, was not made by a recording command.",
                mend="Git can take it back: git revert",
            )
        _guard_start(commit)
        break
    else:
        raise NotAllowed("There is nothing to undo.", mend="See: labbook log CODE")

    def plan() -> Any:
        draft = Draft(bench.root)
        wanted = [f.old_blob for f in commit.files if f.old_blob]
        raws = git.blobs(bench.root, wanted)
        for change in commit.files:
            there = draft.raw(change.path)
            same = there is not None and change.new_blob == git.blob_id(
                bench.root, there, change.path
            )
            if (change.new_blob is None) != (there is None) or (there is not None and not same):
                raise NotAllowed(
                    f"{change.path} changed since {commit.subject!r}.",
                    where=change.path,
                    mend=f"Look first: git show {commit.id[:7]}",
                )
            draft.put_bytes(change.path, raws[change.old_blob] if change.old_blob else None)
        result = Undone(
            subject=commit.subject,
            commit=commit.id,
            when=commit.when.isoformat(timespec="minutes"),
            paths=tuple(change.path for change in commit.files),
        )
        message = f"Undo: {commit.subject}"[:72] + f"\n\nUndoes: {commit.id}"
        return draft.plan(message, result)

    result: Undone = bench.record(plan, command="undo").result
    return result


def _guard_start(commit: Commit) -> None:
    """Refuses to take back the start of the notebook: nothing would be left to work in."""
    from labbook.notebook.folder import HEAD

    if any(f.path == HEAD and f.old_blob is None for f in commit.files):
        raise NotAllowed(
            "The notebook was only started; there is nothing in it to undo.",
            mend="Delete the folder where you don't want it.",
        )


def typed_percent(line: Any) -> str:
    """The percent of a formula's line as typed, `q.s.` for the one that fills up."""
    if line.percent is QS:
        return "q.s."
    return "" if line.percent is None else str(line.percent)
