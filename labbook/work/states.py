"""Where a formula of today stands against its numbered versions, and what a typed version means."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from labbook.model.digest import digest
from labbook.model.errors import GitRefused, Unclear, UnknownName, Unreadable
from labbook.model.formula import Formula
from labbook.model.quantities import in_digits
from labbook.model.results.common import FormulaState
from labbook.model.versions import Version
from labbook.work.bench import Bench

if TYPE_CHECKING:
    from labbook.notebook.history import Numbered

_REFERENCE = re.compile(r"([A-Za-z][A-Za-z0-9]{1,5})(?:@(.+))?", re.ASCII)
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


def states_of(bench: Bench) -> tuple[FormulaState, ...]:
    """The files of all formulas against their versions."""
    return tuple(state_of(bench, code, among_all=True) for code in sorted(bench.snapshot.formulas))


def state_of(bench: Bench, code: str, *, among_all: bool = False) -> FormulaState:
    """The formula's file against its versions.

    The file's own number counts while its content is that version's; else the version it was
    changed since, which is the number in the file where there is such a version, or the highest.
    """
    formula = bench.formula(code)
    try:
        versions = bench.history.numbered(formula.code, among_all=among_all)
        seen = True
    except GitRefused:
        versions, seen = (), False
    batches = bench.made_of.get(formula.id, 0)
    number, changed, same_as = formula.version or None, False, None
    if seen:
        known = bench.snapshot.known[bench.formula_path(code)].hash
        content = bench.history.digests.get(known, "") if among_all else ""
        content = content or digest(formula, bench.snapshot.sheets)
        number, changed, same_as = _compare(formula, versions, content)
    return FormulaState(
        code=formula.code,
        title=formula.title,
        emulsion=formula.emulsion,
        path=bench.formula_path(formula.code),
        number=number,
        changed=changed,
        highest=max((v.number for v in versions), default=0),
        same_as=same_as,
        versions=len(versions),
        batches=batches,
        seen=seen,
    )


def _compare(
    formula: Formula, versions: tuple[Numbered, ...], content: str
) -> tuple[int | None, bool, int | None]:
    if not versions:
        return None, True, None
    by_number = {version.number: version for version in versions}
    own = by_number.get(formula.version, versions[-1])
    if own.digest == content and own.number == formula.version:
        return own.number, False, own.same_as
    return own.number, True, None


@dataclass(frozen=True, slots=True)
class Content:
    """A formula's content with the name it goes by, and its version where it is one.

    `blob` is where git keeps the file that a revision held.
    """

    name: str
    formula: Formula
    when: str
    version: Version | None
    blob: str = ""


def as_content(version: Version) -> Content:
    """A version as a content with its name and day."""
    return Content(version.name, version.formula, version.when.date().isoformat(), version)


def content_of(bench: Bench, typed: str) -> Content:
    """What `HC`, `HC@3`, `HC@2026-02-05`, `HC@#digest` or `HC@REVISION` means.

    Raises:
        Unclear: not of that form.
        UnknownName: no such formula, version, day or revision.
    """
    match = _REFERENCE.fullmatch(typed)
    if not match:
        raise Unclear(
            f"{typed} names no formula.", mend="Type a code, or a version: HC, HC@3, HC@2026-02-05"
        )
    code, at = match[1].upper(), match[2]
    if at is None:
        state = state_of(bench, code)
        return Content(
            state.code if state.changed else state.words, bench.formula(code), "today", None
        )
    if at.isascii() and at.isdigit():
        number = in_digits(at.lstrip("0") or "0")
        if number is None:
            raise UnknownName(
                f"{code} has no version with a number of {len(at)} digits.",
                mend=f"See them: labbook log {code}",
            )
        return as_content(bench.history.number(code, number))
    if at.startswith("#") and at != "#":
        return as_content(bench.history.by_digest(code, at[1:]))
    if _DATE.fullmatch(at):
        return _on_day(bench, code, at)
    return _at_revision(bench, code, at)


def _on_day(bench: Bench, code: str, typed: str) -> Content:
    try:
        day = date.fromisoformat(typed)
    except ValueError as error:
        raise Unclear(
            f"{typed} is no day: {error}.", mend="Days are written 2026-02-05."
        ) from error
    known = bench.history.of(code)
    id_ = known[0].formula.id if known else bench.formula(code).id
    formula, _ = bench.history.as_on(code, id_, day)
    return Content(f"{code}@{typed}", formula, typed, None)


def _at_revision(bench: Bench, code: str, revision: str) -> Content:
    from labbook.notebook import git

    commit = git.resolve(bench.root, revision)
    formula, path, blob = _found_at(bench, code, commit, revision)
    day = git.changes(bench.root, commit, path)[-1].when.date().isoformat()
    return Content(f"{code}@{revision}", formula, day, None, blob)


def _found_at(bench: Bench, code: str, commit: str, revision: str) -> tuple[Formula, str, str]:
    """The formula in a commit, its file and blob: the file of that code, or the one it was then.

    Raises:
        UnknownName: neither is in the commit.
        Unreadable: it is no formula.
    """
    from labbook.notebook import git
    from labbook.notebook.history import FOLDER
    from labbook.notebook.snapshot import read_blobs

    path = bench.formula_path(code)
    held = bench.snapshot.formulas.get(code)
    known = held.id if held is not None else ""
    files = {
        place: blob
        for place, blob in git.tree_at(bench.root, commit, FOLDER).items()
        if place.endswith(".yaml")
    }
    read = read_blobs(bench.root, {blob: place for place, blob in files.items()}, "formula")
    found = {
        place: record
        for place, blob in files.items()
        if blob in read and isinstance(record := read[blob].record, Formula)
    }
    if path in found and known in ("", found[path].id):
        return found[path], path, files[path]
    for place, formula in found.items():
        if known and formula.id == known:  # the file had another code then
            return formula, place, files[place]
    if path in files and path not in found:
        raise Unreadable(f"{path} at {revision} can't be read as a formula.", where=path)
    raise UnknownName(f"{code} was not in the notebook at {revision}.", mend="See: git log")
